/* PNG (W3C, third edition, 2025) through libpng.
 *
 * libpng keeps colour chunks to its own rules of precedence; so cICP, sRGB, gAMA, cHRM
 * and eXIf are taken raw, and it is left iCCP alone to unpack. */
#include "base/memory.h"
#include "picture/decoder.h"
#include "picture/exif.h"

#include <png.h>

#include <string.h>

typedef struct Png {
    Bytes *bytes;
    uint64_t at;
    png_structp png;
    png_infop info;
    Fault *fault;  /* of the call that runs */
    Status status; /* of the fault that a callback has set already, or OK */
    bool icc_refused;
    bool interlaced;
    size_t row_bytes;
    long height, next;
    uint8_t *whole; /* interlaced only */
} Png;

static void png_on_error(png_structp png, png_const_charp text)
{
    Png *self = png_get_error_ptr(png);
    if (!self->status) self->status = decoder_broken(self->bytes, "PNG", text, self->fault);
    png_longjmp(png, 1);
}

static void png_on_warning(png_structp png, png_const_charp text)
{
    Png *self = png_get_error_ptr(png);
    if (strncmp(text, "iCCP", 4) == 0) self->icc_refused = true;
}

static png_voidp png_on_malloc(png_structp png, png_alloc_size_t size)
{
    /* libpng drops a colour chunk that it has no room for; here that is a fault. */
    Png *self = png_get_mem_ptr(png);
    void *block = memory_create(1, size);
    if (!block && !self->status) self->status = memory_fault(self->fault, 1, size);
    return block;
}

static void png_on_free(png_structp png, png_voidp block)
{
    (void)png;
    memory_free(block);
}

static void png_on_read(png_structp png, png_bytep buffer, size_t want)
{
    Png *self = png_get_io_ptr(png);
    size_t got = 0;
    if (!self->status)
        self->status = bytes_read(self->bytes, self->at, buffer, want, &got, self->fault);
    self->at += got;
    if (!self->status && got < want)
        self->status = decoder_ends_early(self->bytes, "PNG", self->fault);
    if (self->status) png_error(png, "read");
}

static void png_close(void *context)
{
    Png *self = context;
    png_destroy_read_struct(&self->png, &self->info, NULL);
    memory_free(self->whole);
    memory_free(self);
}

static double fixed(const png_byte *p) { return png_get_uint_32(p) / 100000.0; }

static void read_chunk(Decoder *decoder, const png_unknown_chunk *chunk)
{
    ColourTags *tags = &decoder->tags;
    const char *name = (const char *)chunk->name;
    if (strcmp(name, "cICP") == 0 && chunk->size == 4) {
        tags->cicp_given = true;
        memcpy(tags->cicp, chunk->data, 4);
    } else if (strcmp(name, "sRGB") == 0 && chunk->size == 1) {
        tags->srgb = true;
    } else if (strcmp(name, "gAMA") == 0 && chunk->size == 4) {
        /* 0 would be no gamma at all; what is said must be said to make no sense. */
        tags->gamma = fixed(chunk->data) == 0.0 ? -1.0 : fixed(chunk->data);
    } else if (strcmp(name, "cHRM") == 0 && chunk->size == 32) {
        tags->chromaticities_given = true;
        for (int i = 0; i < 8; i++) tags->chromaticities[i] = fixed(chunk->data + 4 * i);
    } else if (strcmp(name, "eXIf") == 0) {
        decoder->orientation = exif_orientation(chunk->data, chunk->size);
    }
}

static Status read_tags(Decoder *decoder, Png *self)
{
    png_unknown_chunkp chunks = NULL;
    const int count = png_get_unknown_chunks(self->png, self->info, &chunks);
    for (int i = 0; i < count; i++) read_chunk(decoder, &chunks[i]);

    png_charp name;
    png_bytep icc;
    png_uint_32 length;
    int method;
    decoder->tags.icc_broken = self->icc_refused;
    if (!png_get_iCCP(self->png, self->info, &name, &method, &icc, &length)) return STATUS_OK;
    decoder->tags.icc = memory_create(length, 1);
    if (!decoder->tags.icc) return memory_fault(self->fault, length, 1);
    memcpy(decoder->tags.icc, icc, length);
    decoder->tags.icc_length = length;
    return STATUS_OK;
}

