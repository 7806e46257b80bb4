/* Kept: preloaded into the program, which then does not begin but stays as it is just before main,
 * all libraries loaded and bound, and splits off a process for each run that start.c asks of it at
 * the socket ROWLOCK_KEPT. That one takes over the files, folder, limits, signals, arguments and
 * environment that it would have been started with, and enters main. So a run is the program's own;
 * what it shares with other runs is where in memory the libraries lie. It lives as long as the test
 * runner that started it. */
#include "support/start.h"

#include <dlfcn.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/random.h>
#include <sys/signalfd.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

typedef int Main(int, char **, char **);
typedef int Begin(Main *, int, char **, void (*)(void), void (*)(void), void (*)(void), void *);

enum { RUNS_MOST = 256, FIXED = 2, FILES_MOST = RUNS_MOST + 32 };

void *kept_gap; /* what nothing is in */
static Main *program;
static pid_t run[RUNS_MOST];
static struct pollfd event[FIXED + RUNS_MOST]; /* who asks, whose run ended, then a run each */
static nfds_t events = FIXED;

static bool get_head(int asker, Start *start, int file[START_FILES])
{
    union {
        struct cmsghdr head;
        char room[CMSG_SPACE(sizeof(int) * START_FILES)];
    } control;
    struct iovec part = {start, sizeof *start};
    struct msghdr message = {.msg_iov = &part,
                             .msg_iovlen = 1,
                             .msg_control = &control,
                             .msg_controllen = sizeof control};
    if (recvmsg(asker, &message, MSG_CMSG_CLOEXEC) != (ssize_t)sizeof *start ||
        !message.msg_controllen)
        return false;
    memcpy(file, CMSG_DATA(&control.head), sizeof(int) * START_FILES);
    return true;
}

/* As it would be found by a program that is started. */
static void move_in(const Start *start, const int file[START_FILES])
{
    sigset_t none;
    sigemptyset(&none);
    for (int n = 1; n < 32; n++) signal(n, start->ignored >> n & 1 ? SIG_IGN : SIG_DFL);
    for (int stream = 0; stream < START_STREAMS; stream++)
        if (dup2(file[stream], stream) < 0) _exit(126);
    if (fchdir(file[START_STREAMS])) _exit(126);
    for (int other = START_STREAMS; other < FILES_MOST; other++) close(other);
    umask(start->mask);
    for (int i = 0; i < RLIM_NLIMITS; i++) setrlimit((__rlimit_resource_t)i, &start->limit[i]);
    sigprocmask(SIG_SETMASK, &none, NULL);
}

/* No two runs that are started have their memory at the same place, so what hung on that would be
 * seen. */
static void shift_memory(void)
{
    uint16_t by[2];
    if (getrandom(by, sizeof by, 0) != (ssize_t)sizeof by) _exit(126);
    kept_gap = malloc(by[0]);
    mmap(NULL, by[1] % 256u * 4096 + 1, PROT_NONE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
}

static char *list(char *text, char **to, int count)
{
    for (int i = 0; i < count; i++, text += strlen(text) + 1) to[i] = text;
    return text;
}

static _Noreturn void enter(const Start *start, const int file[START_FILES], char *text)
{
    char **given = calloc((size_t)(start->arguments + start->variables) + 2, sizeof *given);
    if (!given) _exit(126);
    char **variables = given + start->arguments + 1;
    list(list(text, given, start->arguments), variables, start->variables);
    environ = variables;
    move_in(start, file);
    shift_memory();
    const int code = program(start->arguments, given, variables);
    fflush(NULL);
    _exit(code); /* what fifty libraries do at the end costs as much as all else that is left */
}

static void split_off(int asker)
{
    Start start;
    int file[START_FILES];
    if (asker < 0) return;
    if (events == FIXED + RUNS_MOST || !get_head(asker, &start, file)) {
        close(asker);
        return;
    }
    char *text = malloc(start.size);
    const bool got = text && recv(asker, text, start.size, MSG_WAITALL) == (ssize_t)start.size;
    const pid_t child = got ? fork() : -1;
    if (!child) {
        setpgid(0, start.group); /* with which the runner ends it */
        enter(&start, file, text);
    }
    free(text);
    for (int i = 0; i < START_FILES; i++) close(file[i]);
    if (child < 0) {
        close(asker);
        return;
    }
    run[events - FIXED] = child;
    event[events++] = (struct pollfd){.fd = asker, .events = POLLIN};
}

static void tell_ended(void)
{
    struct signalfd_siginfo which;
    int status;
    if (read(event[1].fd, &which, sizeof which) < 0) return;
    for (pid_t ended; (ended = waitpid(-1, &status, WNOHANG)) > 0;)
        for (nfds_t i = FIXED; i < events; i++)
            if (run[i - FIXED] == ended) {
                const int code = WIFSIGNALED(status) ? 128 + WTERMSIG(status) : WEXITSTATUS(status);
                if (event[i].fd >= 0) send(event[i].fd, &code, sizeof code, MSG_NOSIGNAL);
                if (event[i].fd >= 0) close(event[i].fd);
                run[i - FIXED] = run[--events - FIXED];
                event[i] = event[events];
                break;
            }
}

/* A number is a signal to pass on; nothing more to read is one that was killed. */
static void pass_signal(nfds_t i)
{
    int number;
    const bool any = recv(event[i].fd, &number, sizeof number, MSG_WAITALL) == sizeof number;
    kill(run[i - FIXED], any ? number : SIGKILL);
    if (any) return;
    close(event[i].fd);
    event[i].fd = -1; /* which poll leaves out */
}

static int serve(int argc, char **argv, char **variables)
{
    const char *path = getenv("ROWLOCK_KEPT");
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    sigset_t child;
    sigemptyset(&child);
    sigaddset(&child, SIGCHLD);
    if (!path || strlen(path) >= sizeof address.sun_path) return program(argc, argv, variables);
    strcpy(address.sun_path, path);
    sigprocmask(SIG_BLOCK, &child, NULL);
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    event[0] = (struct pollfd){.fd = socket(AF_UNIX, SOCK_STREAM, 0), .events = POLLIN};
    event[1] = (struct pollfd){.fd = signalfd(-1, &child, 0), .events = POLLIN};
    if (bind(event[0].fd, (const struct sockaddr *)&address, sizeof address) ||
        listen(event[0].fd, RUNS_MOST))
        return 1;
    while (poll(event, events, -1) >= 0) {
        for (nfds_t i = events; i-- > FIXED;)
            if (event[i].revents) pass_signal(i);
        if (event[1].revents) tell_ended();
        if (event[0].revents) split_off(accept(event[0].fd, NULL, NULL));
    }
    return 1;
}

/* What every program calls first; the C library's own is next in line. */
int __libc_start_main(Main *main, int argc, char **argv, void (*init)(void), void (*fini)(void),
                      void (*unloaded)(void), void *stack)
{
    union {
        void *pointer;
        Begin *function;
    } next = {dlsym(RTLD_NEXT, "__libc_start_main")};
    program = main;
    return next.function(serve, argc, argv, init, fini, unloaded, stack);
}
