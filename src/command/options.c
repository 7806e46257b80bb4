/* The command line, read with getopt_long into a job. Settings are set in the order in which they
 * were given, after the job file that they win over; what several values are allowed of is kept as
 * choices too. Nothing is looked at beyond the words, but for where a job file wants to write: what
 * makes sense together is for the library. */
#include "command/options.h"

#include "base/csv.h"
#include "base/spelling.h"

#include <errno.h>
#include <getopt.h>
#include <limits.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* Letters are options of one letter; the rest is above every character, since getopt_long answers
 * with : and ? too. */
enum {
    OPTION_HELP = 'h',
    OPTION_VERSION = 'V',
    OPTION_SETTING = 256,
    OPTION_JOB = 1000,
    OPTION_MANUAL,
    OPTION_COMPLETION,
    OPTION_OWN
};

static int fill_table(struct option *table, Command command)
{
    int n = 0;
    if (!command || about[command].settings) {
        for (size_t i = 0; i < known_settings_count; i++)
            if (command_takes(command, &known_settings[i]) ||
                command_fixes(command, &known_settings[i]))
                table[n++] =
                    (struct option){known_settings[i].name,
                                    known_settings[i].type == ROWLOCK_SWITCH ? optional_argument
                                                                             : required_argument,
                                    NULL, OPTION_SETTING + (int)i};
        if (command_takes_job(command))
            table[n++] = (struct option){"job", required_argument, NULL, OPTION_JOB};
    }
    for (const OwnOption *own = about[command].own;
         own < about[command].own + OWN_MOST && own->name; own++)
        table[n++] = (struct option){own->name, own->value ? required_argument : no_argument, NULL,
                                     OPTION_OWN + (int)(own - about[command].own)};
    table[n++] = (struct option){"help", no_argument, NULL, OPTION_HELP};
    table[n++] = (struct option){"version", no_argument, NULL, OPTION_VERSION};
    table[n++] = (struct option){"manual", optional_argument, NULL, OPTION_MANUAL};
    if (!command)
        table[n++] = (struct option){"completion", required_argument, NULL, OPTION_COMPLETION};
    table[n] = (struct option){0};
    return n;
}

/* A setting as the command line gave it; applied once the job file is read. */
typedef struct Given {
    const RowlockSetting *setting;
    const char *text;
} Given;

typedef struct Line {
    Given given[256];
    int count;
    const char *job, *operand[REFERENCES_MOST];
    int operands;
} Line;

/* What is shown of a word of the command line, in bytes, so that what follows it has room. */
enum { WORD_SHOWN = 300 };

static RowlockStatus __attribute__((format(printf, 2, 3)))
bad_line(RowlockFault *fault, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(fault->text, sizeof fault->text, format, arguments);
    va_end(arguments);
    for (char *c = fault->text; *c; c++)
        if ((unsigned char)*c < 0x20 || *c == 0x7f) *c = '?';
    return fault->status = ROWLOCK_USAGE;
}

static RowlockStatus bad_use(RowlockFault *fault, const char *what, const char *which,
                             Command command)
{
    return bad_line(fault, "%.*s: %s; see 'rowlock%s%s --help'", WORD_SHOWN, which, what,
                    command ? " " : "", command ? about[command].name : "");
}

/* Whatever dashes and value there are about the option. */
static RowlockStatus bad_option(RowlockFault *fault, const char *word, const struct option *table,
                                Command command)
{
    const char *name = word + strspn(word, "-");
    Spelling spelling = spelling_of(name, strcspn(name, "="));
    for (const struct option *known = table; known->name; known++)
        spelling_offer(&spelling, known->name);
    if (!spelling.nearest) return bad_use(fault, "no such option", word, command);
    return bad_line(fault, "%.*s: no such option; did you mean --%s?", WORD_SHOWN, word,
                    spelling.nearest);
}

static RowlockStatus no_command(RowlockFault *fault)
{
    return bad_line(fault, "no command is given; see 'rowlock --help'");
}

static RowlockStatus take_port(unsigned *port_out, const char *text, RowlockFault *fault)
{
    enum { PORT_MOST = 65535 };
    const size_t digits = strspn(text, "0123456789");
    const unsigned long port =
        digits && digits < 6 && !text[digits] ? strtoul(text, NULL, 10) : PORT_MOST + 1UL;
    if (port > PORT_MOST)
        return bad_line(fault, "--port: '%.*s' is no port; give 0 to %d", WORD_SHOWN, text,
                        PORT_MOST);
    *port_out = (unsigned)port;
    return ROWLOCK_OK;
}

static RowlockStatus take_row(int *row_out, const char *text, RowlockFault *fault)
{
    const size_t digits = strspn(text, "0123456789");
    if (!digits || digits > 6 || text[digits] || !atoi(text))
        return bad_line(fault, "--to: '%.*s' is no row; give a number from 1", WORD_SHOWN, text);
    *row_out = atoi(text);
    return ROWLOCK_OK;
}

