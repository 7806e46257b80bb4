/* One comparison for all that sorts numbers: a difference of doubles is no int. */
#include "base/ascending.h"

#include <stdlib.h>

static int by_size(const void *one, const void *other)
{
    const double a = *(const double *)one, b = *(const double *)other;
    return (a > b) - (a < b);
}

void sort_ascending(double *value, size_t count) { qsort(value, count, sizeof *value, by_size); }
