/* Show palette: how well one palette serves all murals, and which few of its colours would.
 *
 * A difference is what `pick` reckons: the mean CIEDE2000 between a picture and what single colours
 * and mixtures of two make of it at the distance. Over all murals it is weighted by their areas. */
#ifndef ROWLOCK_SHOW_SHOW_PALETTE_H
#define ROWLOCK_SHOW_SHOW_PALETTE_H

#include "base/voice.h"
#include "model/palette.h"
#include "show/planned.h"
#include "show/show_pictures.h"

/* A mural under the palette of the show. */
typedef struct Served {
    double area;   /* share of all murals' */
    double shared; /* difference with the colours of the show */
    double own;    /* with as many of its own choice; that of all where nothing was picked */
} Served;

/* A colour that one mural alone takes. */
typedef struct Lonely {
    int colour, mural;
    long bricks;
    double loss; /* by how much the mural's difference grows without it */
} Lonely;

typedef struct ShowPalette {
    bool picked;                /* the show has `colours` */
    bool offered[PALETTE_MOST]; /* colours of the show's palette that murals may take */
    int colours;                /* how many these are */
    double difference;          /* over all murals */
    int murals;
    Served *served; /* of each mural */
    int lonely_count;
    Lonely *lonely;         /* those that cost least to leave out first; see show_palette_look */
    struct MixtureSet *set; /* what differences are reckoned with */
} ShowPalette;

/* Picks the show's colours, where it has `colours`; else all of the palette are offered. Faults:
 * more colours than there are, ids that are none, no memory, stopped. */
Status show_palette_init(ShowPalette *palette_out, const Show *show, const Palette *from,
                         const ShowPictures *pictures, const Voice *voice, Fault *fault);
void show_palette_clear(ShowPalette *palette);

/* Fills in the colours that one of the planned murals alone has. */
Status show_palette_look(ShowPalette *palette, const Planned *planned, Fault *fault);

/* The offered colours as CGATS.17. */
Status show_palette_write(const ShowPalette *palette, const Palette *from, const char *path,
                          Fault *fault);

#endif
