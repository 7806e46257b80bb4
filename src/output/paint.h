/* Paint: PNG pictures written row by row through libpng, the rows packed by zlib on several
 * threads. No time stamps, so the same rows give the same bytes. */
#ifndef ROWLOCK_OUTPUT_PAINT_H
#define ROWLOCK_OUTPUT_PAINT_H

#include "base/memory_file.h"
#include "base/status.h"

#include <stdbool.h>
#include <stdint.h>

typedef enum PaintKind {
    PAINT_RGB,    /* 3 bytes a pixel, sRGB */
    PAINT_GREY,   /* 1 byte a pixel */
    PAINT_GREY16, /* 2 bytes a pixel, the higher first */
    PAINT_INDEXED /* 1 byte a pixel, the index of a colour */
} PaintKind;

typedef struct Paint Paint;

typedef struct PaintOptions {
    int width, height; /* pixels, from 1 */
    PaintKind kind;
    const uint8_t (*colour)[3]; /* for PAINT_INDEXED: sRGB, the PLTE; else NULL */
    int colours;                /* 1 to 256 of them */
    bool clear;                 /* the last of them is transparent */
    int threads;                /* that pack rows; their number never changes the file */
} PaintOptions;

#define PAINT_OPTIONS_DEFAULT                                                                      \
    ((PaintOptions){.width = 1,                                                                    \
                    .height = 1,                                                                   \
                    .kind = PAINT_RGB,                                                             \
                    .colour = NULL,                                                                \
                    .colours = 0,                                                                  \
                    .clear = false,                                                                \
                    .threads = 1})

/* Where a picture goes: into a file, or into memory where that is given, and then no wider than
 * so many pixels, 0 for as wide as it is by itself. */
typedef struct PaintPlace {
    const char *path;   /* with memory for messages alone */
    MemoryFile *memory; /* NULL: a file */
    int across;
} PaintPlace;

static inline PaintPlace paint_file(const char *path) { return (PaintPlace){.path = path}; }

/* Creates the file and writes its header. Faults: it cannot be created or written, no memory. */
Status paint_create(Paint **paint_out, const PaintPlace *place, const PaintOptions *options,
                    Fault *fault);

/* The next row, top row first. */
Status paint_row(Paint *paint, const uint8_t *row, Fault *fault);

/* Ends the file (all rows are there) and frees; NULL allowed. */
Status paint_finish(Paint *paint, Fault *fault);

/* Frees without ending the file; NULL allowed. */
void paint_free(Paint *paint);

#endif
