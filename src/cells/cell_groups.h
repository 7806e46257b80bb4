/* Cell groups: cells of one colour, in a rectangle, that take another colour together. */
#ifndef ROWLOCK_CELLS_CELL_GROUPS_H
#define ROWLOCK_CELLS_CELL_GROUPS_H

#include "cells/search_state.h"

/* At most RUN_MOST cells either way. */
typedef struct CellGroup {
    int column, row, columns, rows, was;
} CellGroup;

bool cell_group_holds(const CellGroup *group, size_t at, int columns);

/* What reaches the eye more, as estimated from the slopes learnt last, were the group of
 * the colour `to`. */
double cell_group_estimate(const SearchState *state, const CellGroup *group, int to);

/* Learns the slopes of its cells anew. */
void cell_group_learn(SearchState *state, const CellGroup *group, float *scratch);

/* What is seen close by more, and duties. */
double cell_group_rest(const SearchState *state, const CellGroup *group, int to);

/* Takes the colour if what reaches the eye and `rest` come to less than they were, and
 * returns by how much; else 0, and nothing is changed. */
double cell_group_take(SearchState *state, const CellGroup *group, int to, double rest,
                       float *scratch);

#endif
