/* Joint penalty: what a joint costs while colours are searched for.
 *
 * Two things set the price: what the user's thrift asks for at the least, and how many
 * joints it allows. Pictures differ: where the plain nearest colour makes large even fields,
 * mixing makes bricks at any price, so joints are held to a multiple of what the nearest
 * colours have: at thrift 1 about six tenths, more the less a joint costs. */
#ifndef ROWLOCK_CELLS_JOINT_PENALTY_H
#define ROWLOCK_CELLS_JOINT_PENALTY_H

#include "cells/search_state.h"

typedef struct JointPenalty {
    double least_x, least_y; /* of a joint between columns, between rows */
    double allowed;          /* joints, each times the thrift of its cells; INFINITY: any number */
} JointPenalty;

/* thrift from 0 to 1; nearest has the problem's nearest colours. */
JointPenalty joint_penalty_of(double thrift, const SearchProblem *problem, const Grid *nearest);

/* Puts the least prices on a state. */
void joint_penalty_begin(const JointPenalty *penalty, SearchState *state);

/* Moves the prices toward where the joints come out as allowed, never below the least;
 * state->objective follows. */
void joint_penalty_adjust(const JointPenalty *penalty, SearchState *state);

/* How good an initial face is, from its objective: joints count at a share of the least prices,
 * and those beyond the allowed at the least prices besides. */
double joint_penalty_score(const JointPenalty *penalty, const SearchState *state);

#endif
