/* Patch blobs: pieces of one colour in a photograph whose outline is about a parallelogram, such as
 * the patches of a chart. */
#ifndef ROWLOCK_CAMERA_PATCH_BLOBS_H
#define ROWLOCK_CAMERA_PATCH_BLOBS_H

#include "camera/homography.h"
#include "camera/photo.h"

enum { BLOBS_MOST = 512 };

typedef struct Blob {
    PlanePoint middle; /* pixels of the photograph */
    double side;       /* root of the area */
} Blob;

typedef struct BlobList {
    int count; /* the largest, where there are more */
    Blob blob[BLOBS_MOST];
} BlobList;

/* Fault: memory. */
Status patch_blobs_find(BlobList *list_out, const Photo *photo, Fault *fault);

#endif
