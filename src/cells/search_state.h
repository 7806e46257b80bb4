/* Search state: the face that a search works on, cell by cell, and what each colour would cost
 * in each cell. */
#ifndef ROWLOCK_CELLS_SEARCH_STATE_H
#define ROWLOCK_CELLS_SEARCH_STATE_H

#include "base/status.h"
#include "eye/retina.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/palette.h"

#include <stdbool.h>

/* A cell that has no colour yet counts as showing the target itself, and has no joints. */
enum { NONE = 255 };

/* Cells per block, a side: where nothing changed nearby, blocks are passed over. */
enum { BLOCK = 8 };

enum { RUN_MOST = 6 }; /* cells that change together, in a row */

/* The cost of a colour in a cell is linear in these: the six products and the three
 * opponent values, then L*^2, a*^2 + b*^2, L*, a*, b*. */
enum { TERMS = 14, TERM_LAB = 11 };

/* An improvement smaller than this is rounding. */
#define LEAST_GAIN 1e-3

/* The target, and weights of differences seen close by. */
typedef struct Close {
    float L, a, b, lightness, chroma;
} Close;

typedef struct TileWork {
    double gain; /* change of the objective, at most 0 */
    long changes;
} TileWork;

typedef struct SearchState {
    Build build;
    const long *limit; /* the most cells of each colour beside those that are kept, -1: no
                          limit; NULL: none has one */
    Keep keep;
    int threads;
    Grid *grid;
    Viewpoint viewpoint;
    Retina *retina;
    int columns, rows, colours;
    double price_x, price_y; /* of a joint between columns, between rows */
    float opponent[NONE + 1][3];
    double value[NONE + 1][3]; /* the same */
    double term[TERMS][NONE + 1];
    double overlap[RUN_MOST][RUN_MOST][6]; /* see retina_overlap */
    double duty[NONE + 1];                 /* price on a scarce colour */
    bool barred[NONE + 1];                 /* limit 0, or not offered */
    long kept[NONE + 1];                   /* cells of each colour that are kept */
    Close *close;                          /* by cell */
    double *self;                          /* by cell, 6 each */
    int *self_at;                          /* the weighing that self belongs to */
    float *slope;                          /* by cell, 3 each, as learnt last: for guesses only */
    int *touched;                          /* by block: the last sweep with a change nearby */
    int blocks_across;
    int tile, tiles_across, tiles_up;
    TileWork *tiles;
    int phase, sweep, weighing;
    bool everywhere; /* this sweep passes nothing over */
    long *quota;     /* by tile and colour, of this phase; NULL: no limits hold yet */
    float *scratch;  /* for each worker */
    size_t scratch_size;
} SearchState;

/* All cells without a colour, but for those that are kept, at the first weighing, by rough
 * samples. detail is the weight of what is seen close by. search_state_clear also after a fault. */
Status search_state_init(SearchState *state, const Image *target, const Palette *palette,
                         Grid *grid, const Viewpoint *viewpoint, double detail, int threads,
                         Fault *fault);
void search_state_clear(SearchState *state);

/* From now on by fine samples, where they differ. Weighed at the
 * target itself, as search_state_init does. */
Status search_state_look_closer(SearchState *state, const Image *target, Fault *fault);

/* The objective from scratch, by the weights in force. */
double search_state_objective(SearchState *state);

/* Linearises what reaches the eye at the face as it is now; the objective after that. */
double search_state_weigh(SearchState *state);

/* The part of the objective that does not reach the eye: joints, duties, what is seen
 * close by. */
double search_state_rest(const SearchState *state);

/* Joints that cost bricks: in a wall those along its courses. */
double search_state_joints(const SearchState *state);

void search_state_count(const SearchState *state, long count_out[NONE + 1]);

/* The most cells of a colour, with those that are kept. */
long search_state_limit(const SearchState *state, int colour);

/* Whether a cell keeps its colour. */
static inline bool search_state_keeps(const SearchState *state, size_t at)
{
    return state->keep.cell && state->keep.cell[at];
}

/* One cell and how what reaches the eye depends on it. */
typedef struct Cell {
    int column, row;
    size_t at;
    Spot spot; /* may point into scratch */
    double slope[3];
    const double *self;
} Cell;

Cell search_state_cell(SearchState *state, int column, int row, float *scratch);

/* The cost of each colour in the cell, but for a constant; joints apart. `now` is what it
 * shows. */
void search_state_costs(const SearchState *state, const Cell *cell, const double now[3],
                        double cost_out[NONE + 1]);

/* What is seen close by, of a colour in a cell. */
double search_state_close(const SearchState *state, size_t at, int colour);

/* The neighbours' cells and the prices of the joints with them. */
typedef struct Near {
    int count;
    size_t at[4];
    double price[4];
} Near;

Near search_state_near(const SearchState *state, int column, int row);

/* The blocks within reach of a change will be looked at again. */
void search_state_touch(SearchState *state, int column, int row);

static inline void times(const double m[6], const double v[3], double out[3])
{
    out[0] = m[0] * v[0] + m[1] * v[1] + m[2] * v[2];
    out[1] = m[1] * v[0] + m[3] * v[1] + m[4] * v[2];
    out[2] = m[2] * v[0] + m[4] * v[1] + m[5] * v[2];
}

static inline double dot(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

#endif
