/* PNM: the portable bitmap, graymap and pixmap, plain (P1 P2 P3) and raw (P4 P5 P6), of
 * any maximum up to 65535. Codes are sRGB by common use. */
#include "base/memory.h"
#include "picture/decoder.h"

#include <string.h>

enum { PNM_BUFFER = 4096 };

typedef struct Pnm {
    Bytes *bytes;
    uint64_t at; /* of the buffer's end */
    size_t used, length;
    Fault *fault;
    Status status;
    bool plain, bitmap;
    uint32_t most; /* code of full light */
    size_t row_samples;
    int bits;
    uint8_t *raw; /* a stored row, of raw kinds */
    uint8_t buffer[PNM_BUFFER];
} Pnm;

/* The next byte, -1 at the end. */
static int next_byte(Pnm *self)
{
    if (self->used == self->length) {
        self->used = 0;
        if (!self->status)
            self->status = bytes_read(self->bytes, self->at, self->buffer, PNM_BUFFER,
                                      &self->length, self->fault);
        if (self->status) self->length = 0;
        self->at += self->length;
        if (!self->length) return -1;
    }
    return self->buffer[self->used++];
}

static bool blank(int c) { return c == ' ' || (c >= '\t' && c <= '\r'); }

/* The first byte after blanks and comments. */
static int next_mark(Pnm *self)
{
    int c = next_byte(self);
    while (blank(c) || c == '#') {
        if (c == '#')
            while (c >= 0 && c != '\n' && c != '\r') c = next_byte(self);
        else
            c = next_byte(self);
    }
    return c;
}

/* Digits and the one byte after them; -1 if there is no number below 2^31. */
static int64_t pnm_next_number(Pnm *self)
{
    int c = next_mark(self);
    if (c < '0' || c > '9') return -1;
    int64_t value = 0;
    for (; c >= '0' && c <= '9'; c = next_byte(self)) {
        value = value * 10 + (c - '0');
        if (value > INT32_MAX) return -1;
    }
    return blank(c) || c < 0 ? value : -1;
}

static Status pnm_broken(Pnm *self, const char *why)
{
    return self->status ? self->status : decoder_broken(self->bytes, "PNM", why, self->fault);
}

static void put_code(const Pnm *self, uint8_t *out, size_t at, uint32_t code)
{
    if (self->bits == 8)
        out[at] = (uint8_t)code;
    else
        ((uint16_t *)(void *)out)[at] = (uint16_t)((code * 65535ULL + self->most / 2) / self->most);
}

static Status plain_row(Pnm *self, uint8_t *out)
{
    for (size_t i = 0; i < self->row_samples; i++) {
        if (self->bitmap) { /* digits may stand without blanks between */
            const int c = next_mark(self);
            if (c != '0' && c != '1')
                return pnm_broken(self, c < 0 ? "it ends too early" : "no bit");
            out[i] = c == '0' ? 255 : 0;
            continue;
        }
        const int64_t code = pnm_next_number(self);
        if (code < 0) return pnm_broken(self, "a number is missing");
        if (code > self->most) return pnm_broken(self, "a number is over the maximum");
        put_code(self, out, i, (uint32_t)code);
    }
    return STATUS_OK;
}

static Status raw_row(Pnm *self, uint8_t *out)
{
    const size_t samples = self->row_samples;
    const size_t size = self->bitmap ? (samples + 7) / 8 : self->most > 255 ? 2 * samples : samples;
    size_t held = self->length - self->used, got = 0;
    if (held > size) held = size;
    memcpy(self->raw, self->buffer + self->used, held);
    self->used += held;
    if (held < size) {
        const Status status =
            bytes_read(self->bytes, self->at, self->raw + held, size - held, &got, self->fault);
        if (status) return status;
        self->at += got;
    }
    if (held + got < size) return pnm_broken(self, "it ends too early");
    for (size_t i = 0; i < samples; i++) {
        if (self->bitmap) {
            out[i] = self->raw[i / 8] >> (7 - i % 8) & 1 ? 0 : 255;
            continue;
        }
        const uint32_t code = self->most > 255
                                  ? (uint32_t)self->raw[2 * i] << 8 | self->raw[2 * i + 1]
                                  : self->raw[i];
        if (code > self->most) return pnm_broken(self, "a number is over the maximum");
        put_code(self, out, i, code);
    }
    return STATUS_OK;
}

static Status pnm_pull(void *context, int rows, uint8_t *rows_out, Fault *fault)
{
    Pnm *self = context;
    self->fault = fault;
    const size_t row_bytes = self->row_samples * (size_t)(self->bits / 8);
    for (int i = 0; i < rows; i++) {
        uint8_t *out = rows_out + (size_t)i * row_bytes;
        const Status status = self->plain ? plain_row(self, out) : raw_row(self, out);
        if (status) return status;
    }
    return STATUS_OK;
}

static void pnm_close(void *context)
{
    Pnm *self = context;
    memory_free(self->raw);
    memory_free(self);
}

static Status pnm_read_head(Decoder *decoder, const DecoderInput *input, Pnm *self)
{
    next_byte(self);
    const int kind = next_byte(self) - '0';
    if (kind < 1 || kind > 6) return pnm_broken(self, "no kind from P1 to P6");
    self->plain = kind <= 3;
    self->bitmap = kind == 1 || kind == 4;
    const int64_t width = pnm_next_number(self), height = pnm_next_number(self);
    const int64_t most = self->bitmap ? 1 : pnm_next_number(self);
    if (width < 0 || height < 0 || most < 0) return pnm_broken(self, "its head lacks a number");
    if (most < 1 || most > 65535) return pnm_broken(self, "its maximum is not 1 to 65535");
    Status status = decoder_check_size(input, (double)width, (double)height, self->fault);
    if (status) return status;
    self->most = (uint32_t)most;
    self->bits = self->bitmap || most == 255 ? 8 : 16;
    decoder->width = (long)width;
    decoder->height = (long)height;
    decoder->format =
        (PixelFormat){.model = kind == 3 || kind == 6 ? MODEL_RGB : MODEL_GREY, .bits = self->bits};
    self->row_samples = (size_t)width * (size_t)decoder->format.model;
    self->raw = memory_create(self->row_samples, 2);
    return self->raw ? STATUS_OK : memory_fault(self->fault, self->row_samples, 2);
}

Status pnm_open(Decoder *decoder, const DecoderInput *input, Fault *fault)
{
    Pnm *self = memory_create(1, sizeof *self);
    if (!self) return memory_fault(fault, 1, sizeof *self);
    self->bytes = input->bytes;
    self->fault = fault;
    *decoder = (Decoder){.self = self, .pull = pnm_pull, .close = pnm_close, .orientation = 1};
    const Status status = pnm_read_head(decoder, input, self);
    if (status) decoder_close(decoder);
    return status;
}
