/* Held picture: a reference whose pixels stay in memory, to be sampled again and again, from
 * several threads at once. */
#ifndef ROWLOCK_PICTURE_HELD_PICTURE_H
#define ROWLOCK_PICTURE_HELD_PICTURE_H

#include "picture/picture.h"

typedef struct HeldPicture {
    Picture *picture; /* NULL: it is not held */
    uint8_t *rows;    /* all of them, as stored */
    PictureFacts facts;
} HeldPicture;

/* Decodes the whole picture; leaves it empty, and says nothing, where its pixels would take more
 * than `most_bytes`. held_picture_clear also after a fault. */
Status held_picture_init(HeldPicture *held_out, const char *path, const PictureOptions *options,
                         size_t most_bytes, const Voice *voice, Fault *fault);
void held_picture_clear(HeldPicture *held);

/* A source of its own for whoever samples it; it lives as long as the picture is held. */
Source held_picture_source(const HeldPicture *held);

#endif
