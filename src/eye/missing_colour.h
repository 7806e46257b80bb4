/* Missing colour: what a picture has and a palette lacks, and the one colour that would mend most
 * of it. By CIEDE2000 between single colours: what bricks mix to from afar does not count, since
 * close by it is no mend. */
#ifndef ROWLOCK_EYE_MISSING_COLOUR_H
#define ROWLOCK_EYE_MISSING_COLOUR_H

#include "base/status.h"
#include "base/voice.h"
#include "model/image.h"
#include "model/palette.h"

#include <stddef.h>

/* A colour farther than this, CIEDE2000, from all of a palette is missing: about what separates
 * neighbours in a family of 48. Our choice. */
#define MISSING_LIMIT 9.0

typedef struct MissingColour {
    double share; /* of the picture that is missing and within the limit of the addition; 0: none */
    Lab colour;   /* their mean */
    Lab addition; /* the colour that would serve all of the picture best */
    double gain;  /* by how much the mean difference to the nearest colour would fall */
} MissingColour;

typedef struct MissingSearch {
    const Image *image;
    const Palette *palette;
    int colours; /* the first so many of the palette are to be had, at least 1 */
    int threads;
    const Voice *voice; /* who may stop it; NULL: nobody */
} MissingSearch;

/* Of no use once the voice is stopped. Fault: no memory. */
Status missing_colour_find(MissingColour *missing_out, const MissingSearch *search, Fault *fault);

/* True where the share is worth a line: a hundredth of the picture. */
bool missing_colour_matters(const MissingColour *missing);

/* In one line, with what would mend it; and in a few words. */
void missing_colour_text(const MissingColour *missing, char *text, size_t size);
void missing_colour_short(const MissingColour *missing, char *text, size_t size);

#endif
