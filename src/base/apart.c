/* fork(2) without exec: the child has all that the work reads, and no copy is made of it. The C
 * library takes the locks of its heap and its streams around fork, so that the child may use both
 * though other threads were at work (glibc, malloc/arena.c and sysdeps/nptl/fork.c).
 *
 * Words come through a pipe, each in one write that is short enough to come whole (POSIX.1-2017,
 * PIPE_BUF). The last says how the work ended; where it is missing, the child died. A child dies
 * with the thread that waits for it, so that a run that is killed leaves none that goes on writing.
 * Its messages are dropped in a release build: what a library says as it aborts would come beside
 * the one line that tells of it.
 *
 * Under AddressSanitizer the work is done in this process: the sanitizer's heap is not made for
 * fork from several threads, and leaks of the work are to be seen. */
#include "base/apart.h"

#include "base/system.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#if defined(__SANITIZE_ADDRESS__)
#define IN_THIS_PROCESS 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define IN_THIS_PROCESS 1
#endif
#endif

typedef struct Saying {
    char stage[32];
    double done;
    bool last; /* of what follows */
    Status status;
    Fault fault;
} Saying;
_Static_assert(sizeof(Saying) <= _POSIX_PIPE_BUF || sizeof(Saying) <= PIPE_BUF, "words come whole");

/* ---- the child ---- */

static void say(int pipe, const Saying *word)
{
    ssize_t put;
    do put = write(pipe, word, sizeof *word);
    while (put < 0 && errno == EINTR);
    if (put < 0) _exit(STATUS_IO); /* nobody listens any more */
}

static void tell_progress(void *self, const char *stage, double done)
{
    Saying word = {.done = done};
    snprintf(word.stage, sizeof word.stage, "%s", stage ? stage : "");
    say(*(int *)self, &word);
}

enum { FRESH_LEAST = 256 << 10 }; /* bytes; ours: a picture has more, a table of text less */

/* Dies with the parent, quietly. Blocks from FRESH_LEAST on are of pages that the parent never had:
 * those of its heap are shared, and each is copied at the first byte that is written. */
static void settle(pid_t parent)
{
    system_tune_heap(FRESH_LEAST, 0);
    system_die_with(parent);
    signal(SIGPIPE, SIG_IGN);
#ifdef NDEBUG
    const int nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
    if (nowhere >= 0) dup2(nowhere, STDERR_FILENO);
    setrlimit(RLIMIT_CORE, &(struct rlimit){0});
#endif
}

static void work_alone(int pipe, ApartWork *work, void *context)
{
    Saying word = {.last = true};
    const Voice voice = {.self = &pipe, .progress = tell_progress};
    word.status = work(context, &voice, &word.fault);
    say(pipe, &word);
    _exit(0);
}

/* ---- the parent ---- */

/* Hears words until the last; false where there is none. */
static bool hear(int pipe, pid_t child, const Voice *voice, Saying *word)
{
    enum { PATIENCE_MS = 100 };
    struct pollfd input = {.fd = pipe, .events = POLLIN};
    bool stopped = false;
    for (;;) {
        if (!stopped && voice_stopped(voice)) {
            stopped = true;
            kill(child, SIGKILL);
        }
        if (poll(&input, 1, PATIENCE_MS) <= 0) continue;
        const ssize_t got = read(pipe, word, sizeof *word);
        if (got < 0 && errno == EINTR) continue;
        if (got != (ssize_t)sizeof *word) return false;
        if (word->last) return true;
        voice_progress(voice, word->stage, word->done);
    }
}

static Status ended_badly(const char *place, int how, const Voice *voice, Fault *fault)
{
    if (voice_stopped(voice))
        return fault_set(fault, STATUS_INTERRUPTED,
                         "%s: stopped from outside, nothing was changed; run it again", place);
    if (WIFSIGNALED(how))
        return fault_set(fault, STATUS_NO_RESOURCE,
                         "%s: its writing was ended (%s), as where memory runs out; free memory, "
                         "or plan a smaller mural",
                         place, strsignal(WTERMSIG(how)));
    return fault_set(fault, STATUS_INTERNAL,
                     "%s: its writing ended without a word; please report it", place);
}

static Status listen_to(int pipe, pid_t child, const char *place, const Voice *voice, Fault *fault)
{
    Saying word;
    int how = 0;
    const bool heard = hear(pipe, child, voice, &word);
    while (waitpid(child, &how, 0) < 0 && errno == EINTR) continue;
    if (!heard) return ended_badly(place, how, voice, fault);
    if (word.status && fault) *fault = word.fault;
    return word.status;
}

static Status no_process(const char *place, Fault *fault)
{
    return fault_set(fault, STATUS_NO_RESOURCE,
                     "%s: no process can be had to write it (%s); free memory", place,
                     strerror(errno));
}

Status apart_run(const char *place, ApartWork *work, void *context, const Voice *voice,
                 Fault *fault)
{
#ifdef IN_THIS_PROCESS
    return work(context, voice, fault);
#endif
    int end[2];
    if (system_pipe(end)) return no_process(place, fault);
    const pid_t parent = getpid(), child = fork();
    if (child == 0) {
        close(end[0]);
        settle(parent);
        work_alone(end[1], work, context);
    }
    close(end[1]);
    const Status status =
        child < 0 ? no_process(place, fault) : listen_to(end[0], child, place, voice, fault);
    close(end[0]);
    return status;
}
