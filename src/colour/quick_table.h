/* Quick table: the one term of CIEDE2000 that needs an angle, read where it is asked for often. */
#ifndef ROWLOCK_COLOUR_QUICK_TABLE_H
#define ROWLOCK_COLOUR_QUICK_TABLE_H

enum { QUICK_TURNS = 1024 };

typedef struct Quick {
    /* sin(2 dtheta) of (16) and (21) for hues from 180 to 360, by x / (|x| + |y|). */
    float turn[QUICK_TURNS + 2];
} Quick;

void quick_init(Quick *quick);

#endif