/* Eight numbers with commas between. */
static RowlockStatus take_corners(Options *o, const char *text, RowlockFault *fault)
{
    char number[32];
    const char *at = text;
    for (int i = 0; i < 8; i++) {
        const size_t length = strcspn(at, ",");
        const bool fits = length < sizeof number && (at[length] == ',') == (i < 7);
        snprintf(number, sizeof number, "%.*s", fits ? (int)length : 0, at);
        if (!number_parse(number, &o->corner[i / 2][i % 2]))
            return bad_line(fault,
                            "--corners: '%.*s' are no four corners; give eight numbers with commas "
                            "between, x and y of each",
                            WORD_SHOWN, text);
        at += length + (i < 7);
    }
    o->inspection.corner = (const double(*)[2])o->corner;
    return ROWLOCK_OK;
}

static RowlockStatus take_inspected(Options *o, const OwnOption *own, const char *text,
                                    RowlockFault *fault)
{
    if (!strcmp(own->name, "to")) return take_row(&o->inspection.to, text, fault);
    if (!strcmp(own->name, "corners")) return take_corners(o, text, fault);
    *(!strcmp(own->name, "sheet") ? &o->inspection.sheet : &o->inspection.panel) = text;
    return ROWLOCK_OK;
}

/* The options that are one command's own. */
static RowlockStatus take_own(Options *o, const OwnOption *own, const char *text,
                              RowlockFault *fault)
{
    const bool bench = o->command == COMMAND_BENCH;
    if (o->command == COMMAND_INSPECT) return take_inspected(o, own, text, fault);
    if (!strcmp(own->name, "no-open"))
        *(bench ? &o->bench.open : &o->desk.open) = false;
    else if (!strcmp(own->name, "listen"))
        *(bench ? &o->bench.listen : &o->desk.listen) = text;
    else if (!strcmp(own->name, "export"))
        o->bench.save = text;
    else if (!strcmp(own->name, "import"))
        o->bench.load = text;
    else
        return take_port(bench ? &o->bench.port : &o->desk.port, text, fault);
    return ROWLOCK_OK;
}

static RowlockStatus take_given(Line *line, const RowlockSetting *s, const char *text,
                                Command command, RowlockFault *fault)
{
    if (command_fixes(command, s))
        return bad_line(fault,
                        "--%s: the mural that stands has its own, as it was planned; leave it out",
                        s->name);
    for (int i = 0; s->rival && i < line->count; i++)
        if (!strcmp(line->given[i].setting->name, s->rival))
            return bad_line(fault, "--%s: --%s says it already; give one of them", s->name,
                            s->rival);
    for (int i = 0; !strcmp(s->name, "built") && i < line->count; i++)
        if (line->given[i].setting == s) /* the last would win, and what stands be planned anew */
            return bad_line(fault,
                            "--built: given twice; name all that stands in one list, with commas");
    if (line->count == (int)(sizeof line->given / sizeof *line->given))
        return bad_use(fault, "too many options", s->name, command);
    line->given[line->count++] = (Given){s, text ? text : "yes"};
    return ROWLOCK_OK;
}

/* Whether a word is of letters, such as -hV, and this is one of them. */
static bool has_letter(const char *word, int letter)
{
    return word[0] == '-' && word[1] != '-' && strchr(word + 1, letter);
}

/* The word that getopt_long has just read. It is not past a word of several letters, such as
 * -width, until it has seen the last of them; where operands stand before that word, some C
 * libraries are then still before these. */
static const char *word_read(char **argv, int c)
{
    const char *word = argv[optind > 0 ? optind - 1 : 0];
    const bool is_letter = c == '?' && optopt > 0 && optopt < OPTION_SETTING;
    const bool is_past = *word == '-' && (unsigned char)word[strlen(word) - 1] == optopt;
    if (!is_letter || is_past) return word;
    for (int i = optind; argv[i]; i++)
        if (has_letter(argv[i], optopt)) return argv[i];
    return word;
}

