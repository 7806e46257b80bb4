/* Ascending: numbers in their order, from which medians and quantiles are taken. */
#ifndef ROWLOCK_BASE_ASCENDING_H
#define ROWLOCK_BASE_ASCENDING_H

#include <stddef.h>

/* Sorts `count` numbers, none of them NAN, the least first. */
void sort_ascending(double *value, size_t count);

#endif
