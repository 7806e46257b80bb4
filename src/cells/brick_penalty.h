/* Brick penalty: what bricks cost while colours are searched for and the bricks are only guessed at
 * (brick_guess.h).
 *
 * Two things set the price: what the user's thrift asks for at the least, and how many it allows.
 * Pictures differ: where the plain nearest colour makes large even fields, mixing makes bricks at
 * any price, so they are held to a multiple of what the nearest colours take: at thrift 1 about six
 * tenths, more the less thrift. */
#ifndef ROWLOCK_CELLS_BRICK_PENALTY_H
#define ROWLOCK_CELLS_BRICK_PENALTY_H

#include "cells/search_state.h"

typedef struct BrickPenalty {
    double least;   /* price, of what brick_guess_count counts */
    double allowed; /* of that; INFINITY: any number */
} BrickPenalty;

/* thrift from 0 to 1; nearest has the problem's nearest colours. */
BrickPenalty brick_penalty_of(double thrift, const SearchProblem *problem, const Grid *nearest);

/* Puts the least price on a state. */
void brick_penalty_begin(const BrickPenalty *penalty, SearchState *state);

/* Moves the price toward where the bricks come out as allowed, never below the least;
 * state->objective follows. */
void brick_penalty_adjust(const BrickPenalty *penalty, SearchState *state);

/* How good an initial face is, from its objective: bricks count at a share of the least price,
 * and those beyond the allowed at the least price besides. */
double brick_penalty_score(const BrickPenalty *penalty, const SearchState *state);

#endif
