/* Initial face: the face that a search goes on from, the best of several.
 *
 * A search that changes a few cells at a time ends near where it began. Cells chosen one
 * after the other, while those not chosen yet show the target, mix colours best; the
 * nearest colours take few bricks from the beginning, which on pictures of large even
 * fields is worth more; error diffusion suits some textures. Each is tried on a sample of
 * the face: up to five windows each way, put together. */
#ifndef ROWLOCK_CELLS_INITIAL_FACE_H
#define ROWLOCK_CELLS_INITIAL_FACE_H

#include "base/voice.h"
#include "cells/brick_penalty.h"
#include "cells/search_state.h"

/* Our choice of sweeps; tests/bench/bench_look shows what the search makes of it. */
enum { INITIAL_SWEEPS = 4 };

typedef enum InitialFace {
    INITIAL_DRAWN,
    INITIAL_NEAREST,
    INITIAL_DIFFUSED,
    INITIAL_FACES
} InitialFace;

typedef struct InitialFaceTask {
    SearchProblem problem; /* its limits are not looked at; where starts are tried on a sample,
                              neither is what holds in single cells */
    double thrift;         /* see LookOptions */
    bool linearise;        /* at the face that was found; else all is judged at the target itself */
    int sweeps;            /* in which the price of bricks moves, at most; 1 or more */
    const Voice *voice;
} InitialFaceTask;

/* Gives the cells of a state, which have no colour yet, those of an initial face, and sweeps until
 * the bricks have come near what thrift allows; state->objective is summed up or followed.
 * nearest has the nearest colours. */
Status initial_face_take(const InitialFaceTask *task, InitialFace kind, const Grid *nearest,
                         const BrickPenalty *penalty, SearchState *state, Fault *fault);

/* How each initial face comes out on the sample; the least is the best. */
Status initial_face_try(const InitialFaceTask *task, double score_out[INITIAL_FACES], Fault *fault);

/* The plain nearest colours, in a grid that is initialised here; cells that are kept are
 * as in grid, which is not looked at otherwise. */
Status initial_face_nearest(const InitialFaceTask *task, const Grid *grid, Grid *nearest_out,
                            Fault *fault);

#endif
