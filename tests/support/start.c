/* Start PROGRAM ARGUMENTS...: runs the program as if it were started, by having kept.c split off
 * one that is loaded already: most of what a short run takes is the loading of libraries. A signal
 * that ends this one ends the run. Where nothing is kept ready, or the surroundings are of those
 * that count while a program is loaded, it is started as ever. */
#include "support/start.h"

#include <fcntl.h>
#include <signal.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

extern char **environ;

static int kept = -1;

/* What the loader, the C library's memory and the sanitizers read before main does. */
static bool counts_while_loaded(const char *variable)
{
    static const char *const begins[] = {"LD_", "MALLOC_", "GLIBC_TUNABLES", "GCOV_"};
    for (size_t i = 0; i < sizeof begins / sizeof *begins; i++)
        if (!strncmp(variable, begins[i], strlen(begins[i]))) return true;
    return false;
}

static bool reach(const char *path)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    if (!path || strlen(path) >= sizeof address.sun_path) return false;
    strcpy(address.sun_path, path);
    kept = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    return kept >= 0 && !connect(kept, (const struct sockaddr *)&address, sizeof address);
}

static size_t count(char **list, int *count_out)
{
    size_t size = 0;
    for (*count_out = 0; *list; list++, ++*count_out) size += strlen(*list) + 1;
    return size;
}

static bool put_all(const char *bytes, size_t size)
{
    for (ssize_t put; size > 0; bytes += put, size -= (size_t)put)
        if ((put = send(kept, bytes, size, MSG_NOSIGNAL)) <= 0) return false;
    return true;
}

static char *join(char *to, char **list)
{
    for (; *list; list++) to = stpcpy(to, *list) + 1;
    return to;
}

static bool put_texts(char **arguments, size_t size)
{
    char *texts = malloc(size);
    if (texts) join(join(texts, arguments), environ);
    return texts && put_all(texts, size);
}

static Start found(char **arguments)
{
    Start start = {.group = getpgrp(), .mask = umask(0)};
    umask(start.mask);
    for (int n = 1; n < 32; n++) {
        struct sigaction action;
        if (!sigaction(n, NULL, &action) && action.sa_handler == SIG_IGN)
            start.ignored |= (uint64_t)1 << n;
    }
    for (int i = 0; i < RLIM_NLIMITS; i++) getrlimit((__rlimit_resource_t)i, &start.limit[i]);
    start.size = count(arguments, &start.arguments);
    start.size += count(environ, &start.variables);
    return start;
}

/* The head goes with the files, which the other side then has too. */
static bool put_head(Start start)
{
    union {
        struct cmsghdr head;
        char room[CMSG_SPACE(sizeof(int) * START_FILES)];
    } control = {0};
    struct iovec part = {&start, sizeof start};
    struct msghdr message = {.msg_iov = &part,
                             .msg_iovlen = 1,
                             .msg_control = &control,
                             .msg_controllen = sizeof control};
    int file[START_FILES] = {0, 1, 2, open(".", O_PATH | O_DIRECTORY | O_CLOEXEC)};
    control.head = (struct cmsghdr){
        .cmsg_level = SOL_SOCKET, .cmsg_type = SCM_RIGHTS, .cmsg_len = CMSG_LEN(sizeof file)};
    memcpy(CMSG_DATA(&control.head), file, sizeof file);
    return sendmsg(kept, &message, MSG_NOSIGNAL) == (ssize_t)sizeof start;
}

static void pass_on(int number)
{
    const int sent = number;
    if (write(kept, &sent, sizeof sent) < 0) _exit(128 + number);
}

static int wait_for_it(uint64_t ignored)
{
    static const int passed[] = {SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGUSR1, SIGUSR2};
    const struct sigaction action = {.sa_handler = pass_on, .sa_flags = SA_RESTART};
    for (size_t i = 0; i < sizeof passed / sizeof *passed; i++)
        if (!(ignored >> passed[i] & 1)) sigaction(passed[i], &action, NULL);
    int code;
    return recv(kept, &code, sizeof code, MSG_WAITALL) == (ssize_t)sizeof code ? code : -1;
}

int main(int argc, char **argv)
{
    if (argc < 2) return 64;
    bool plain = false;
    for (char **variable = environ; *variable; variable++) plain |= counts_while_loaded(*variable);
    for (int stream = 0; stream < START_STREAMS; stream++) plain |= fcntl(stream, F_GETFD) < 0;
    const Start start = found(argv + 1);
    if (plain || !reach(getenv("ROWLOCK_KEPT")) || !put_head(start)) {
        execv(argv[1], argv + 1);
        return 127;
    }
    const int code = put_texts(argv + 1, start.size) ? wait_for_it(start.ignored) : -1;
    if (code <= 128) return code < 0 ? 126 : code; /* 126: what is kept has gone */
    signal(code - 128, SIG_DFL);
    raise(code - 128);
    return code;
}
