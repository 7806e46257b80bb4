/* Linux has a niceness for each thread, and those that it starts are as it is; elsewhere nothing is
 * asked for. */
#include "serve/give_way.h"

#ifdef __linux__
#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>
#endif

void give_way(void)
{
#ifdef __linux__
    enum { NICENESS = 5 }; /* a third of the others' weight (335 to 1024, from memory) */
    setpriority(PRIO_PROCESS, (id_t)syscall(SYS_gettid), NICENESS);
#endif
}
