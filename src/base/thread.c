/* Idea. What runs in a thread may go as deep as in the program's first, and keep as much on its
 * stack. Where nothing is said a thread has 8 MiB as a rule with the GNU C library, 512 KiB on
 * macOS and 128 KiB with musl, which the laying of a wall runs over. So it is said. Pages of a
 * stack that are not used take no memory.
 *
 * Source. pthread_attr_setstacksize of POSIX.1-2017; the sizes elsewhere are from memory, but
 * musl's, which was met. */
#include "base/thread.h"

#include <stddef.h>

static const size_t stack_bytes = (size_t)8 << 20;

int thread_begin(pthread_t *thread, void *run(void *), void *context)
{
    pthread_attr_t with;
    int why = pthread_attr_init(&with);
    if (why) return why;
    why = pthread_attr_setstacksize(&with, stack_bytes);
    if (!why) why = pthread_create(thread, &with, run, context);
    pthread_attr_destroy(&with);
    return why;
}
