/* Cell light: what the photograph shows of each cell of a face, and whether it is the panel's. */
#ifndef ROWLOCK_INSPECT_CELL_LIGHT_H
#define ROWLOCK_INSPECT_CELL_LIGHT_H

#include "camera/photo.h"
#include "inspect/pose.h"

typedef struct CellLight {
    float light[3]; /* of the middle of the cell, linear, 1 the most that the file can hold */
    float clipped;  /* share of it that is as light as that */
    bool seen;      /* in the photograph, and not behind what stands out more */
} CellLight;

/* rows x columns of the face; memory_free frees it. Fault: no memory. */
Status cell_light_create(CellLight **cells_out, const PanelFace *face, const Photo *photo,
                         const Pose *pose, int threads, Fault *fault);

/* How the plan's differences between a cell and its neighbours go together with the photograph's:
 * 1 all, 0 none, as for any other place, panel or picture. */
typedef struct FaceProof {
    double likeness;
    double others; /* the most of it for the plan moved by up to three cells, turned or mirrored */
    double detail; /* of the plan: the root of the mean square of such differences, of logarithms */
} FaceProof;

Status face_proof(FaceProof *proof_out, const PanelFace *face, const CellLight *cells,
                  Fault *fault);

#endif
