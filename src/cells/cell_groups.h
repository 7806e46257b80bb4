/* Cell groups: cells of one colour, in a rectangle, that take another colour together. */
#ifndef ROWLOCK_CELLS_CELL_GROUPS_H
#define ROWLOCK_CELLS_CELL_GROUPS_H

#include "cells/search_state.h"

/* At most GROUP_MOST cells either way. */
typedef struct CellGroup {
    int column, row;   /* of its lower left cell */
    int columns, rows; /* 1 to GROUP_MOST */
    int was;           /* the colour that all of them have */
} CellGroup;

/* Cells that a group has at most: a run, or the brick of a merge. */
enum { GROUP_CELLS = 8 };

/* What the local terms but for bricks come to around a group, ready to be asked for one colour
 * after another. */
typedef struct GroupSurround {
    double stay; /* of the colour that it has */
    int count;
    CalmPartner partner[GROUP_CELLS * CALM_PARTNERS]; /* of its cells, beyond it */
} GroupSurround;

void cell_group_surround(const SearchState *state, const CellGroup *group, GroupSurround *out);

/* What they come to more, were the group of the colour `to`. */
double cell_group_local_change(const SearchState *state, const CellGroup *group,
                               const GroupSurround *surround, int to);

/* What reaches the eye more, as estimated from the gradients learnt last, were the group of
 * the colour `to`. */
double cell_group_estimate(const SearchState *state, const CellGroup *group, int to);

/* Learns the gradients of its cells anew. */
void cell_group_learn(SearchState *state, const CellGroup *group, float *scratch);

/* Takes the colour if what reaches the eye and `local` come to less than they were, and
 * returns by how much; else 0, and nothing is changed. */
double cell_group_take(SearchState *state, const CellGroup *group, int to, double local,
                       float *scratch);

#endif
