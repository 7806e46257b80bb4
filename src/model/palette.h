/* Palette: the colours that the studio can get, in the order of their file. */
#ifndef ROWLOCK_MODEL_PALETTE_H
#define ROWLOCK_MODEL_PALETTE_H

#include "base/csv.h"
#include "colour/colour.h"

#include <stddef.h>

enum { PALETTE_MOST = 254 };

typedef struct Colour {
    char id[17];    /* 1 to 4 printable characters of UTF-8, unique; printed on charts */
    char name[121]; /* UTF-8, may be empty */
    Lab lab;        /* as measured, D50 */
    Xyz xyz;        /* the same, linear light */
    uint8_t srgb[3];
    double stdev_de; /* standard deviation of the measurement, colour difference; 0: not told */
} Colour;

typedef struct Palette {
    int count; /* 1 to PALETTE_MOST */
    Colour colour[PALETTE_MOST];
} Palette;

/* Nine of ten colours lie within so many of their standard deviations: of errors that are alike
 * along two axes or three, such as those in Lab, 1.52 and 1.44 root mean squares hold 90 %. */
#define PALETTE_WITHIN 1.5

/* Reads CGATS.17 text (SAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B, and STDEV_DE) or CSV
 * (id,name,L,a,b or id,name,hex); which of them is told from the content.
 * Columns that are not known are named in a note. */
Status palette_read(Palette *palette_out, const char *path, const Voice *voice, Fault *fault);

/* The same from bytes; `place` stands for the path in messages. */
Status palette_parse(Palette *palette_out, const char *bytes, size_t length, const char *place,
                     const Voice *voice, Fault *fault);

/* The 48 colours that a plan uses without --palette (palettes/, built in). */
Status palette_default(Palette *palette_out, Fault *fault);

/* How sure the first `count` colours are: nine of ten lie within so much of what the palette says,
 * CIEDE2000; 0 where it does not tell it of all of them. */
double palette_within(const Palette *palette, int count);

/* Index of the colour with this id, or -1. */
int palette_find(const Palette *palette, const char *id);

/* Writes the palette as CGATS.17 text, through lcms2: reading it gives the same ids and
 * the same Lab to the last bit. The same palette gives the same bytes. STDEV_DE is there where any
 * colour tells it. A double quote
 * in a name that has blanks becomes a single one, since the format cannot hold it.
 * bytes_out[length] is 0; the caller frees it with memory_free. */
Status palette_write_cgats(char **bytes_out, size_t *length_out, const Palette *palette,
                           const char *descriptor, Fault *fault);

/* A field as an id (1 to 4 characters, all seen) or a name; column -1 is an empty name. */
Status colour_read_id(Colour *colour, const Csv *table, size_t row, int column, Fault *fault);
Status colour_read_name(Colour *colour, const Csv *table, size_t row, int column, Fault *fault);

/* Sets xyz and srgb from lab. */
void colour_complete(Colour *colour);

#endif
