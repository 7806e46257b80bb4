/* BMP, TGA and GIF (its first frame) through stb_image, all its other decoders off.
 * Pictures of these kinds are held whole.
 *
 * stb_image reads zeros beyond the end of a file; so the end is watched for here. */
#include "base/memory.h"
#include "picture/decoder.h"

#define STB_IMAGE_IMPLEMENTATION
#define STBI_ONLY_BMP
#define STBI_ONLY_TGA
#define STBI_ONLY_GIF
#define STBI_NO_STDIO
#define STBI_NO_LINEAR
#define STBI_NO_HDR
#define STBI_MALLOC(size) memory_create(1, size)
#define STBI_REALLOC_SIZED(block, old, size) other_grow(block, old, size)
#define STBI_FREE(block) memory_free(block)

static void *other_grow(void *block, size_t old, size_t size);

#if __has_include(<stb/stb_image.h>)
#include <stb/stb_image.h>
#else /* Alpine has it in no folder of its own */
#include <stb_image.h>
#endif

#include <string.h>

enum { HEAD = 26, TGA_HEAD = 18, STB_BUFFER = 128 /* what stb_image reads ahead at a time */ };

typedef struct Other {
    Bytes *bytes;
    uint64_t at;
    Fault *fault;
    Status status;
    bool ended; /* more was asked for than there is */
    const char *kind;
    int channels;
    size_t row_bytes;
    long width, height, next;
    stbi_uc *whole;
} Other;

static void *other_grow(void *block, size_t old, size_t size)
{
    void *grown = memory_create(1, size);
    if (grown && block) memcpy(grown, block, old < size ? old : size);
    if (grown) memory_free(block);
    return grown;
}

static int other_on_read(void *context, char *buffer, int want)
{
    Other *self = context;
    size_t got = 0;
    if (!self->status && want > 0)
        self->status = bytes_read(self->bytes, self->at, buffer, (size_t)want, &got, self->fault);
    self->at += got;
    if (got == 0 || (want != STB_BUFFER && got < (size_t)want)) self->ended = true;
    return (int)got;
}

static void other_on_skip(void *context, int count)
{
    Other *self = context;
    if (count > 0) self->at += (unsigned)count;
}

static int other_on_end(void *context)
{
    const Other *self = context;
    return self->at >= bytes_size(self->bytes);
}

static const stbi_io_callbacks callbacks = {other_on_read, other_on_skip, other_on_end};

static void other_close(void *context)
{
    Other *self = context;
    memory_free(self->whole);
    memory_free(self);
}

static Status refused(Other *self)
{
    const char *why = stbi_failure_reason();
    if (self->status) return self->status;
    if (why && strcmp(why, "outofmem") == 0) return memory_fault(self->fault, 1, 1);
    if (self->ended) return decoder_ends_early(self->bytes, self->kind, self->fault);
    return decoder_broken(self->bytes, self->kind, why ? why : "unreadable", self->fault);
}

static Status other_read_whole(Other *self)
{
    int width = 0, height = 0, found;
    self->whole =
        stbi_load_from_callbacks(&callbacks, self, &width, &height, &found, self->channels);
    if (!self->whole || self->ended || self->status) return refused(self);
    return width == self->width && height == self->height
               ? STATUS_OK
               : decoder_broken(self->bytes, self->kind, "two sizes", self->fault);
}

static Status other_pull(void *context, int rows, uint8_t *rows_out, Fault *fault)
{
    Other *self = context;
    self->fault = fault;
    const Status status = self->whole ? STATUS_OK : other_read_whole(self);
    if (status) return status;
    memcpy(rows_out, self->whole + (size_t)self->next * self->row_bytes,
           (size_t)rows * self->row_bytes);
    self->next += rows;
    return STATUS_OK;
}

static double le(const uint8_t *at, int size)
{
    uint32_t value = 0;
    for (int i = size; i-- > 0;) value = value << 8 | at[i];
    return value;
}

/* The size stands at a fixed place in each of these heads, so that it is known, and
 * checked, before stb_image asks for memory. */
static Status other_read_head(Decoder *decoder, const DecoderInput *input, Other *self)
{
    uint8_t head[HEAD] = {0};
    size_t got;
    Status status = bytes_read(input->bytes, 0, head, HEAD, &got, self->fault);
    if (status) return status;
    double width, height;
    int need = HEAD;
    self->channels = 4;
    if (head[0] == 'B' && head[1] == 'M') {
        const bool old = le(head + 14, 4) == 12.0;
        self->kind = "BMP";
        width = old ? le(head + 18, 2) : le(head + 18, 4);
        height = old ? le(head + 20, 2) : le(head + 22, 4);
        if (!old && height > INT32_MAX) height = 4294967296.0 - height; /* from the top */
    } else if (head[0] == 'G' && head[1] == 'I') {
        self->kind = "GIF";
        width = le(head + 6, 2);
        height = le(head + 8, 2);
    } else {
        self->kind = "TGA";
        need = TGA_HEAD;
        width = le(head + 12, 2);
        height = le(head + 14, 2);
        if (!(head[17] & 15)) self->channels = 3; /* a fourth byte that is no alpha */
    }
    if (got < (size_t)need) return decoder_ends_early(input->bytes, self->kind, self->fault);
    status = decoder_check_size(input, width, height, self->fault);
    if (status) return status;
    decoder->width = self->width = (long)width;
    decoder->height = self->height = (long)height;
    decoder->format = (PixelFormat){.model = MODEL_RGB, .bits = 8, .alpha = self->channels == 4};
    self->row_bytes = decoder_row_bytes(decoder);
    decoder->held = (double)self->height * (double)self->row_bytes;
    return STATUS_OK;
}

Status other_open(Decoder *decoder, const DecoderInput *input, Fault *fault)
{
    Other *self = memory_create(1, sizeof *self);
    if (!self) return memory_fault(fault, 1, sizeof *self);
    self->bytes = input->bytes;
    self->fault = fault;
    *decoder = (Decoder){.self = self, .pull = other_pull, .close = other_close, .orientation = 1};
    const Status status = other_read_head(decoder, input, self);
    if (status) decoder_close(decoder);
    return status;
}
