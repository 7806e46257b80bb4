/* The command: options in, a plan or a check out. It has nothing but what src/rowlock.h shows;
 * notes and progress come through a voice and go to standard error, promises that are broken to
 * standard output, and a signal is a wish to stop that the library hears of when it asks.
 *
 * Source: exit codes, sysexits(3). */
#include "command/completion.h"
#include "command/help.h"
#include "command/manual.h"
#include "command/options.h"
#include "command/version.h"
#include "rowlock.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static volatile sig_atomic_t stop_asked;

static void ask_to_stop(int signal_number)
{
    (void)signal_number;
    stop_asked = 1;
}

static void listen_for_stop(void)
{
    struct sigaction action = {.sa_handler = ask_to_stop};
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
    sigaction(SIGHUP, &action, NULL);
    signal(SIGPIPE, SIG_IGN);
}

/* A stream that came closed would be the next file opened, and messages would go into
 * it; for reading only, so that writing to it still fails. */
static void keep_streams_apart(void)
{
    for (int stream = STDIN_FILENO; stream <= STDERR_FILENO; stream++)
        if (fcntl(stream, F_GETFD) < 0) open("/dev/null", O_RDONLY);
}

/* ---- the voice: notes for all, progress on a terminal ---- */

typedef struct Speaker {
    bool terminal, erases; /* erases: a line may be taken back by a control sequence */
    bool line_open;
    char stage[32];
    int percent;
} Speaker;

/* Whoever sets NO_COLOR wants no control sequences, though this one has no colour.
 *
 * Source: terminfo(5) for the terminal "dumb"; NO_COLOR, where set and not empty, by the informal
 * standard of that name. */
static bool can_erase(void)
{
    const char *terminal = getenv("TERM"), *plain = getenv("NO_COLOR");
    return terminal && *terminal && strcmp(terminal, "dumb") && !(plain && *plain);
}

static void clear_line(Speaker *s)
{
    if (s->line_open) fputs("\r\033[K", stderr);
    s->line_open = false;
}

static void say_note(void *self, const char *text)
{
    clear_line(self);
    fprintf(stderr, "rowlock: note: %s\n", text);
}

static void say_progress(void *self, const char *stage, double done)
{
    Speaker *s = self;
    const int percent = (int)(done * 100);
    const bool begun = !strcmp(s->stage, stage);
    if (!s->terminal || (begun && (!s->erases || s->percent == percent))) return;
    s->percent = percent;
    snprintf(s->stage, sizeof s->stage, "%s", stage);
    if (s->erases)
        fprintf(stderr, "\r\033[K%s %d %%", stage, percent);
    else
        fprintf(stderr, "%s\n", stage);
    s->line_open = s->erases;
}

static bool say_stopped(void *self)
{
    (void)self;
    return stop_asked;
}

static void print_line(void *self, const char *line)
{
    (void)self;
    printf("%s\n", line);
}

static bool is_quiet(const RowlockJob *job)
{
    char text[ROWLOCK_SETTING_TEXT];
    return !rowlock_job_show(job, "quiet", text, NULL) && !strcmp(text, "yes");
}

/* --built bench is what the bench of the folder has as laid. */
static RowlockStatus ask_bench(const Options *o, RowlockFault *fault)
{
    char built[ROWLOCK_SETTING_TEXT], path[BENCH_PATH];
    RowlockStatus status = rowlock_job_show(o->job, "built", built, fault);
    if (status || strcmp(built, "bench") != 0) return status;
    status = bench_tell_laid(o->folder, path, fault);
    return status ? status : rowlock_job_set(o->job, "built", path, "--built", fault);
}

static RowlockStatus run_command(const Options *o, Speaker *speaker, RowlockFault *fault)
{
    const bool quiet = is_quiet(o->job);
    const RowlockVoice voice = {.self = speaker,
                                .note = quiet ? NULL : say_note,
                                .progress = quiet ? NULL : say_progress,
                                .broken = print_line,
                                .stopped = say_stopped};
    RowlockStatus status = ROWLOCK_OK;
    switch (o->command) {
    case COMMAND_PLAN:
        status = rowlock_plan(o->job, &voice, fault);
        break;
    case COMMAND_COMPARE:
        status = rowlock_compare(o->job, o->choices, o->choice_kinds, &voice, fault);
        break;
    case COMMAND_PICK:
        status = rowlock_pick(o->job, o->reference, o->references, &voice, fault);
        break;
    case COMMAND_MEASURE:
        status = rowlock_measure(o->job, o->reference, o->references, &voice, fault);
        break;
    case COMMAND_REPLAN:
        status = ask_bench(o, fault);
        if (!status) status = rowlock_replan(o->job, o->folder, &voice, fault);
        break;
    case COMMAND_CHECK:
        status = rowlock_check(o->folder, &voice, fault);
        break;
    case COMMAND_INSPECT:
        status = rowlock_inspect(o->job, &o->inspection, &voice, fault);
        break;
    case COMMAND_EXHIBITION:
        status = rowlock_exhibition(o->job, o->folder, &voice, fault);
        break;
    case COMMAND_DESK:
        status = desk_run(&o->desk, &voice, fault);
        break;
    case COMMAND_BENCH:
        status = bench_run(&o->bench, &voice, fault);
        break;
    case COMMAND_NONE:
    case COMMANDS:
        break;
    }
    clear_line(speaker);
    return status;
}

static RowlockStatus tell_manual(const char *page, RowlockFault *fault)
{
    const bool formats = !strcmp(page, "formats");
    if (*page && !formats)
        snprintf(fault->text, sizeof fault->text,
                 "--manual: '%.40s' is no page; say --manual or --manual=formats", page);
    else if (formats ? manual_formats(stdout) : manual_print(stdout))
        return ROWLOCK_OK;
    else
        snprintf(fault->text, sizeof fault->text, "--manual: no memory; close other programs");
    return fault->status = *page && !formats ? ROWLOCK_USAGE : ROWLOCK_NO_RESOURCE;
}

static RowlockStatus tell(const Options *o, RowlockFault *fault)
{
    if (o->completion) return completion_script(o->completion, stdout, fault);
    if (o->version)
        version_print(stdout);
    else if (o->manual)
        return tell_manual(o->manual, fault);
    else
        help_print(o->command, stdout);
    return ROWLOCK_OK;
}

/* What the scripts of completion ask; no option, since whatever follows is the user's line. */
static bool is_completion(int argc, char **argv)
{
    return argc > 1 && !strcmp(argv[1], "--complete");
}

int main(int argc, char **argv)
{
    static Options options;
    listen_for_stop(); /* before anything else is done, also before a job file is waited for */
    keep_streams_apart();
    RowlockFault fault = {0};
    if (is_completion(argc, argv)) return completion_offer(argv + 2, argc - 2, stdout), 0;
    RowlockStatus status = options_read(&options, argc, argv, &fault);
    if (!status && options_tell(&options)) {
        status = tell(&options, &fault);
    } else if (!status) {
        Speaker speaker = {
            .terminal = isatty(STDERR_FILENO) == 1, .erases = can_erase(), .percent = -1};
        status = run_command(&options, &speaker, &fault);
    }
    if (status && *fault.text) fprintf(stderr, "rowlock: %s\n", fault.text);
    if (fflush(stdout) || ferror(stdout)) {
        if (!status)
            fprintf(stderr, "rowlock: standard output: cannot be written; free some space\n");
        if (!status) status = ROWLOCK_IO;
    }
    options_clear(&options);
    return (int)status;
}
