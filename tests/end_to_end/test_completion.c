/* Completion, by the shells themselves: a line is typed on a terminal, with a tab where somebody
 * would press it, and the program is then run with what became of it. Where a shell is not there
 * its test is skipped, and says so.
 *
 * Sources: bash(1), zshcompsys(1), complete(1) of fish. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "support/command.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <time.h>

/* In the room: fish finds the words that it would else make of all manual pages; bin/rowlock asks
 * the program where it is asked to complete, and else writes its words into the file `words`; files
 * and folders for names. */
static int setup(void **state)
{
    if (command_setup(state)) return -1;
    const int code =
        shell("mkdir -p bin walls fish/generated_completions && touch 'har bour.png' wallet.txt && "
              "printf 'id,name,hex\\nA1,ash,#808080\\nB2,brick,#883322\\nB3,bone,#eeeedd\\n' > "
              "ids.csv && "
              "printf '#!/bin/sh\\n[ \"$1\" != --complete ] || exec %s \"$@\"\\n"
              "printf \"[%%%%s]\" \"$@\" > part && mv part words\\n' > bin/rowlock && chmod +x "
              "bin/rowlock",
              command_program);
    return code;
}

typedef struct Terminal {
    int side; /* ours */
    pid_t shell;
} Terminal;

/* Reads until the shell asks for a line and the file is there, without which a prompt may be one
 * that is only drawn anew. False: it took more than 20 seconds. */
static bool is_asked(const Terminal *t, const char *file)
{
    char seen[1 << 16];
    struct pollfd here = {.fd = t->side, .events = POLLIN};
    const time_t latest = time(NULL) + 20;
    while (time(NULL) <= latest && poll(&here, 1, 20000) == 1) {
        const ssize_t got = read(t->side, seen, sizeof seen - 1);
        if (got <= 0) break;
        seen[got] = 0;
        if (strstr(seen, "ready>") && !access(in_room(file), F_OK)) return true;
    }
    return false;
}

static void begin(Terminal *t, const char *command)
{
    t->side = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(t->side >= 0 && !grantpt(t->side) && !unlockpt(t->side));
    assert_int_equal(fcntl(t->side, F_SETFD, FD_CLOEXEC), 0);
    const struct winsize size = {.ws_row = 50, .ws_col = 200};
    assert_int_equal(ioctl(t->side, TIOCSWINSZ, &size), 0);
    const char *name = ptsname(t->side);
    t->shell = fork();
    if (!t->shell) {
        setsid();
        const int other = open(name, O_RDWR); /* and so the terminal of this session */
        for (int stream = 0; stream < 3; stream++) dup2(other, stream);
        char path[PATH_MAX + 4096];
        snprintf(path, sizeof path, "%s/bin:%s", command_room, getenv("PATH"));
        setenv("PATH", path, 1);
        setenv("TERM", "dumb", 1);
        setenv("HOME", command_room, 1);
        setenv("XDG_CONFIG_HOME", command_room, 1);
        setenv("XDG_DATA_HOME", command_room, 1);
        if (chdir(command_room)) _exit(1);
        execl("/bin/sh", "sh", "-c", command, (char *)NULL);
        _exit(1);
    }
}

static void end(const Terminal *t)
{
    kill(-t->shell, SIGKILL);
    close(t->side);
    waitpid(t->shell, NULL, 0);
}

/* What is typed, and what the program is run with. */
static const struct {
    const char *typed, *words;
} lines[] = {
    {"pl\t", "[plan]"},
    {"plan --dith\tflo\t", "[plan][--dither][floyd-steinberg]"},
    {"plan --dither=flo\t", "[plan][--dither=floyd-steinberg]"},
    {"plan har\\ \t", "[plan][har bour.png]"},
    {"check wal\t", "[check][walls]"},
    {"pick --palette ids.csv --keep A1,B2,\t", "[pick][--palette][ids.csv][--keep][A1,B2,B3]"},
    {"plan --backing N1\t", "[plan][--backing][N1]"},
    {"desk --no\t", "[desk][--no-open]"},
};

static void complete_in(const char *name, const char *command)
{
    char whole[PATH_MAX + 512];
    if (shell("command -v %s", name)) {
        fprintf(stderr, "%s is not here: its completion is not tested; make setup installs it\n",
                name);
        skip();
    }
    const int terminal = posix_openpt(O_RDWR | O_NOCTTY);
    const bool can_be_had = terminal >= 0 && !grantpt(terminal) && !unlockpt(terminal) &&
                            !access(ptsname(terminal), F_OK);
    if (terminal >= 0) close(terminal);
    if (!can_be_had) {
        fprintf(stderr, "no terminal can be had here: completion in %s is not tested\n", name);
        skip();
    }
    char *build = strdup(command_program);
    *strrchr(build, '/') = 0;
    snprintf(whole, sizeof whole, command, build);
    free(build);
    Terminal t;
    begin(&t, whole);
    const bool begun = is_asked(&t, "bin");
    for (size_t i = 0; begun && i < sizeof lines / sizeof *lines; i++) {
        char line[256];
        unlink(in_room("words"));
        const int length = snprintf(line, sizeof line, "rowlock %s\r", lines[i].typed);
        assert_int_equal(write(t.side, line, (size_t)length), length);
        const bool asked = is_asked(&t, "words");
        char *words = slurp(in_room("words"), NULL), *slash = words ? strstr(words, "/]") : NULL;
        if (slash) memmove(slash, slash + 1, strlen(slash)); /* zsh leaves it out of a last word */
        if (!asked || !words || strcmp(words, lines[i].words) != 0) {
            end(&t);
            fail_msg("%s: '%s' became '%s', not '%s'", name, lines[i].typed,
                     words ? words : "nothing", lines[i].words);
        }
        free(words);
    }
    end(&t);
    assert_true(begun);
}

static void bash_completes(void **state)
{
    (void)state;
    complete_in("bash", "printf 'PS1=\"ready>\"; . %s/completion/rowlock\\n' > rc; "
                        "exec bash --rcfile rc -i");
}

static void zsh_completes(void **state)
{
    (void)state;
    complete_in("zsh", "printf 'PS1=\"ready>\"; unsetopt beep; fpath=(%s/completion $fpath); "
                       "autoload -Uz compinit; compinit -u -D\\n' > .zshrc; ZDOTDIR=. exec zsh -i");
}

static void fish_completes(void **state)
{
    (void)state;
    complete_in("fish", "exec fish --no-config -i -C 'function fish_prompt; echo -n \"ready>\"; "
                        "end; source %s/completion/rowlock.fish'");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(bash_completes),
                                       cmocka_unit_test(zsh_completes),
                                       cmocka_unit_test(fish_completes)};
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
