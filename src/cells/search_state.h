/* Search state: the face that a search works on, cell by cell, and what each colour would cost
 * in each cell.
 *
 * The objective is a sum of terms:
 *   - what reaches the eye: the perceived error of the whole face (eye/perceived_error.h);
 *   - bricks: a price on what the face is guessed to take in bricks (brick_guess.h);
 *   - detail: what is seen close by, a weighted square of each cell's difference from the target;
 *     of accents (accent.h) besides that difference itself, at a high price;
 *   - calm: prices of contrast and chroma that the picture has not (calm.h);
 *   - colour prices: on colours of which there is not enough, where there are limits.
 * All but the first depend on a cell and its neighbours alone: the local terms. All of them stand
 * side by side in search_state.c, each three times: over the whole face
 * (search_state_local_terms), for all colours of one cell (search_state_costs), and for one colour
 * of one cell (search_state_detail, brick_guess.h, colour_price), of which groups and
 * swaps make their sums. A new term is added in these places. */
#ifndef ROWLOCK_CELLS_SEARCH_STATE_H
#define ROWLOCK_CELLS_SEARCH_STATE_H

#include "base/status.h"
#include "base/voice.h"
#include "cells/brick_guess.h"
#include "cells/calm.h"
#include "colour/lab_row.h"
#include "eye/perceived_error.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/palette.h"

#include <stdbool.h>

/* Cells per block, a side: where nothing changed nearby, blocks are passed over. Blocks of 8 came
 * to the same objective on photographs, 0.03 % less, in a tenth more time. */
enum { BLOCK_SIDE = 2 };

/* The cost of a colour in a cell is linear in these: the six products and the three
 * opponent values, then L*^2, a*^2 + b*^2, L*, a*, b*. */
enum { COST_FACTORS = 14, FACTOR_LAB = 11 };

/* An improvement smaller than this is rounding. */
#define LEAST_GAIN 1e-3

/* What is to be shown, and how faces are judged. */
typedef struct SearchProblem {
    const Image *target;
    const Palette *palette;
    Viewpoint viewpoint;
    Build build;       /* of a wall only joints along a course cost a brick */
    double detail;     /* weight of what is seen close by, 0 to 1 */
    double calm;       /* weight of contrast and chroma that the picture has not, 0 to 1 */
    const long *limit; /* the most cells of each colour beside those that are kept, -1: no
                          limit; NULL: none has one */
    Keep keep;         /* joints with cells that are kept, and what they show, count */
    CellWeights weights;
    int threads;        /* never changes the result */
    const Voice *voice; /* once it is stopped the search goes on in part alone; NULL: nobody does */
} SearchProblem;

/* What calm is asked of it; and what bricks a face is guessed to take, at no price yet. */
CalmProblem search_problem_calm(const SearchProblem *problem);
BrickGuess search_problem_bricks(const SearchProblem *problem, const Grid *face);

/* The target, CIELAB, and weights of squares of differences from it. */
typedef struct DetailTarget {
    float L, a, b, lightness, chroma;
} DetailTarget;

/* What one thread has of the face during a sweep. */
typedef struct Tile {
    double gain; /* change of the objective, at most 0 */
    long changes;
    long *quota;    /* by colour: how many more cells may take it; NULL: no limits hold yet */
    float *scratch; /* for footprints */
} Tile;

typedef struct SearchState {
    SearchProblem problem;
    Grid *grid;
    PerceivedError *perceived;
    int columns, rows, colours;
    double objective; /* followed change by change since it was last summed up */
    BrickGuess bricks;
    double colour_price[COLOUR_SLOTS]; /* of a cell of that colour */
    float opponent[COLOUR_SLOTS][3];
    double value[COLOUR_SLOTS][3]; /* the same */
    double factor[COST_FACTORS][COLOUR_SLOTS];
    double overlap[GROUP_MOST][GROUP_MOST][OPPONENT_FORM]; /* see perceived_error_overlap */
    bool barred[COLOUR_SLOTS];                             /* limit 0, or not offered */
    long kept[COLOUR_SLOTS];                               /* cells of each colour that are kept */
    DetailTarget *detail;                                  /* by cell */
    float *accent;                                         /* by cell: price of a difference of 1 */
    LabRow palette_lab;                                    /* of palette_planes */
    float palette_planes[3][COLOUR_SLOTS];
    Quick quick;
    Calm calm;
    double *curvature;  /* by cell, OPPONENT_FORM each */
    int *curvature_age; /* by cell: the linearisation that its curvature belongs to */
    float *gradient;    /* by cell, 3 each, as learnt last: for estimates only */
    int *touched;       /* by block: the last sweep with a change nearby */
    int blocks_across;
    int tile_side, tiles_across, tiles_up; /* in cells, in tiles */
    Tile *tiles;
    int phase, sweep, linearisation;
    bool visit_all; /* this sweep passes nothing over */
    long *quotas;   /* by tile and colour, of this phase; NULL: no limits hold yet */
    float *scratch; /* for each worker */
    size_t scratch_size;
} SearchState;

/* All cells without a colour, but for those that are kept, linearised at the target, by coarse
 * samples. grid has the target's size; what the problem points to is borrowed.
 * search_state_clear also after a fault. */
Status search_state_init(SearchState *state, const SearchProblem *problem, Grid *grid,
                         Fault *fault);
void search_state_clear(SearchState *state);

/* From now on by fine samples, where they differ: linearised at the face, and summed up, or else
 * at the target. */
Status search_state_refine(SearchState *state, bool at_face, Fault *fault);

/* Sums the objective up from scratch, by the linearisation in force: into state->objective,
 * which is returned. */
double search_state_objective(SearchState *state);

/* Linearises what reaches the eye at the face as it is now, then sums up. */
double search_state_linearise(SearchState *state);

/* The part of the objective that does not reach the eye. */
double search_state_local_terms(const SearchState *state);

void search_state_count(const SearchState *state, long count_out[COLOUR_SLOTS]);

/* The most cells of a colour, with those that are kept. */
long search_state_limit(const SearchState *state, int colour);

static inline size_t search_state_at(const SearchState *state, int column, int row)
{
    return (size_t)row * (size_t)state->columns + (size_t)column;
}

/* Whether a cell keeps its colour. */
static inline bool search_state_keeps(const SearchState *state, size_t at)
{
    return state->problem.keep.cell && state->problem.keep.cell[at];
}

/* One cell and how what reaches the eye depends on it. */
typedef struct Cell {
    int column, row;
    size_t at;
    int colour;      /* or NO_COLOUR */
    double shown[3]; /* opponent values; of the target where there is no colour */
    Footprint footprint;
    double gradient[3];
    const double *curvature;
} Cell;

/* Its gradient, and its curvature if that is of an earlier linearisation, are learnt anew. The
 * footprint may lie in scratch. */
Cell search_state_cell(SearchState *state, int column, int row, float *scratch);

/* The cost of each colour in the cell, all terms, but for a constant. */
void search_state_costs(const SearchState *state, const Cell *cell, double cost_out[COLOUR_SLOTS]);

/* What a colour in a cell costs by itself: detail, of accents too, and the price of its chroma;
 * INFINITY where it is barred. */
double search_state_detail(const SearchState *state, size_t at, int colour);

/* The blocks within reach of a change will be looked at again. */
void search_state_touch(SearchState *state, int column, int row);

#endif
