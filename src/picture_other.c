/* BMP, TGA and GIF (its first frame) through stb_image, all its other decoders off.
 * Pictures of these kinds are held whole.
 *
 * stb_image reads zeros beyond the end of a file; so the end is watched for here. */
#include "decoder.h"
#include "memory.h"

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

#include <stb/stb_image.h>

#include <string.h>

enum { STB_BUFFER = 128 }; /* what stb_image reads ahead at a time */

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

static int on_read(void *context, char *buffer, int want)
{
    Other *self = context;
    size_t got = 0;
    if (!self->status && want > 0)
        self->status = bytes_read(self->bytes, self->at, buffer, (size_t)want, &got, self->fault);
    self->at += got;
    if (got == 0 || (want != STB_BUFFER && got < (size_t)want)) self->ended = true;
    return (int)got;
}

static void on_skip(void *context, int count)
{
    Other *self = context;
    if (count > 0) self->at += (unsigned)count;
}

static int on_end(void *context)
{
    const Other *self = context;
    return self->at >= bytes_size(self->bytes);
}

static const stbi_io_callbacks callbacks = {on_read, on_skip, on_end};

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

static Status read_whole(Other *self)
{
    int width, height, channels;
    self->at = 0;
    self->ended = false;
    self->whole =
        stbi_load_from_callbacks(&callbacks, self, &width, &height, &channels, self->channels);
    if (self->whole && (width != self->width || height != self->height)) self->ended = true;
    return self->whole && !self->ended && !self->status ? STATUS_OK : refused(self);
}

static Status other_pull(void *context, int rows, uint8_t *rows_out, Fault *fault)
{
    Other *self = context;
    self->fault = fault;
    const Status status = self->whole ? STATUS_OK : read_whole(self);
    if (status) return status;
    memcpy(rows_out, self->whole + (size_t)self->next * self->row_bytes,
           (size_t)rows * self->row_bytes);
    self->next += rows;
    return STATUS_OK;
}

static Status read_head(Decoder *decoder, const DecoderInput *input, Other *self)
{
    int width = 0, height = 0, channels = 0;
    if (!stbi_info_from_callbacks(&callbacks, self, &width, &height, &channels))
        return refused(self);
    Status status = decoder_check_size(input, width, height, self->fault);
    if (status) return status;
    decoder->width = self->width = width;
    decoder->height = self->height = height;
    self->channels = channels;
    decoder->format = (PixelFormat){.model = channels >= 3 ? MODEL_RGB : MODEL_GREY,
                                    .bits = 8,
                                    .alpha = channels == 2 || channels == 4};
    self->row_bytes = decoder_row_bytes(decoder);
    return STATUS_OK;
}

Status other_open(Decoder *decoder, const DecoderInput *input, Fault *fault)
{
    Other *self = memory_create(1, sizeof *self);
    if (!self) return memory_fault(fault, 1, sizeof *self);
    uint8_t start[2] = {0};
    size_t got;
    self->bytes = input->bytes;
    self->fault = fault;
    *decoder = (Decoder){.self = self, .pull = other_pull, .close = other_close, .orientation = 1};
    Status status = bytes_read(input->bytes, 0, start, 2, &got, fault);
    self->kind = start[0] == 'B' && start[1] == 'M'   ? "BMP"
                 : start[0] == 'G' && start[1] == 'I' ? "GIF"
                                                      : "TGA";
    if (!status) status = read_head(decoder, input, self);
    if (status) decoder_close(decoder);
    return status;
}
