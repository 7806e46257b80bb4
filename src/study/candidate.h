/* Candidate: one way to plan a picture, as a comparison shows it. */
#ifndef ROWLOCK_STUDY_CANDIDATE_H
#define ROWLOCK_STUDY_CANDIDATE_H

#include "eye/missing_colour.h"
#include "eye/unrest.h"
#include "figures/offer.h"
#include "output/face_pictures.h"
#include "plan/brief.h"
#include "plan/sampled_picture.h"
#include "plan/studio.h"

#include <stdbool.h>

enum { CANDIDATE_PIXELS = 360 }; /* of a picture's longer side, at most */

/* Rows from the top, 3 bytes a pixel, sRGB. */
typedef struct Thumb {
    int columns, rows;
    uint8_t *rgb;
} Thumb;

typedef struct Candidate {
    Job job;
    Fault fault;
    Status status;
    Voice voice; /* deaf to notes: variants are planned at once */
    Brief brief;
    Studio studio;                 /* owned */
    const SampledPicture *picture; /* borrowed: variants of one size see the same */
    char name[256];                /* the palette's file, without folder and ending */
    int columns, rows, colours;
    double mean, p95;            /* CIEDE2000 as seen from the distance */
    double unrest[UNREST_CELLS]; /* from the distance; see eye/unrest.h */
    int worst_column, worst_row; /* middle of the block of cells that is seen worst, from 1 */
    double worst;
    MissingColour missing; /* what the picture has and its palette lacks */
    long bricks;
    bool priced, holds;
    double price, mass_kg, hours;
    Thumb view, map; /* as the eye sees it; where it differs */
    Offer offer;
    FacePicture near; /* its middle close by, for an offer of several */
} Candidate;

/* Plans the candidate's picture with what its studio has, and fills in the figures and
 * pictures. May run for several candidates at once. */
Status candidate_plan(Candidate *variant);
void candidate_clear(Candidate *variant);

/* An image of cells as the brief's eye sees it, a pixel a cell or less. The caller frees rgb. */
Status thumb_of_view(Thumb *thumb_out, const Image *image, const Brief *brief, Fault *fault);

/* The map's ink for a difference: white for 0, dark red from CANDIDATE_DARK on. */
#define CANDIDATE_DARK 20.0
void candidate_ink(double difference, uint8_t rgb_out[3]);

#endif
