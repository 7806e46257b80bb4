/* Time as benches take it: wall time, by medians, of calls and of whole processes. */
#ifndef ROWLOCK_TESTS_TIMING_H
#define ROWLOCK_TESTS_TIMING_H

#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static inline double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

/* Wall seconds and peak memory of one run of a shell line's program. */
static inline double timed(char *const argument[], long *peak_kib)
{
    const double start = now();
    fflush(stdout);
    const pid_t child = fork();
    if (child == 0) {
        if (!freopen("/dev/null", "w", stdout) || !freopen("/dev/null", "w", stderr)) _exit(74);
        execvp(argument[0], argument);
        _exit(69);
    }
    int code;
    struct rusage use;
    wait4(child, &code, 0, &use);
    if (!WIFEXITED(code) || WEXITSTATUS(code)) {
        fprintf(stderr, "%s failed\n", argument[0]);
        exit(70);
    }
    if (peak_kib) *peak_kib = use.ru_maxrss;
    return now() - start;
}

static inline int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

static inline double median(double *value, int count)
{
    qsort(value, (size_t)count, sizeof *value, by_value);
    return value[count / 2];
}

#endif