static RowlockStatus read_line(Options *o, Line *line, int argc, char **argv, RowlockFault *fault)
{
    /* job, help, version, manual, completion, an end */
    struct option table[SETTINGS_MOST + OWN_MOST + 6];
    fill_table(table, o->command);
    opterr = 0;
    optind = 0;
    for (int c; (c = getopt_long(argc, argv, ":hV", table, NULL)) != -1;) {
        const char *word = word_read(argv, c);
        if (c == '?') return bad_option(fault, word, table, o->command);
        if (c == ':') return bad_use(fault, "a value is missing", word, o->command);
        if (c == OPTION_HELP) o->help = true;
        if (c == OPTION_VERSION) o->version = true;
        if (c == OPTION_MANUAL) o->manual = optarg ? optarg : "";
        if (c == OPTION_COMPLETION) o->completion = optarg;
        if (c == OPTION_JOB) line->job = optarg;
        if (o->help || c < OPTION_SETTING || (c >= OPTION_JOB && c < OPTION_OWN)) continue;
        const RowlockStatus status =
            c >= OPTION_OWN
                ? take_own(o, &about[o->command].own[c - OPTION_OWN], optarg, fault)
                : take_given(line, &known_settings[c - OPTION_SETTING], optarg, o->command, fault);
        if (status) return status;
    }
    if (options_tell(o)) return ROWLOCK_OK;
    const bool many =
        o->command == COMMAND_PICK || o->command == COMMAND_MEASURE || o->command == COMMAND_BENCH;
    const bool both = o->command == COMMAND_REPLAN || o->command == COMMAND_INSPECT;
    const int most = many   ? REFERENCES_MOST
                     : both ? 2 /* the folder, and the picture */
                            : 1;
    while (optind < argc && line->operands < most) line->operand[line->operands++] = argv[optind++];
    if (optind < argc) return bad_use(fault, "one operand too many", argv[optind], o->command);
    return ROWLOCK_OK;
}

/* Where a path leads, links followed. What is not there yet would be made in the nearest folder
 * that is, unless a '..' or a link to nothing stands between. */
static bool find_place(char *path, char place_out[PATH_MAX])
{
    struct stat link;
    while (!realpath(path, place_out)) {
        if (errno != ENOENT || !lstat(path, &link)) return false;
        for (size_t n = strlen(path); n > 1 && path[n - 1] == '/';) path[--n] = 0;
        char *slash = strrchr(path, '/');
        if (!strcmp(slash ? slash + 1 : path, "..")) return false;
        if (slash)
            slash[slash == path] = 0;
        else
            strcpy(path, ".");
    }
    return true;
}

static bool is_within_here(char *path)
{
    char here[PATH_MAX], place[PATH_MAX];
    if (!realpath(".", here) || !find_place(path, place)) return false;
    const size_t length = strcmp(here, "/") ? strlen(here) : 0;
    return !strncmp(place, here, length) && (place[length] == '/' || !place[length]);
}

/* A job file may come from anywhere, so what it may replace is limited to the folder in which the
 * user runs it, unless the user names the same place. */
static RowlockStatus check_job_out(const Options *o, const Line *line, RowlockFault *fault)
{
    char out[ROWLOCK_SETTING_TEXT], path[ROWLOCK_SETTING_TEXT];
    for (int i = 0; i < line->count; i++)
        if (!strcmp(line->given[i].setting->name, "out")) return ROWLOCK_OK;
    const RowlockStatus status = rowlock_job_show(o->job, "out", out, fault);
    strcpy(path, out);
    if (status || !*out || !strcmp(out, "-") || is_within_here(path)) return status;
    return bad_line(fault,
                    "%.*s: the job's out, '%.*s', is outside the folder you are in; give it with "
                    "--out if it is meant",
                    WORD_SHOWN / 2, line->job, WORD_SHOWN / 2, out);
}

static RowlockStatus fill_given(Options *o, const Line *line, RowlockFault *fault)
{
    RowlockStatus status = ROWLOCK_OK;
    for (int i = 0; !status && i < line->count; i++) {
        const char *name = line->given[i].setting->name;
        char where[64];
        snprintf(where, sizeof where, "--%s", name);
        status = rowlock_job_set(o->job, name, line->given[i].text, where, fault);
    }
    return status;
}

static RowlockStatus fill_job(Options *o, const Line *line, RowlockFault *fault)
{
    const bool again = o->command == COMMAND_REPLAN;
    const int first = again || o->command == COMMAND_EXHIBITION; /* operand that is a picture */
    const char *reference = line->operands > first ? line->operand[first] : NULL;
    RowlockStatus status = line->job ? rowlock_job_read(o->job, line->job, fault) : ROWLOCK_OK;
    if (!status && line->job) status = check_job_out(o, line, fault);
    if (!status && again) status = rowlock_job_read_plan(o->job, o->folder, fault);
    if (!status) status = fill_given(o, line, fault);
    if (!status && reference)
        status = rowlock_job_set(o->job, "reference", reference, reference, fault);
    return status;
}

/* What was given of a setting that the command takes several values of. */
static RowlockStatus take_choice(Options *o, const Given *given, RowlockFault *fault)
{
    const char *name = given->setting->name;
    size_t kind = 0;
    while (kind < o->choice_kinds && strcmp(o->choices[kind].setting, name) != 0) kind++;
    if (kind == ROWLOCK_KINDS_MOST || o->choices[kind].count == ROWLOCK_CHOICES_MOST)
        return bad_use(fault, "given too often", name, o->command);
    RowlockChoices *choices = &o->choices[kind];
    if (kind == o->choice_kinds) {
        *choices = (RowlockChoices){.setting = name, .text = o->choice[kind]};
        o->choice_kinds++;
    }
    o->choice[kind][choices->count++] = given->text;
    return ROWLOCK_OK;
}

