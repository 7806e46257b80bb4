/* Rows come as their format stores them, a block at a time, and go to their upright places as 16
 * bits of linear light: half of what floats take, and finer than the noise of any camera down to a
 * ten-thousandth of white.
 *
 * A profile of curves and a matrix keeps its own primaries. One of tables has none: what it gives
 * is expressed in those of ISO 22028-2 (ROMM), which hold every colour that a surface can have. */
#include "camera/photo.h"

#include "base/memory.h"
#include "base/text.h"
#include "picture/picture.h"

#include <math.h>
#include <string.h>

/* Rows that are decoded between two looks at whether to stop. */
enum { ROWS_AT_ONCE = 32 };

/* ROMM RGB to XYZ D50, ISO 22028-2:2013, annex; each row sums to the white. */
static const double romm[3][3] = {
    {0.7976749, 0.1351917, 0.0313534}, {0.2880402, 0.7118741, 0.0000857}, {0, 0, 0.8252100}};

/* Its inverse, from the same annex. */
static const double from_xyz[3][3] = {
    {1.3459433, -0.2556075, -0.0511118}, {-0.5445989, 1.5081673, 0.0205351}, {0, 0, 1.2118128}};

static uint16_t full_scale(double light)
{
    return (uint16_t)lrint(fmin(fmax(light, 0.0), 1.0) * PHOTO_FULL);
}

/* What turns a ready row into light. */
typedef struct Reading {
    Source *source;
    Photo *photo;
    uint16_t *curve[3]; /* from codes to light; of DEPTH_FLOAT none */
    uint8_t *stored;    /* ROWS_AT_ONCE rows */
    uint8_t *ready;     /* one row */
} Reading;

static size_t sample_bytes(const Source *source)
{
    return source->depth == DEPTH_8 ? 1 : source->depth == DEPTH_16 ? 2 : sizeof(float);
}

static Status reading_init(Reading *r, Fault *fault)
{
    const Source *source = r->source;
    const size_t codes = source->depth == DEPTH_8 ? 256 : 65536;
    const size_t pixel = ((size_t)source->channels + (size_t)source->alpha) * sample_bytes(source);
    r->stored = memory_create(ROWS_AT_ONCE, source->stored_bytes);
    r->ready = memory_create((size_t)source->width, pixel);
    if (!r->stored || !r->ready) return memory_fault(fault, (size_t)source->width, pixel);
    for (int c = 0; c < 3 && source->depth != DEPTH_FLOAT; c++) {
        r->curve[c] = memory_create(codes, sizeof *r->curve[c]);
        if (!r->curve[c]) return memory_fault(fault, codes, sizeof *r->curve[c]);
        for (size_t i = 0; i < codes; i++) r->curve[c][i] = full_scale(source->curve[c][i]);
    }
    return STATUS_OK;
}

static void reading_clear(Reading *r)
{
    memory_free(r->stored);
    memory_free(r->ready);
    for (int c = 0; c < 3; c++) memory_free(r->curve[c]);
}

static void light_of_xyz(const float *xyz, uint16_t light_out[3])
{
    for (int k = 0; k < 3; k++)
        light_out[k] =
            full_scale(from_xyz[k][0] * (double)xyz[0] + from_xyz[k][1] * (double)xyz[1] +
                       from_xyz[k][2] * (double)xyz[2]);
}

/* One pixel of a ready row. */
static void light_of(const Reading *r, const uint8_t *ready, size_t at, uint16_t light_out[3])
{
    const Source *source = r->source;
    const size_t first = at * ((size_t)source->channels + (size_t)source->alpha);
    if (source->depth == DEPTH_FLOAT) {
        light_of_xyz((const float *)(const void *)ready + first, light_out);
        return;
    }
    for (size_t c = 0; c < 3; c++)
        light_out[c] = source->depth == DEPTH_8
                           ? r->curve[c][ready[first + c]]
                           : r->curve[c][((const uint16_t *)(const void *)ready)[first + c]];
}

/* Where the pixels of a stored row go: the first, and from one to the next. */
typedef struct Way {
    ptrdiff_t start, step;
} Way;

static Way way_of(const Source *source, const Photo *photo, long row)
{
    const bool across = source_transposed(source);
    const ptrdiff_t width = photo->width, height = photo->height;
    const bool mirrored = source_mirrored(source), upended = source_upended(source);
    if (across) { /* a stored row is an upright column */
        const ptrdiff_t x = mirrored ? width - 1 - row : row;
        return upended ? (Way){(height - 1) * width + x, -width} : (Way){x, width};
    }
    const ptrdiff_t y = upended ? height - 1 - row : row;
    return mirrored ? (Way){y * width + width - 1, -1} : (Way){y * width, 1};
}

