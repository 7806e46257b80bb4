/* A thread has room for deep work wherever it runs. The outside source is the system itself, which
 * ends a program that overruns a stack: the GNU C library is told to give threads as little as musl
 * gives them (its "Functional differences from glibc": 128 KiB, from memory). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/bands.h"
#include "base/thread.h"

#include <stdbool.h>

enum { LEAST = 128 << 10, DEEP = 4 << 20 };

/* Writes all of a large block on the stack, and reads its ends. */
static bool goes_deep(int value)
{
    volatile char block[DEEP];
    for (size_t i = 0; i < sizeof block; i++) block[i] = (char)value;
    return block[0] == (char)value && block[sizeof block - 1] == (char)value;
}

static void *alone(void *context)
{
    *(bool *)context = goes_deep(7);
    return NULL;
}

static void bands_of(void *context, int begin, int end, int worker)
{
    (void)worker;
    for (int i = begin; i < end; i++) ((bool *)context)[i] = goes_deep(i);
}

static void a_stack_is_as_large_as_the_first(void **state)
{
    (void)state;
    enum { ROWS = 16 };
    bool went = false, row[ROWS] = {false};
    pthread_t thread;
    assert_int_equal(thread_begin(&thread, alone, &went), 0);
    pthread_join(thread, NULL);
    assert_true(went);
    bands_run(4, ROWS, 1, bands_of, row);
    for (int i = 0; i < ROWS; i++) assert_true(row[i]);
}

/* Where the C library can be told what a thread has that says nothing. */
static int setup(void **state)
{
    (void)state;
#ifdef __GLIBC__
    pthread_attr_t least;
    return pthread_attr_init(&least) || pthread_attr_setstacksize(&least, LEAST) ||
           pthread_setattr_default_np(&least) || pthread_attr_destroy(&least);
#else
    return 0;
#endif
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_stack_is_as_large_as_the_first)};
    return cmocka_run_group_tests(tests, setup, NULL);
}