/* Palettes and few bits to 8 bits a channel; a transparent colour to alpha. */
static void set_transforms(Decoder *decoder, Png *self)
{
    const int type = png_get_color_type(self->png, self->info);
    const int bits = png_get_bit_depth(self->png, self->info);
    const bool keyed = png_get_valid(self->png, self->info, PNG_INFO_tRNS) != 0;
    if (type == PNG_COLOR_TYPE_PALETTE || bits < 8 || keyed) png_set_expand(self->png);
#if __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    if (bits == 16) png_set_swap(self->png);
#endif
    decoder->format = (PixelFormat){.model = type & PNG_COLOR_MASK_COLOR ? MODEL_RGB : MODEL_GREY,
                                    .bits = bits == 16 ? 16 : 8,
                                    .alpha = (type & PNG_COLOR_MASK_ALPHA) || keyed};
    self->interlaced = png_set_interlace_handling(self->png) > 1;
}

/* Everything that may jump out of libpng; no local of this is needed after a jump. */
static Status png_read_head(Decoder *decoder, const DecoderInput *input, Png *self)
{
    static const png_byte raw[] = "cICP\0sRGB\0gAMA\0cHRM\0eXIf";
    if (setjmp(png_jmpbuf(self->png))) return self->status;
    png_set_read_fn(self->png, self, png_on_read);
    png_set_keep_unknown_chunks(self->png, PNG_HANDLE_CHUNK_ALWAYS, raw, 5);
    png_set_user_limits(self->png, 0x7fffffff, 0x7fffffff);
    png_read_info(self->png, self->info);
    if (self->status) return self->status;
    decoder->width = png_get_image_width(self->png, self->info);
    decoder->height = png_get_image_height(self->png, self->info);
    Status status =
        decoder_check_size(input, (double)decoder->width, (double)decoder->height, self->fault);
    if (!status) status = read_tags(decoder, self);
    if (status) return status;
    set_transforms(decoder, self);
    png_read_update_info(self->png, self->info);
    self->row_bytes = png_get_rowbytes(self->png, self->info);
    self->height = decoder->height;
    if (self->interlaced) decoder->held = (double)self->height * (double)self->row_bytes;
    if (self->row_bytes != decoder_row_bytes(decoder)) png_error(self->png, "odd row length");
    return STATUS_OK;
}

static Status png_pull_rows(Png *self, uint8_t *rows, size_t count)
{
    if (setjmp(png_jmpbuf(self->png))) return self->status;
    for (size_t i = 0; i < count; i++) png_read_row(self->png, rows + i * self->row_bytes, NULL);
    return STATUS_OK;
}

/* Later passes fill in between the pixels of earlier ones, so all rows are held. */
static Status png_read_whole(Png *self)
{
    const size_t height = (size_t)self->height;
    self->whole = memory_create(height, self->row_bytes);
    if (!self->whole) return memory_fault(self->fault, height, self->row_bytes);
    for (int pass = 0; pass < PNG_INTERLACE_ADAM7_PASSES; pass++) {
        const Status status = png_pull_rows(self, self->whole, height);
        if (status) return status;
    }
    return STATUS_OK;
}

static Status png_pull(void *context, int rows, uint8_t *rows_out, Fault *fault)
{
    Png *self = context;
    self->fault = fault;
    if (!self->interlaced) return png_pull_rows(self, rows_out, (size_t)rows);
    const Status status = self->whole ? STATUS_OK : png_read_whole(self);
    if (status) return status;
    memcpy(rows_out, self->whole + (size_t)self->next * self->row_bytes,
           (size_t)rows * self->row_bytes);
    self->next += rows;
    return STATUS_OK;
}

Status png_open(Decoder *decoder, const DecoderInput *input, Fault *fault)
{
    Png *self = memory_create(1, sizeof *self);
    if (!self) return memory_fault(fault, 1, sizeof *self);
    self->bytes = input->bytes;
    self->fault = fault;
    *decoder = (Decoder){.self = self, .pull = png_pull, .close = png_close, .orientation = 1};
    self->png = png_create_read_struct_2(PNG_LIBPNG_VER_STRING, self, png_on_error, png_on_warning,
                                         self, png_on_malloc, png_on_free);
    if (self->png) self->info = png_create_info_struct(self->png);
    const Status status =
        self->info ? png_read_head(decoder, input, self) : memory_fault(fault, 1, sizeof *self);
    if (status) decoder_close(decoder);
    return status;
}
