/* JPEG files of tests and benches, by libjpeg itself: written row by row, and read whole. */
#ifndef ROWLOCK_TESTS_JPEGS_H
#define ROWLOCK_TESTS_JPEGS_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <jpeglib.h> /* needs stdio.h */

/* Fills row y, 3 samples a pixel; the rows are asked for in order, from the top. */
typedef void JpegRow(void *self, int y, uint8_t *row);

static inline bool jpeg_from_rows(const char *path, int width, int height, int quality,
                                  JpegRow *fill, void *self)
{
    FILE *file = fopen(path, "wb");
    uint8_t *row = malloc((size_t)width * 3);
    if (!file || !row) return false;
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_stdio_dest(&jpeg, file);
    jpeg.image_width = (JDIMENSION)width;
    jpeg.image_height = (JDIMENSION)height;
    jpeg.input_components = 3;
    jpeg.in_color_space = JCS_RGB;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, quality, TRUE);
    jpeg_start_compress(&jpeg, TRUE);
    for (int y = 0; y < height; y++) {
        JSAMPROW rows[1] = {row};
        fill(self, y, row);
        jpeg_write_scanlines(&jpeg, rows, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    free(row);
    return !fclose(file);
}

/* The pixels, 3 samples each, from the top; the caller frees them. NULL where there is no file. */
static inline uint8_t *jpeg_pixels(const char *path, int *width_out, int *height_out)
{
    FILE *file = fopen(path, "rb");
    if (!file) return NULL;
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr errors;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_decompress(&jpeg);
    jpeg_stdio_src(&jpeg, file);
    jpeg_read_header(&jpeg, TRUE);
    jpeg.out_color_space = JCS_RGB;
    jpeg_start_decompress(&jpeg);
    const size_t stride = (size_t)jpeg.output_width * 3;
    uint8_t *rgb = malloc(stride * jpeg.output_height);
    while (rgb && jpeg.output_scanline < jpeg.output_height) {
        JSAMPROW rows[1] = {rgb + stride * jpeg.output_scanline};
        jpeg_read_scanlines(&jpeg, rows, 1);
    }
    *width_out = (int)jpeg.output_width;
    *height_out = (int)jpeg.output_height;
    jpeg_abort_decompress(&jpeg);
    jpeg_destroy_decompress(&jpeg);
    fclose(file);
    return rgb;
}

#endif
