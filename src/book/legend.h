/* Legend: how each colour of the palette is told from the others on paper: a symbol,
 * black or white type, and the colours that could be taken for it.
 *
 * Every colour in use has a symbol of its own. Colours that can be mistaken for
 * each other, in grey print or by a colour-blind eye, have symbols of different shape
 * where there are enough shapes. */
#ifndef ROWLOCK_BOOK_LEGEND_H
#define ROWLOCK_BOOK_LEGEND_H

#include "base/status.h"
#include "colour/colour.h"
#include "model/laid.h"
#include "model/palette.h"

#include <stdbool.h>
#include <stdint.h>

typedef enum Vision { VISION_PROTAN, VISION_DEUTAN, VISION_TRITAN } Vision;

/* Why two colours are alike; bits. */
enum { ALIKE_GREY = 1, ALIKE_PROTAN = 2, ALIKE_DEUTAN = 4, ALIKE_TRITAN = 8 };

#define ALIKE_GREY_DL 10.0  /* L* apart that grey print keeps apart */
#define ALIKE_VISION_DE 8.0 /* CIEDE2000 apart after simulation */

enum { SYMBOL_MOST = 8 }; /* bytes of a symbol with its end: one mark or two, UTF-8 */

typedef struct LegendColour {
    bool used;
    char symbol[SYMBOL_MOST];
    bool white;      /* type on this colour is white, else black */
    double contrast; /* of that type, 1 to 21 */
} LegendColour;

typedef struct Legend {
    int count; /* of the palette */
    LegendColour colour[PALETTE_MOST];
    uint8_t alike[PALETTE_MOST][PALETTE_MOST]; /* symmetric; only between used colours */
} Legend;

/* `used` has a flag for each colour of the palette; only those get symbols. */
Status legend_create(Legend **key_out, const Palette *palette, const bool *used, Fault *fault);
/* The same for the colours of these bricks. */
Status legend_of_laid(Legend **key_out, const Palette *palette, const Laid *laid, Fault *fault);
void legend_free(Legend *key);

/* The number of single marks, and the shape (a small number) of a symbol. */
int legend_marks(void);
int legend_shape(const char *symbol);
const char *legend_mark(int index);

/* WCAG 2.1, relative luminance and contrast ratio of 8-bit sRGB, 1 to 21. */
double contrast_ratio(const uint8_t a[3], const uint8_t b[3]);

/* What an eye without one kind of cone sees: Machado, Oliveira, Fernandes 2009, severity
 * 1.0, on linear sRGB, clipped to the gamut. */
Rgb vision_simulate(Vision vision, Rgb linear);

#endif
