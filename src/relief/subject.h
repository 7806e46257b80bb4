/* Subject: what stands out, layer by layer, as the job's strokes or labels and its list of layers
 * say. */
#ifndef ROWLOCK_RELIEF_SUBJECT_H
#define ROWLOCK_RELIEF_SUBJECT_H

#include "layers/heights.h"
#include "layers/layer_list.h"
#include "layers/outline_report.h"
#include "relief/depth.h"

typedef struct Subject {
    LayerList list; /* none where there is no subject */
    int columns, rows;
    uint8_t *label;       /* of each cell */
    float *height;        /* steps of each cell, before they are rounded and cut off */
    int most;             /* steps that may be */
    OutlineReport report; /* of outlines from strokes; empty for labels */
} Subject;

/* Pixels that outlines are looked for in, a cell each way: what sampled pictures must have where
 * job_stroked. The fewer, the less they cost; from 2 on outlines are as good, to 1 % of the
 * figure's area, but take a stroke more. */
int subject_pixels_a_cell(int columns, int rows);

typedef struct SubjectInput {
    DepthInput depth;  /* frame, picture and guide */
    const Image *fine; /* the picture at subject_pixels_a_cell; only where job_stroked */
} SubjectInput;

/* Fills subject_out, and steps_out for each cell. What is doubtful, cut off or rounded is said.
 * subject_clear also after a fault. Faults: files that cannot be read or do not fit, a layer
 * without a stroke, no ground. */
Status subject_init(Subject *subject_out, const Job *job, const SubjectInput *input,
                    uint8_t *steps_out, const Voice *voice, Fault *fault);
void subject_clear(Subject *subject);

#endif
