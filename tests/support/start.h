/* Start: what start.c, which stands for the program, sends to kept.c, which has it ready: how the
 * program would find itself were it started there. Then come its arguments and its environment,
 * each ended by 0. Back come its exit code, or 128 + n for signal n, as an int. */
#ifndef ROWLOCK_TESTS_START_H
#define ROWLOCK_TESTS_START_H

#include <stddef.h>
#include <stdint.h>
#include <sys/resource.h>
#include <sys/types.h>

enum { START_STREAMS = 3, START_FILES }; /* its first three files, and the folder that it is in */

typedef struct Start {
    pid_t group;
    mode_t mask;
    uint64_t ignored; /* signal n: bit n */
    struct rlimit limit[RLIM_NLIMITS];
    int arguments, variables;
    size_t size; /* of all of them */
} Start;

#endif
