/* Face nodes: a panel's face as a grid of places and the light that the plan has there.
 *
 * What a photograph shows there is the plan's light times what lamps and lens do, which changes
 * slowly: in logarithms a sum of the plan's values and of a few polynomials. `slow` spans these
 * polynomials, and `plan` is what the plan has beside them, so that the share of a photograph's
 * values that the plan explains is a few scalar products. */
#ifndef ROWLOCK_INSPECT_FACE_NODES_H
#define ROWLOCK_INSPECT_FACE_NODES_H

#include "inspect/panel_face.h"

enum { SLOW_MOST = 6 };

typedef struct FaceNodes {
    int across, up, slow_terms; /* 1, x, y, and with six of them x x, x y, y y */
    size_t count;
    double spacing;          /* plane units between neighbours */
    double *x, *y, *z;       /* plane units */
    double *slow[SLOW_MOST]; /* of length 1 and at right angles */
    double *plan[3];         /* of each channel, at right angles to these; zeros where it is flat */
    double strength[3];      /* lengths of `plan` before they were made 1 */
} FaceNodes;

/* About so many nodes along the longer side. face_nodes_clear also after a fault: no memory. */
Status face_nodes_init(FaceNodes *nodes_out, const PanelFace *face, int along, int slow_terms,
                       Fault *fault);
void face_nodes_clear(FaceNodes *nodes);

/* Goes on without the nodes that are marked; across times up is then no longer their number. */
void face_nodes_drop(FaceNodes *nodes, const bool *drop);

/* The sum of products of what stands at the nodes. */
double node_product(const double *a, const double *b, size_t count);

#endif