static void take_row(const Reading *r, const uint8_t *stored, long row)
{
    const Source *source = r->source;
    const Way way = way_of(source, r->photo, row);
    if (source->ready) source->ready(source->self, stored, r->ready);
    const uint8_t *ready = source->ready ? r->ready : stored;
    uint16_t *light = r->photo->light;
    for (long i = 0; i < source->width; i++)
        light_of(r, ready, (size_t)i, light + 3 * (way.start + i * way.step));
}

static Status take_rows(const Reading *r, const Voice *voice, Fault *fault)
{
    Source *source = r->source;
    for (long row = 0; row < source->height; row += ROWS_AT_ONCE) {
        const long left = source->height - row;
        const int rows = (int)(left < ROWS_AT_ONCE ? left : ROWS_AT_ONCE);
        if (voice_stopped(voice))
            return fault_set(fault, STATUS_INTERRUPTED, "%s: stopped; run it again", source->name);
        const Status status = source->pull(source->self, rows, r->stored, fault);
        if (status) return status;
        for (int i = 0; i < rows; i++)
            take_row(r, r->stored + (size_t)i * source->stored_bytes, row + i);
        voice_progress(voice, "reading", (double)(row + rows) / (double)source->height);
    }
    return STATUS_OK;
}

/* Whether it is a photograph that can be taken at all. */
static Status check(const Source *source, double most_bytes, Fault *fault)
{
    const double need = 6.0 * (double)source->width * (double)source->height;
    if (source->channels != 3)
        return fault_set(fault, STATUS_DATA,
                         "%s: has no colour; give the photograph as the camera took it",
                         source->name);
    if (source->width > PHOTO_MOST_SIDE || source->height > PHOTO_MOST_SIDE)
        return fault_set(
            fault, STATUS_DATA,
            "%s: %ld x %ld pixels; a side of a photograph may have %d, make it smaller",
            source->name, source->width, source->height, PHOTO_MOST_SIDE);
    if (need > most_bytes)
        return fault_set(fault, STATUS_NO_RESOURCE,
                         "%s: takes %.3g MB where %.3g MB may be taken; make it smaller, or raise "
                         "--memory",
                         source->name, need / 1e6, most_bytes / 1e6);
    return STATUS_OK;
}

Status photo_init(Photo *photo, int width, int height, const char *name, Fault *fault)
{
    static const Rgb primary[3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    const size_t pixels = (size_t)width * (size_t)height;
    *photo = (Photo){.width = width, .height = height};
    for (int c = 0; c < 3; c++) {
        const Xyz xyz = xyz_from_linear(primary[c]);
        photo->xyz[0][c] = xyz.x;
        photo->xyz[1][c] = xyz.y;
        photo->xyz[2][c] = xyz.z;
    }
    photo->light = memory_create(pixels, 3 * sizeof *photo->light);
    photo->name = memory_create(strlen(name) + 1, 1);
    if (!photo->light || !photo->name) return memory_fault(fault, pixels, 6);
    strcpy(photo->name, name);
    return STATUS_OK;
}

void photo_clear(Photo *photo)
{
    memory_free(photo->light);
    memory_free(photo->name);
    *photo = (Photo){0};
}

static Status read_as(Photo *photo, const char *path, const PictureOptions *options,
                      const Voice *voice, Fault *fault)
{
    Picture *picture = NULL;
    *photo = (Photo){0};
    Status status = picture_open(&picture, path, options, voice, fault);
    if (status) return status;
    Reading r = {.source = picture_source(picture), .photo = photo};
    const Source *source = r.source;
    status = check(source, options->limit_bytes, fault);
    if (!status)
        status = photo_init(photo, (int)source_width(source), (int)source_height(source),
                            source->name, fault);
    if (!status) status = reading_init(&r, fault);
    if (!status) {
        memcpy(photo->xyz, source->depth == DEPTH_FLOAT ? romm : source->matrix, sizeof photo->xyz);
        status = take_rows(&r, voice, fault);
    }
    reading_clear(&r);
    picture_close(picture);
    return status;
}

Status photo_read(Photo *photo, const char *path, double most_bytes, const Voice *voice,
                  Fault *fault)
{
    PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    options.limit_bytes = most_bytes;
    return read_as(photo, path, &options, voice, fault);
}

Status photo_read_exact(Photo *photo, const char *path, double most_bytes, const Voice *voice,
                        Fault *fault)
{
    PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    options.limit_bytes = most_bytes;
    options.exact = true;
    return read_as(photo, path, &options, voice, fault);
}

Xyz photo_xyz(const Photo *photo, const double light[3])
{
    double xyz[3];
    for (int k = 0; k < 3; k++)
        xyz[k] =
            photo->xyz[k][0] * light[0] + photo->xyz[k][1] * light[1] + photo->xyz[k][2] * light[2];
    return (Xyz){xyz[0], xyz[1], xyz[2]};
}
