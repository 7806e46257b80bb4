/* Palette: the colours that the studio can get, in the order of their file. */
#ifndef ROWLOCK_MODEL_PALETTE_H
#define ROWLOCK_MODEL_PALETTE_H

#include "base/status.h"
#include "base/voice.h"
#include "colour/colour.h"

#include <stddef.h>

enum { PALETTE_MOST = 254 };

typedef struct Colour {
    char id[17];    /* 1 to 4 printable characters of UTF-8, unique; printed on charts */
    char name[121]; /* UTF-8, may be empty */
    Lab lab;        /* as measured, D50 */
    Xyz xyz;        /* the same, linear light */
    uint8_t srgb[3];
} Colour;

typedef struct Palette {
    int count; /* 1 to PALETTE_MOST */
    Colour colour[PALETTE_MOST];
} Palette;

/* Reads CGATS.17 text (SAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B) or CSV
 * (id,name,L,a,b or id,name,hex); which of them is told from the content.
 * Columns that are not known are named in a note. */
Status palette_read(Palette *palette_out, const char *path, const Voice *voice, Fault *fault);

/* The same from bytes; `place` stands for the path in messages. */
Status palette_parse(Palette *palette_out, const char *bytes, size_t length, const char *place,
                     const Voice *voice, Fault *fault);

/* The 48 colours that a plan uses without --palette (palettes/, built in). */
Status palette_default(Palette *palette_out, Fault *fault);

/* Index of the colour with this id, or -1. */
int palette_find(const Palette *palette, const char *id);

/* Writes the palette as CGATS.17 text, through lcms2: reading it gives the same ids and
 * the same Lab to the last bit. The same palette gives the same bytes. A double quote
 * in a name that has blanks becomes a single one, since the format cannot hold it.
 * bytes_out[length] is 0; the caller frees it with memory_free. */
Status palette_write_cgats(char **bytes_out, size_t *length_out, const Palette *palette,
                           const char *descriptor, Fault *fault);

/* Sets xyz and srgb from lab. */
void colour_complete(Colour *colour);

#endif
