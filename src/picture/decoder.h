/* Decoder: one file format, as rows of 8- or 16-bit samples and what the file says
 * about them. Each opener reads a file's head only; pixels are decoded when they are
 * pulled. What cannot be decoded row by row (interlaced PNG, progressive JPEG, BMP, TGA,
 * GIF) is held whole from the first pull on. */
#ifndef ROWLOCK_PICTURE_DECODER_H
#define ROWLOCK_PICTURE_DECODER_H

#include "base/bytes.h"
#include "picture/profile.h"

typedef struct Decoder {
    void *self;
    /* Whole rows, samples interleaved, this machine's byte order. */
    Status (*pull)(void *self, int rows, uint8_t *rows_out, Fault *fault);
    void (*close)(void *self);
    long width, height; /* as stored */
    int orientation;    /* 1 to 8, as in Exif */
    double held;        /* bytes of what must be held whole; 0: rows are decoded as they come */
    PixelFormat format;
    ColourTags tags; /* decoder_close frees them */
} Decoder;

/* What every opener is told. */
typedef struct DecoderInput {
    Bytes *bytes;
    double limit_pixels;
    const Voice *voice;
    bool exact; /* as PictureOptions has it */
} DecoderInput;

/* On success the decoder is the caller's to close; on a fault there is nothing to close.
 * In picture_png.c, picture_jpeg.c, picture_tiff.c, picture_pnm.c and picture_other.c. */
typedef Status DecoderOpen(Decoder *decoder_out, const DecoderInput *input, Fault *fault);
DecoderOpen png_open, jpeg_open, tiff_open, pnm_open, other_open;

void decoder_close(Decoder *decoder);

/* The fault for a picture with more pixels than the limit, or none at all. Asked
 * before any memory is. */
Status decoder_check_size(const DecoderInput *input, double width, double height, Fault *fault);

/* "FILE: broken FORMAT: WHY; get a whole copy" */
Status decoder_broken(const Bytes *bytes, const char *format, const char *why, Fault *fault);
Status decoder_ends_early(const Bytes *bytes, const char *format, Fault *fault);

static inline size_t decoder_row_bytes(const Decoder *decoder)
{
    return (size_t)decoder->width *
           ((size_t)decoder->format.model + (size_t)decoder->format.alpha) *
           ((size_t)decoder->format.bits / 8);
}

#endif
