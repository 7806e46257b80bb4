/* The first level is of means over whole blocks of pixels, which is where most of the time goes:
 * every pixel of the photograph is read once. Exposure is made alike by the photograph's mean. */
#include "inspect/light_levels.h"

#include "base/bands.h"
#include "base/memory.h"

#include <math.h>

/* Light of the darkest that is told apart; a fiftieth of white, our choice. */
#define DARK 0.02

/* What the mean of a photograph is taken to be, white being 1: usual exposure puts mid grey there
 * (common practice, no source). */
#define MEAN_LIGHT 0.2

float level_log(double light) { return (float)log(fmax(light, 0) + DARK); }

typedef struct Reducing {
    const Photo *photo;
    LightLevel *into;
    int block;
} Reducing;

static void reduce_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Reducing *r = context;
    const int block = r->block;
    const float share = 1 / ((float)(block * block) * PHOTO_FULL);
    for (int y = begin; y < end; y++) {
        float *out = r->into->value + 3 * (size_t)y * (size_t)r->into->width;
        for (int x = 0; x < r->into->width; x++, out += 3) {
            unsigned sum[3] = {0, 0, 0};
            for (int j = 0; j < block; j++) {
                const uint16_t *p = photo_at(r->photo, x * block, y * block + j);
                for (int i = 0; i < block; i++, p += 3)
                    for (int c = 0; c < 3; c++) sum[c] += p[c];
            }
            for (int c = 0; c < 3; c++) out[c] = (float)sum[c] * share;
        }
    }
}

static Status level_room(LightLevel *level, int width, int height, double scale, Fault *fault)
{
    *level = (LightLevel){.width = width, .height = height, .scale = scale};
    const size_t values = 3 * (size_t)width * (size_t)height;
    level->value = memory_create(values + 1, sizeof(float));
    return level->value ? STATUS_OK : memory_fault(fault, values, sizeof(float));
}

static void halve(const LightLevel *from, LightLevel *into)
{
    const size_t stride = 3 * (size_t)from->width;
    for (int y = 0; y < into->height; y++)
        for (int x = 0; x < into->width; x++)
            for (int c = 0; c < 3; c++) {
                const float *p = from->value + 2 * (size_t)y * stride + 6 * (size_t)x + c;
                into->value[3 * ((size_t)y * (size_t)into->width + (size_t)x) + (size_t)c] =
                    (p[0] + p[3] + p[stride] + p[stride + 3]) / 4;
            }
}

static void take_logarithms(LightLevels *levels)
{
    const LightLevel *last = &levels->level[levels->count - 1];
    const size_t values = 3 * (size_t)last->width * (size_t)last->height;
    double mean = 0;
    for (size_t i = 0; i < values; i++) mean += (double)last->value[i] / (double)values;
    const double gain = mean > 0 ? MEAN_LIGHT / mean : 1;
    for (LightLevel *l = levels->level; l < levels->level + levels->count; l++)
        for (size_t i = 0; i < 3 * (size_t)l->width * (size_t)l->height; i++)
            l->value[i] = level_log(gain * (double)l->value[i]);
}

Status light_levels_init(LightLevels *levels, const Photo *photo, int threads, Fault *fault)
{
    *levels = (LightLevels){0};
    const int longer = photo->width > photo->height ? photo->width : photo->height;
    const int shorter = photo->width > photo->height ? photo->height : photo->width;
    int block = (longer + LEVEL_FIRST - 1) / LEVEL_FIRST;
    if (block > shorter) block = shorter;
    LightLevel *first = &levels->level[0];
    Status status = level_room(first, photo->width / block, photo->height / block, block, fault);
    if (status) return status;
    levels->count = 1;
    Reducing reducing = {photo, first, block};
    bands_run(threads, first->height, 8, reduce_rows, &reducing);
    while (levels->count < LEVELS_MOST) {
        const LightLevel *from = &levels->level[levels->count - 1];
        const int most = from->width > from->height ? from->width : from->height;
        if (most < 2 * LEVEL_LAST || from->width < 4 || from->height < 4) break;
        LightLevel *into = &levels->level[levels->count];
        status = level_room(into, from->width / 2, from->height / 2, 2 * from->scale, fault);
        if (status) return status;
        levels->count++;
        halve(from, into);
    }
    take_logarithms(levels);
    return STATUS_OK;
}

void light_levels_clear(LightLevels *levels)
{
    for (LightLevel *l = levels->level; l < levels->level + LEVELS_MOST; l++) {
        memory_free(l->value);
        l->value = NULL;
    }
    levels->count = 0;
}

const LightLevel *light_level_for(const LightLevels *levels, double length, double least)
{
    const LightLevel *level = &levels->level[levels->count - 1];
    while (level > levels->level && length < least * level->scale) level--;
    return level;
}

static int within(double at, int most) { return at < 0 ? 0 : at > most ? most : (int)at; }

LevelSample light_level_at(const LightLevel *level, double x, double y)
{
    const double u = x / level->scale - 0.5, v = y / level->scale - 0.5;
    const int i = within(u, level->width - 2), j = within(v, level->height - 2);
    const float a = (float)fmin(fmax(u - i, 0), 1), b = (float)fmin(fmax(v - j, 0), 1);
    const float by = (float)(1 / level->scale);
    const size_t stride = 3 * (size_t)level->width;
    const float *p = level->value + (size_t)j * stride + 3 * (size_t)i;
    LevelSample s;
    for (int c = 0; c < 3; c++) {
        const float p00 = p[c], p10 = p[c + 3], p01 = p[stride + (size_t)c],
                    p11 = p[stride + (size_t)c + 3];
        s.value[c] = (1 - b) * ((1 - a) * p00 + a * p10) + b * ((1 - a) * p01 + a * p11);
        s.across[c] = by * ((1 - b) * (p10 - p00) + b * (p11 - p01));
        s.down[c] = by * ((1 - a) * (p01 - p00) + a * (p11 - p10));
    }
    return s;
}
