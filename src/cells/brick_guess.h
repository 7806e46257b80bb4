/* Brick guess: what a face will take in bricks, guessed from its colours before it is laid.
 *
 * In a plaque bricks are decided where four cells meet: a corner of a field there, or three fields,
 * is half a brick, four fields are a whole one. In a wall, whose bricks are a course high, every
 * joint along a course ends one. Each counts as the thrift of the cells round it weighs it, so
 * that a region of little thrift takes none from the others. */
#ifndef ROWLOCK_CELLS_BRICK_GUESS_H
#define ROWLOCK_CELLS_BRICK_GUESS_H

#include "model/grid.h"

#include <stdbool.h>
#include <stdint.h>

/* A cell that has no colour yet counts as showing the target itself, and takes no bricks. */
enum { NO_COLOUR = 255, COLOUR_SLOTS = NO_COLOUR + 1 };

enum { GROUP_MOST = 6 }; /* cells that change together, in a row */

typedef struct BrickGuess {
    const Grid *grid;
    const float *thrift; /* by cell; NULL: 1 everywhere */
    bool wall;
    double price; /* of a joint of a wall; of half a brick of a plaque; 0: nothing is priced */
} BrickGuess;

/* Bricks that one of what is priced stands for, in the mean. */
double brick_guess_unit(const BrickGuess *guess);

/* Of the whole face, unpriced: joints of a wall, half bricks of a plaque. */
double brick_guess_count(const BrickGuess *guess);

/* Adds what each colour would cost in a cell, but for a constant. */
void brick_guess_add_costs(const BrickGuess *guess, int column, int row, double cost[COLOUR_SLOTS]);

/* A rectangle of cells. */
typedef struct CellBox {
    int column, row, columns, rows;
} CellBox;

/* Priced, of all places that the cells have a part in, by the colours that they have. */
double brick_guess_around(const BrickGuess *guess, const CellBox *cells);

/* The places on the sides of a run of cells, or of a square of four, that are of one colour. */
typedef struct BrickRing {
    const BrickGuess *guess;
    int count;
    struct {
        int colour[4]; /* below 0: that of the cells themselves */
        double weight;
    } place[2 * (GROUP_MOST + 1)];
} BrickRing;

void brick_ring_init(BrickRing *ring_out, const BrickGuess *guess, const CellBox *cells);

/* Priced, were the cells of this colour. */
double brick_ring_cost(const BrickRing *ring, int colour);

#endif
