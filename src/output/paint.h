/* Paint: PNG pictures written row by row through libpng, the rows packed by zlib on several
 * threads. No time stamps, so the same rows give the same bytes. */
#ifndef ROWLOCK_OUTPUT_PAINT_H
#define ROWLOCK_OUTPUT_PAINT_H

#include "base/status.h"
#include "model/palette.h"

#include <stdint.h>

typedef enum PaintKind {
    PAINT_RGB,    /* 3 bytes a pixel, sRGB */
    PAINT_GREY,   /* 1 byte a pixel */
    PAINT_INDEXED /* 1 byte a pixel, a palette's index; its colours become PLTE, in order */
} PaintKind;

typedef struct Paint Paint;

typedef struct PaintOptions {
    int width, height; /* pixels, from 1 */
    PaintKind kind;
    const Palette *palette; /* for PAINT_INDEXED, else NULL */
    int threads;            /* that pack rows; their number never changes the file */
} PaintOptions;

#define PAINT_OPTIONS_DEFAULT                                                                      \
    ((PaintOptions){.width = 1, .height = 1, .kind = PAINT_RGB, .palette = NULL, .threads = 1})

/* Creates the file and writes its header. Faults: it cannot be created or written, no memory. */
Status paint_create(Paint **paint_out, const char *path, const PaintOptions *options, Fault *fault);

/* The next row, top row first. */
Status paint_row(Paint *paint, const uint8_t *row, Fault *fault);

/* Ends the file (all rows are there) and frees; NULL allowed. */
Status paint_finish(Paint *paint, Fault *fault);

/* Frees without ending the file; NULL allowed. */
void paint_free(Paint *paint);

#endif
