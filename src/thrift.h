/* Thrift: what a joint costs while colours are searched for.
 *
 * Two things set the price: what the user's thrift asks for at the least, and how many
 * joints it allows. Pictures differ: where the plain nearest colour makes large even fields,
 * mixing makes bricks at any price, so joints are held to a share of what the nearest
 * colour has: as many at 0.5, a quarter at 1, four times at 0.25. */
#ifndef ROWLOCK_THRIFT_H
#define ROWLOCK_THRIFT_H

#include "board.h"

typedef struct Thrift {
    double least_x, least_y; /* of a joint between columns, between rows */
    double allowed;          /* joints; INFINITY: any number */
} Thrift;

/* thrift from 0 to 1; nearest has the plain nearest colours. */
Thrift thrift_of(double thrift, Build build, const Viewpoint *viewpoint, const Grid *nearest);

/* Puts the least prices on a board. */
void thrift_begin(const Thrift *thrift, Board *board);

/* Moves the prices toward where the joints come out as allowed, never below the least;
 * *objective follows. */
void thrift_adjust(const Thrift *thrift, Board *board, double *objective);

/* How good a start is: the objective, with joints at a share of the least prices and those
 * beyond the allowed at the least prices besides. */
double thrift_score(const Thrift *thrift, const Board *board, double objective);

#endif
