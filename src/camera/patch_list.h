/* Patch list: where bricks lie in photographs, from a CSV of the user's.
 *
 * A row is a place: id and name of its colour, and a rectangle x, y, width, height or four corners
 * x1, y1 to x4, y4 around. `on` is "photo" for pixels of the photograph, from its upper left
 * corner, or "chart" for places on the chart's plane, where the middle of the first patch is 0, 0
 * and that of the next in its row 1, 0. `photo` says which photograph, by its file's name or its
 * number; a place on the chart's plane without one is in all of them. The id "paper" is no colour,
 * but a place of plain paper or card that lies around: it tells how even the light is. */
#ifndef ROWLOCK_CAMERA_PATCH_LIST_H
#define ROWLOCK_CAMERA_PATCH_LIST_H

#include "base/csv.h"
#include "camera/homography.h"
#include "model/palette.h"

typedef struct PatchPlace {
    PlanePoint corner[4];
    int photo;  /* from 0; -1: any */
    int colour; /* in `colours`; -1: paper */
    bool on_chart;
    size_t row; /* of the table, for messages */
} PatchPlace;

typedef struct PatchList {
    Csv *table;
    Palette colours; /* ids and names, in the order in which they first come */
    size_t count;
    PatchPlace *place;
} PatchList;

/* `photo` are the paths of the photographs. Faults: those of csv_read; a column that lacks, a place
 * that is none, a photograph that is not there, an id that a palette would not take, more than
 * PALETTE_MOST colours. patch_list_clear also after a fault. */
Status patch_list_read(PatchList *list_out, const char *path, const char *const *photo, int photos,
                       const Voice *voice, Fault *fault);
void patch_list_clear(PatchList *list);

#endif