static RowlockStatus fill_choices(Options *o, const Line *line, RowlockFault *fault)
{
    for (int i = 0; i < line->count; i++) {
        if (!command_repeats(o->command, line->given[i].setting)) continue;
        const RowlockStatus status = take_choice(o, &line->given[i], fault);
        if (status) return status;
    }
    return ROWLOCK_OK;
}

static RowlockStatus take_folder(Options *o, const Line *line, RowlockFault *fault)
{
    const char *name = about[o->command].name;
    const bool file = o->command == COMMAND_EXHIBITION;
    if (!line->operands)
        return bad_use(fault, file ? "no file is given" : "no folder is given", name, o->command);
    o->folder = line->operand[0];
    return ROWLOCK_OK;
}

static RowlockStatus take_inspection(Options *o, const Line *line, RowlockFault *fault)
{
    const char *name = about[o->command].name;
    const RowlockStatus status = take_folder(o, line, fault);
    if (status) return status;
    if (line->operands < 2) return bad_use(fault, "no photograph is given", name, o->command);
    if (!o->inspection.panel)
        return bad_line(fault, "--panel: it is not said which panel the photograph shows; give its "
                               "name, such as r1c1");
    o->inspection.folder = o->folder;
    o->inspection.photo = line->operand[1];
    return fill_given(o, line, fault);
}

static RowlockStatus take_folders(Options *o, const Line *line, RowlockFault *fault)
{
    for (int i = 0; i < line->operands; i++) o->served[i] = line->operand[i];
    o->bench.folder = o->served;
    o->bench.folders = line->operands;
    return take_folder(o, line, fault);
}

static RowlockStatus take_job_line(Options *o, const Line *line, RowlockFault *fault)
{
    const bool placed = o->command == COMMAND_REPLAN || o->command == COMMAND_EXHIBITION;
    RowlockStatus status = placed ? take_folder(o, line, fault) : ROWLOCK_OK;
    if (!status) status = fill_job(o, line, fault);
    if (!status) status = fill_choices(o, line, fault);
    for (int i = 0; i < line->operands; i++) o->reference[o->references++] = line->operand[i];
    return status;
}

static RowlockStatus find_command(Options *o, const char *word, RowlockFault *fault)
{
    Spelling spelling = spelling_of(word, strlen(word));
    for (int c = 1; c < COMMANDS; c++) {
        if (!strcmp(word, about[c].name)) o->command = (Command)c;
        spelling_offer(&spelling, about[c].name);
    }
    spelling_offer(&spelling, "help");
    if (o->command) return ROWLOCK_OK;
    if (!spelling.nearest) return bad_use(fault, "no such command", word, COMMAND_NONE);
    return bad_line(fault, "%.*s: no such command; did you mean %s?", WORD_SHOWN, word,
                    spelling.nearest);
}

bool options_tell(const Options *o) { return o->help || o->version || o->manual || o->completion; }

RowlockStatus options_read(Options *o, int argc, char **argv, RowlockFault *fault)
{
    memset(o, 0, sizeof *o);
    o->desk.open = o->bench.open = true;
    known_settings_list();
    if (argc < 2) return no_command(fault);
    o->help = !strcmp(argv[1], "help");
    if (o->help && argc > 3) return bad_use(fault, "one operand too many", argv[3], COMMAND_NONE);
    if (o->help) return argc > 2 ? find_command(o, argv[2], fault) : ROWLOCK_OK;
    RowlockStatus status = ROWLOCK_OK;
    if (*argv[1] != '-') {
        status = find_command(o, argv[1], fault);
        if (status) return status;
        argc--;
        argv++;
    }
    Line line = {.count = 0};
    status = read_line(o, &line, argc, argv, fault);
    if (status || options_tell(o)) return status;
    if (!o->command) return no_command(fault);
    status = rowlock_job_create(&o->job, fault);
    if (status) return status;
    if (o->command == COMMAND_BENCH) return take_folders(o, &line, fault);
    if (o->command == COMMAND_DESK) {
        o->desk.operand = line.operands ? line.operand[0] : NULL;
        return ROWLOCK_OK;
    }
    if (o->command == COMMAND_INSPECT) return take_inspection(o, &line, fault);
    return o->command == COMMAND_CHECK ? take_folder(o, &line, fault)
                                       : take_job_line(o, &line, fault);
}

void options_clear(Options *o) { rowlock_job_free(o->job); }
