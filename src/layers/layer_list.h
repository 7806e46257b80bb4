/* Layer list: the layers of a picture, what each stands on, and its form. */
#ifndef ROWLOCK_LAYERS_LAYER_LIST_H
#define ROWLOCK_LAYERS_LAYER_LIST_H

#include "base/ini_sections.h"

#include <stdbool.h>
#include <stdint.h>

enum {
    LAYERS_MOST = 32, /* the ground among them */
    LAYER_NAME = SECTION_NAME,
    LAYER_GROUND = 0,      /* its place in the list */
    LAYER_GROUND_INDEX = 1 /* its index in pictures */
};

typedef enum LayerProfile {
    PROFILE_PLATEAU, /* level */
    PROFILE_SLOPE,   /* a straight rise from the outline */
    PROFILE_ROUNDED, /* a body: steep at the outline, round on top */
    PROFILE_RELIEF   /* what the job's relief is there, from a map or from lightness */
} LayerProfile;

typedef struct Layer {
    char name[LAYER_NAME];
    int index;     /* of its pixels in pictures of strokes and labels; 2 and up */
    double height; /* steps beyond what it stands on */
    LayerProfile profile;
    double rise;    /* cells from the outline over which it rises; INFINITY: to its middle */
    bool soft;      /* the outline is no edge */
    double texture; /* steps that light and dark within it make, 0 to 1 */
    int on;         /* the place in the list of what it stands on */
} Layer;

/* layer[LAYER_GROUND] is the ground, the others come by index. A label is a place in this
 * list. */
typedef struct LayerList {
    int count;
    Layer layer[LAYERS_MOST];
} LayerList;

/* The step length is that of one step, for heights that are given as lengths; millimetres.
 * Reads an INI file: a section for each layer, `[layer NAME]`, with index, height, profile, rise,
 * edge, texture, on. A key that is none, or stands twice, is a fault, and so are a layer on one
 * that is missing, or on itself by way of others. */
Status layer_list_read(LayerList *list_out, const char *path, double step_mm, Fault *fault);

/* The label of an index in pictures; -1 if no layer has it. */
int layer_label(const LayerList *list, int index);

/* Whether a label is a layer, or stands on it by way of others. */
bool layer_carries(const LayerList *list, int layer, int label);

#endif
