/* Group: cells of one colour, in a rectangle, that take another colour together. */
#ifndef ROWLOCK_GROUP_H
#define ROWLOCK_GROUP_H

#include "board.h"

/* At most RUN_MOST cells either way. */
typedef struct Group {
    int column, row, columns, rows, was;
} Group;

bool group_holds(const Group *group, size_t at, int columns);

/* What reaches the eye more, as estimated from the slopes learnt last, were the group of
 * the colour `to`. */
double group_estimate(const Board *board, const Group *group, int to);

/* Learns the slopes of its cells anew. */
void group_learn(Board *board, const Group *group, float *scratch);

/* What is seen close by more, and duties. */
double group_rest(const Board *board, const Group *group, int to);

/* Takes the colour if what reaches the eye and `rest` come to less than they were, and
 * returns by how much; else 0, and nothing is changed. */
double group_take(Board *board, const Group *group, int to, double rest, float *scratch);

#endif
