/* How long a picture of 6 megapixels takes from file to 480 x 320 cells, for formats beside plain
 * JPEG, each as a ratio to what its own library takes to decode it row by row; and how much
 * memory. Whole processes are timed, in turn, median of several.
 *
 *   bench_formats [ROUNDS]           all of that
 *   bench_formats cells FILE         one run on two threads, nothing printed
 *   bench_formats png|tiff|jpeg FILE the library alone */
#include "picture/picture.h"
#include "picture/sample.h"
#include "support/chance.h"
#include "support/jpegs.h"
#include "support/scratch.h"

#include <math.h>
#include <png.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <tiffio.h>
#include <time.h>
#include <unistd.h>

enum { WIDTH = 3000, HEIGHT = 2000, COLUMNS = 480, ROWS = 320, MOST_ROUNDS = 99 };

static void stop(const char *what)
{
    fprintf(stderr, "bench_formats: %s\n", what);
    exit(1);
}

/* Soft shapes and a little grain, 0 to 1. */
static double value_at(int x, int y, int c, uint32_t *seed)
{
    const double wave = sin(x * 0.008 + y * 0.002) + sin(y * 0.012 - x * 0.0014) +
                        0.4 * sin(x * 0.06) * sin(y * 0.05);
    const double v =
        0.47 + 0.16 * wave * (1 - 0.3 * c) + 0.04 * c + 0.1 * (chance_unit(seed) - 0.5);
    return v < 0 ? 0 : v > 1 ? 1 : v;
}

static void fill_row(void *self, int y, uint8_t *row)
{
    for (int i = 0; i < 3 * WIDTH; i++)
        row[i] = (uint8_t)lround(255 * value_at(i / 3, y, i % 3, self));
}

/* ---- files ---- */

static void write_png(const char *path)
{
    uint32_t seed = 1;
    static uint8_t rgb[HEIGHT][3 * WIDTH];
    png_image image = {
        .version = PNG_IMAGE_VERSION, .width = WIDTH, .height = HEIGHT, .format = PNG_FORMAT_RGB};
    for (int y = 0; y < HEIGHT; y++) fill_row(&seed, y, rgb[y]);
    if (!png_image_write_to_file(&image, path, 0, rgb, 0, NULL)) stop(path);
}

static void write_tiff(const char *path)
{
    uint32_t seed = 1;
    static uint16_t row[3 * WIDTH];
    TIFF *tiff = TIFFOpen(path, "w");
    if (!tiff) stop(path);
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, WIDTH);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, HEIGHT);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 16);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 3);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, COMPRESSION_ADOBE_DEFLATE);
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 16);
    for (int y = 0; y < HEIGHT; y++) {
        for (int i = 0; i < 3 * WIDTH; i++)
            row[i] = (uint16_t)lround(65535 * value_at(i / 3, y, i % 3, &seed));
        if (TIFFWriteScanline(tiff, row, (uint32_t)y, 0) < 0) stop(path);
    }
    TIFFClose(tiff);
}

static void write_jpeg(const char *path)
{
    uint32_t seed = 1;
    char line[4 * SCRATCH_MOST + 128], plain[SCRATCH_MOST + 32];
    snprintf(plain, sizeof plain, "%s.plain", path);
    if (!jpeg_from_rows(plain, WIDTH, HEIGHT, 85, fill_row, &seed)) stop(plain);
    snprintf(line, sizeof line, "jpegtran -progressive -outfile %s %s && rm %s", path, plain,
             plain);
    if (system(line)) stop("jpegtran does not run");
}

/* ---- the libraries alone ---- */

static void decode_png(const char *path)
{
    FILE *file = fopen(path, "rb");
    static uint8_t row[3 * WIDTH];
    png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    if (!file || setjmp(png_jmpbuf(png))) stop(path);
    png_init_io(png, file);
    png_read_info(png, info);
    for (int y = 0; y < HEIGHT; y++) png_read_row(png, row, NULL);
    png_destroy_read_struct(&png, &info, NULL);
    fclose(file);
}

static void decode_tiff(const char *path)
{
    static uint16_t row[3 * WIDTH];
    TIFF *tiff = TIFFOpen(path, "r");
    if (!tiff) stop(path);
    for (uint32_t y = 0; y < HEIGHT; y++)
        if (TIFFReadScanline(tiff, row, y, 0) < 0) stop(path);
    TIFFClose(tiff);
}

static void decode_jpeg(const char *path)
{
    int width, height;
    free(jpeg_pixels(path, &width, &height));
}

static void run_cells(const char *path)
{
    Fault fault;
    Picture *picture;
    Image image;
    PictureFacts facts;
    const PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    if (picture_open(&picture, path, &options, NULL, &fault)) stop(fault.text);
    Source *source = picture_source(picture);
    const Sampling sampling = {crop_all(source), COLUMNS, ROWS, 2};
    if (sample_image(source, &sampling, &image, NULL, &fault) ||
        picture_finish(picture, &facts, &fault))
        stop(fault.text);
    image_clear(&image);
    picture_close(picture);
}

/* ---- times ---- */

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static double timed(char *self, const char *what, const char *path, double *peak_out)
{
    const double start = now();
    const pid_t child = fork();
    if (child == 0) {
        execlp(self, self, what, path, (char *)NULL);
        _exit(127);
    }
    int status;
    struct rusage usage;
    if (child < 0 || wait4(child, &status, 0, &usage) < 0 || status != 0) stop(what);
    *peak_out = (double)usage.ru_maxrss / 1024;
    return now() - start;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *values, int count)
{
    qsort(values, (size_t)count, sizeof *values, by_value);
    return values[count / 2];
}

static void bench(char *self, int rounds, const char *name, const char *library, const char *path)
{
    static double alone[MOST_ROUNDS], ratio[MOST_ROUNDS];
    double peak_alone = 0, peak = 0;
    for (int r = 0; r < rounds; r++) {
        alone[r] = timed(self, library, path, &peak_alone);
        ratio[r] = timed(self, "cells", path, &peak) / alone[r];
    }
    printf("%-18s library %6.0f ms %4.0f MiB   cells %5.2f times it, %4.0f MiB\n", name,
           1e3 * median(alone, rounds), peak_alone, median(ratio, rounds), peak);
}

int main(int count, char **argument)
{
    static const struct Format {
        const char *name, *library, *file;
        void (*write)(const char *path);
        void (*decode)(const char *path);
    } formats[] = {{"PNG, 8 bits", "png", "p.png", write_png, decode_png},
                   {"TIFF, 16 bits", "tiff", "t.tif", write_tiff, decode_tiff},
                   {"JPEG, progressive", "jpeg", "j.jpg", write_jpeg, decode_jpeg}};
    enum { FORMATS = sizeof formats / sizeof *formats };
    if (count == 3 && !strcmp(argument[1], "cells")) return run_cells(argument[2]), 0;
    for (int i = 0; count == 3 && i < FORMATS; i++)
        if (!strcmp(argument[1], formats[i].library)) return formats[i].decode(argument[2]), 0;
    const int rounds = count > 1 ? atoi(argument[1]) : 9;
    char folder[SCRATCH_MOST], path[SCRATCH_MOST + 16];
    if (rounds < 1 || rounds > MOST_ROUNDS || !scratch_folder(folder)) return 64;
    for (int i = 0; i < FORMATS; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, formats[i].file);
        formats[i].write(path);
        bench(argument[0], rounds, formats[i].name, formats[i].library, path);
    }
    return scratch_clear(folder) != 0;
}
