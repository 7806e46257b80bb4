/* How long a 24-megapixel JPEG takes from file to 480 x 320 cells, as a ratio to what
 * djpeg takes to decode it; how much memory, and the same for ten times the height; and
 * where the time goes. Whole processes are timed, in turn, median of several.
 *
 *   bench_sample [ROUNDS]           all of that
 *   bench_sample cells FILE N       one run on N threads, nothing printed
 *   bench_sample decode FILE        decoding alone
 *   bench_sample rest FILE          rows already decoded, summed on one thread */
#include "base/bands.h"
#include "base/memory.h"
#include "picture/picture.h"
#include "picture/sample.h"
#include "support/chance.h"
#include "support/jpegs.h"
#include "support/scratch.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { WIDTH = 6000, HEIGHT = 4000, COLUMNS = 480, ROWS = 320, MOST_ROUNDS = 99 };

/* Soft shapes and a little grain: about 2 bits a pixel at quality 85, as cameras give. */
static void paint(void *self, int y, uint8_t *row)
{
    uint32_t *seed = self;
    for (int x = 0; x < WIDTH; x++) {
        const double wave = sin(x * 0.004 + y * 0.001) + sin(y * 0.006 - x * 0.0007) +
                            0.4 * sin(x * 0.06) * sin(y * 0.05);
        const double grain = (chance(seed) >> 16) / 255.0 * 26.0 - 13.0;
        for (int c = 0; c < 3; c++) {
            const double v = 120.0 + 40.0 * wave * (1.0 - 0.3 * c) + 10.0 * c + grain;
            row[3 * x + c] = (uint8_t)(v < 0.0 ? 0.0 : v > 255.0 ? 255.0 : v);
        }
    }
}

static void write_jpeg(const char *path, int height)
{
    uint32_t seed = 1;
    if (!jpeg_from_rows(path, WIDTH, height, 85, paint, &seed)) exit(1);
}

static void fail(const Fault *fault)
{
    fprintf(stderr, "bench_sample: %s\n", fault->text);
    exit(1);
}

static Picture *open_picture(const char *path)
{
    Fault fault;
    Picture *picture;
    const PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    if (picture_open(&picture, path, &options, NULL, &fault)) fail(&fault);
    return picture;
}

static void run_cells(const char *path, int threads)
{
    Fault fault;
    Picture *picture = open_picture(path);
    Source *source = picture_source(picture);
    const Crop crop = crop_all(source);
    Image image;
    PictureFacts facts;
    if (sample_image(source, &(Sampling){crop, COLUMNS, ROWS, threads}, &image, NULL, &fault) ||
        picture_finish(picture, &facts, &fault))
        fail(&fault);
    image_clear(&image);
    picture_close(picture);
}

static void run_decode(const char *path)
{
    Fault fault;
    Picture *picture = open_picture(path);
    Source *source = picture_source(picture);
    uint8_t *rows = memory_create(16, source->stored_bytes);
    for (long y = 0; y + 16 <= source->height; y += 16)
        if (source->pull(source->self, 16, rows, &fault)) fail(&fault);
    memory_free(rows);
    picture_close(picture);
}

/* Hands out rows that are there already. */
static Status pull_ready(void *self, int rows, uint8_t *out, Fault *fault)
{
    (void)fault;
    memcpy(out, self, (size_t)rows * 3 * WIDTH);
    return STATUS_OK;
}

static void run_rest(const char *path)
{
    Fault fault;
    Picture *picture = open_picture(path);
    Source source = *picture_source(picture);
    uint8_t *rows = memory_create(64, source.stored_bytes);
    if (source.pull(source.self, 64, rows, &fault)) fail(&fault);
    source.pull = pull_ready;
    source.self = rows;
    const Crop crop = crop_all(&source);
    Image image;
    if (sample_image(&source, &(Sampling){crop, COLUMNS, ROWS, 1}, &image, NULL, &fault))
        fail(&fault);
    image_clear(&image);
    memory_free(rows);
    picture_close(picture);
}

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

/* Runs a program to its end: seconds, and its peak memory in MiB. */
static double timed(char *const argv[], double *peak_out)
{
    const double start = now();
    const pid_t child = fork();
    if (child == 0) {
        execvp(argv[0], argv);
        _exit(127);
    }
    int status;
    struct rusage usage;
    if (child < 0 || wait4(child, &status, 0, &usage) < 0 || status != 0) {
        fprintf(stderr, "bench_sample: %s does not run\n", argv[0]);
        exit(1);
    }
    if (peak_out) *peak_out = (double)usage.ru_maxrss / 1024.0;
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

enum { TRIALS = 5 };

static void bench(char *self, int rounds, const char *path, const char *tall)
{
    char *one = (char[]){"1"}, *two = (char[]){"2"}, *file = strdup(path), *high = strdup(tall);
    char *djpeg[] = {"djpeg", "-outfile", "/dev/null", file, NULL};
    char *cells1[] = {self, "cells", file, one, NULL};
    char *cells2[] = {self, "cells", file, two, NULL};
    char *decode[] = {self, "decode", file, NULL};
    char *rest[] = {self, "rest", file, NULL};
    char **trial[TRIALS] = {djpeg, cells2, cells1, decode, rest};
    const char *name[TRIALS] = {"djpeg", "cells, 2 threads", "cells, 1 thread", "  decoding alone",
                                "  summing alone"};
    static double seconds[TRIALS][MOST_ROUNDS];
    double peak[TRIALS], tall_peak;
    for (int r = 0; r < rounds; r++)
        for (int t = 0; t < TRIALS; t++) seconds[t][r] = timed(trial[t], &peak[t]);
    const double base = median(seconds[0], rounds);
    for (int t = 0; t < TRIALS; t++)
        printf("%-18s %7.1f ms  %5.2f of djpeg  %5.1f MiB\n", name[t],
               1e3 * median(seconds[t], rounds), median(seconds[t], rounds) / base, peak[t]);
    char *more[] = {self, "cells", high, two, NULL};
    timed(more, &tall_peak);
    printf("%-18s %5.1f MiB\n", "ten times as high", tall_peak);
    free(file);
    free(high);
}

int main(int argc, char **argv)
{
    if (argc == 4 && !strcmp(argv[1], "cells")) return run_cells(argv[2], atoi(argv[3])), 0;
    if (argc == 3 && !strcmp(argv[1], "decode")) return run_decode(argv[2]), 0;
    if (argc == 3 && !strcmp(argv[1], "rest")) return run_rest(argv[2]), 0;
    const int rounds = argc > 1 ? atoi(argv[1]) : 7;
    char folder[SCRATCH_MOST], path[SCRATCH_MOST + 16], tall[SCRATCH_MOST + 16];
    if (!scratch_folder(folder) || rounds < 1 || rounds > MOST_ROUNDS) return 64;
    snprintf(path, sizeof path, "%s/24.jpg", folder);
    snprintf(tall, sizeof tall, "%s/240.jpg", folder);
    write_jpeg(path, HEIGHT);
    write_jpeg(tall, 10 * HEIGHT);
    bench(argv[0], rounds, path, tall);
    remove(path);
    remove(tall);
    return rmdir(folder);
}
