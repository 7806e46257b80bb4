/* Show pictures: every mural's picture as an image of its cells, for what is asked of all of them
 * before any is planned. */
#ifndef ROWLOCK_SHOW_SHOW_PICTURES_H
#define ROWLOCK_SHOW_SHOW_PICTURES_H

#include "plan/sampled_picture.h"
#include "plan/studio.h"
#include "show/show_file.h"

typedef struct ShowPictures {
    int murals;
    SampledPicture *picture; /* of each mural, as is the next */
    Grid *own;               /* cells that were painted; empty where a mural has none */
    size_t cells;            /* of all murals */
} ShowPictures;

/* Faults: a picture or painted cells that cannot be read, no memory, stopped. show_pictures_clear
 * also after a fault. */
Status show_pictures_init(ShowPictures *pictures_out, const Show *show, const Palette *palette,
                          const Voice *voice, Fault *fault);
void show_pictures_clear(ShowPictures *pictures);

static inline size_t show_pictures_cells(const ShowPictures *pictures, int mural)
{
    const Image *image = &pictures->picture[mural].image;
    return (size_t)image->columns * (size_t)image->rows;
}

#endif
