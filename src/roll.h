/* Roll: names and the numbers that they were entered with, found at once. Names are
 * borrowed and must outlive the roll. */
#ifndef ROWLOCK_ROLL_H
#define ROWLOCK_ROLL_H

#include "status.h"

#include <stddef.h>
#include <stdint.h>

typedef struct Roll {
    size_t slots; /* a power of two, more than twice the names */
    const char **name;
    uint32_t *number;
} Roll;

/* Room for `most` names. */
Status roll_init(Roll *roll, size_t most, Fault *fault);
void roll_clear(Roll *roll);

/* -1 where the name is new (it is entered now), else the number that it has. */
long roll_enter(Roll *roll, const char *name, uint32_t number);
/* The name's number, or -1. */
long roll_find(const Roll *roll, const char *name);

#endif
