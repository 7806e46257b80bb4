/* Layer picture: strokes, or layers or regions drawn whole, from a PNG of indices. */
#ifndef ROWLOCK_RELIEF_LAYER_PICTURE_H
#define ROWLOCK_RELIEF_LAYER_PICTURE_H

#include "layers/cell_labels.h"
#include "relief/map_frame.h"

typedef struct LayerPicture {
    uint8_t *memory;      /* of its labels */
    LabelPicture picture; /* a label, or LABEL_NONE, for each pixel, and what the cells show */
} LayerPicture;

enum { LABEL_UNKNOWN = -1 }; /* of an index that nothing has */

/* What to read. A pixel is told by its index. Where all colours are those of layers.png, they count
 * instead, since a paint program may have put the palette into another order. */
typedef struct LayerPictureInput {
    const char *path;
    int label[256];        /* of each index: a label, LABEL_NONE or LABEL_UNKNOWN */
    const char *kind;      /* "layer": what an index is of, for messages */
    const char *others;    /* "0, 1": those that are of none, for messages */
    const char *list_path; /* that says which there are */
    const DepthFrame *frame;
    double limit_pixels;
} LayerPictureInput;

/* Faults: not indexed, another shape than the reference, an index that is unknown. The caller
 * clears it, also after a fault. */
Status layer_picture_read(LayerPicture *picture_out, const LayerPictureInput *input, Fault *fault);
void layer_picture_clear(LayerPicture *picture);

/* The strokes at columns x rows pixels over what the cells show: each takes the label of most of
 * the strokes whose pixels have their middle in it, or where none has, of the pixel that its own
 * middle lies in. */
void layer_picture_strokes(const LayerPicture *picture, int columns, int rows, uint8_t *stroke_out);

#endif
