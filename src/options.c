#include "options.h"

#include <getopt.h>
#include <string.h>

const char rowlock_version[] = "0.1.0";

/* ---- what there is to say of each command ---- */

typedef struct Example {
    const char *line, *what;
} Example;

typedef struct About {
    const char *name, *operands, *summary, *more;
    bool settings; /* takes the settings table */
    Example example[4];
} About;

static const About about[COMMANDS] = {
    [COMMAND_PLAN] =
        {"plan",
         "REFERENCE (--columns N | --width LENGTH) --out DIR [options]\n"
         "       rowlock plan --job FILE [options]",
         "plan a mural from a picture",
         "REFERENCE is a PNG, JPEG, TIFF, BMP, TGA, GIF or PNM picture, or - for standard input.\n"
         "Lengths take mm, cm, m or in; masses g, kg or lb. A job file is an INI file whose keys\n"
         "are the names below without the dashes; options given beside it win.",
         true,
         {{"rowlock plan harbour.png --width 1.6m --out harbour", "a plaque 1.6 m wide"},
          {"rowlock plan harbour.png --columns 48 --palette greys.csv --out small",
           "one panel in a palette of your own"},
          {"rowlock plan --job harbour.ini --dither floyd-steinberg",
           "a job file, one word changed"}}},
    [COMMAND_CHECK] =
        {"check",
         "DIR",
         "re-derive a plan's promises from its files alone",
         "Prints one line for each promise that does not hold, and exits 1 if there is any.",
         false,
         {{"rowlock check harbour", "a plan that was edited, or copied"}}},
};

static const char cautions[] =
    "Bricks are small parts: keep them from children under three. Panels are heavy: lift in "
    "pairs.\n"
    "Fixings, hanging and fire safety are for a licensed person under the local code.";

/* ---- reading ---- */

enum { OPTION_JOB = 1000, OPTION_HELP, OPTION_VERSION, OPTION_MANUAL };

enum { SETTINGS_MOST = 96 };

static int fill_table(struct option *table, bool with_settings)
{
    int n = 0;
    if (with_settings) {
        for (size_t i = 0; i < settings_count; i++)
            table[n++] = (struct option){settings[i].name,
                                         settings[i].type == SETTING_SWITCH ? no_argument
                                                                            : required_argument,
                                         NULL, (int)i + 1};
        table[n++] = (struct option){"job", required_argument, NULL, OPTION_JOB};
    }
    table[n++] = (struct option){"help", no_argument, NULL, OPTION_HELP};
    table[n++] = (struct option){"version", no_argument, NULL, OPTION_VERSION};
    table[n++] = (struct option){"manual", no_argument, NULL, OPTION_MANUAL};
    table[n] = (struct option){0};
    return n;
}

/* A setting as the command line gave it; applied once the job file is read. */
typedef struct Given {
    const Setting *setting;
    const char *text;
} Given;

typedef struct Line {
    Given given[256];
    int count;
    const char *job, *operand;
} Line;

static Status bad_use(Fault *fault, const char *what, const char *which, Command command)
{
    return fault_set(fault, STATUS_USAGE, "%s: %s; see 'rowlock%s%s --help'", which, what,
                     command ? " " : "", command ? about[command].name : "");
}

static Status take_given(Line *line, const Setting *s, const char *text, Command command,
                         Fault *fault)
{
    for (int i = 0; s->rival && i < line->count; i++)
        if (!strcmp(line->given[i].setting->name, s->rival))
            return fault_set(fault, STATUS_USAGE, "--%s: --%s says it already; give one of them",
                             s->name, s->rival);
    if (line->count == (int)(sizeof line->given / sizeof *line->given))
        return bad_use(fault, "too many options", s->name, command);
    line->given[line->count++] = (Given){s, text ? text : "yes"};
    return STATUS_OK;
}

static Status read_line(Options *o, Line *line, int argc, char **argv, Fault *fault)
{
    struct option table[SETTINGS_MOST];
    fill_table(table, about[o->command].settings || !o->command);
    opterr = 0;
    optind = 0;
    for (int c; (c = getopt_long(argc, argv, ":", table, NULL)) != -1;) {
        const char *word = argv[optind > 0 ? optind - 1 : 0];
        if (c == '?') return bad_use(fault, "no such option", word, o->command);
        if (c == ':') return bad_use(fault, "a value is missing", word, o->command);
        if (c == OPTION_HELP) o->help = true;
        if (c == OPTION_VERSION) o->version = true;
        if (c == OPTION_MANUAL) o->manual = true;
        if (c == OPTION_JOB) line->job = optarg;
        if (c > OPTION_JOB || o->help || c == OPTION_JOB) continue;
        const Status status = take_given(line, &settings[c - 1], optarg, o->command, fault);
        if (status) return status;
    }
    if (o->help || o->version || o->manual) return STATUS_OK;
    if (optind < argc) line->operand = argv[optind++];
    if (optind < argc) return bad_use(fault, "one operand too many", argv[optind], o->command);
    return STATUS_OK;
}

static Status fill_job(Options *o, const Line *line, Fault *fault)
{
    Status status = line->job ? job_read(&o->job, line->job, fault) : STATUS_OK;
    for (int i = 0; !status && i < line->count; i++) {
        char where[64];
        snprintf(where, sizeof where, "--%s", line->given[i].setting->name);
        status = job_set(&o->job, line->given[i].setting, line->given[i].text, where, NULL, fault);
    }
    if (!status && line->operand)
        status =
            job_set(&o->job, setting_find("reference"), line->operand, line->operand, NULL, fault);
    if (status) return status;
    if (!*o->job.reference && !*o->job.cells)
        return bad_use(fault, "no reference picture is given", "plan", o->command);
    if (!*o->job.out) return bad_use(fault, "no folder to write to is given", "--out", o->command);
    if (!o->job.columns && o->job.width == 0 && !o->job.rows && o->job.height == 0 &&
        !*o->job.cells)
        return bad_use(fault, "the mural has no size; give --columns or --width", "plan",
                       o->command);
    return STATUS_OK;
}

Status options_read(Options *o, int argc, char **argv, Fault *fault)
{
    memset(o, 0, sizeof *o);
    job_init(&o->job);
    if (argc < 2) return bad_use(fault, "no command is given", "rowlock", COMMAND_NONE);
    if (*argv[1] != '-') {
        for (int c = 1; c < COMMANDS; c++)
            if (!strcmp(argv[1], about[c].name)) o->command = (Command)c;
        if (!o->command) return bad_use(fault, "no such command", argv[1], COMMAND_NONE);
        argc--;
        argv++;
    }
    Line line = {.count = 0};
    const Status status = read_line(o, &line, argc, argv, fault);
    if (status || o->help || o->version || o->manual) return status;
    if (!o->command) return bad_use(fault, "no command is given", "rowlock", COMMAND_NONE);
    if (o->command == COMMAND_PLAN) return fill_job(o, &line, fault);
    if (!line.operand)
        return bad_use(fault, "no folder is given", about[o->command].name, o->command);
    snprintf(o->folder, sizeof o->folder, "%s", line.operand);
    return STATUS_OK;
}

/* ---- help and manual ---- */

static void say_setting(const Setting *s, FILE *file)
{
    char left[64];
    snprintf(left, sizeof left, "--%s%s%s", s->name, s->value ? " " : "", s->value ? s->value : "");
    fprintf(file, "  %-26s%s%s", left, strlen(left) > 24 ? "\n                            " : "",
            s->help);
    if (*s->fallback && strcmp(s->fallback, "0") && s->type != SETTING_SWITCH)
        fprintf(file, " [%s]", s->fallback);
    putc('\n', file);
}

static void say_settings(FILE *file)
{
    const char *group = "";
    for (size_t i = 0; i < settings_count; i++) {
        const char *this_group = settings[i].group;
        bool said = false;
        for (size_t j = 0; j < i; j++) said |= settings[j].group == this_group;
        if (said || this_group == group) continue;
        group = this_group;
        fprintf(file, "\n%s:\n", group);
        for (size_t j = i; j < settings_count; j++)
            if (settings[j].group == group) say_setting(&settings[j], file);
    }
    fprintf(file, "  %-26s%s\n", "--job FILE", "settings from an INI file");
}

void options_help(Command command, FILE *file)
{
    if (!command) {
        fprintf(file, "rowlock %s: plans murals of rectangular bricks\n\nusage:\n",
                rowlock_version);
        for (int c = 1; c < COMMANDS; c++)
            fprintf(file, "  rowlock %-8s %s\n", about[c].name, about[c].summary);
        fprintf(file, "\n'rowlock COMMAND --help' says more, 'rowlock --manual | man -l -' all.\n");
        return;
    }
    const About *a = &about[command];
    fprintf(file, "usage: rowlock %s %s\n\n%s\n%s\n", a->name, a->operands, a->summary, a->more);
    if (a->settings) say_settings(file);
    fprintf(file, "  %-26s%s\n  %-26s%s\n", "--help", "this text", "--version", "the version");
    fprintf(file, "\nExamples:\n");
    for (const Example *e = a->example; e < a->example + 4 && e->line; e++)
        fprintf(file, "  %s\n      %s\n", e->line, e->what);
    if (a->settings) fprintf(file, "\n%s\n", cautions);
}

/* Text for the man macros: no line may start with a dot or quote, minus is a minus. */
static void roff(const char *text, FILE *file)
{
    for (const char *c = text; *c; c++) {
        if ((c == text || c[-1] == '\n') && (*c == '.' || *c == '\'')) fputs("\\&", file);
        if (*c == '-') putc('\\', file);
        if (*c == '\\') putc('\\', file);
        putc(*c, file);
    }
}

static void roff_setting(const Setting *s, FILE *file)
{
    fputs(".TP\n\\fB\\-\\-", file);
    roff(s->name, file);
    fputs("\\fR", file);
    if (s->value) {
        fputs(" \\fI", file);
        roff(s->value, file);
        fputs("\\fR", file);
    }
    putc('\n', file);
    roff(s->help, file);
    if (*s->fallback && strcmp(s->fallback, "0") && s->type != SETTING_SWITCH) {
        fputs(" (", file);
        roff(s->fallback, file);
        putc(')', file);
    }
    putc('\n', file);
}

static const struct {
    const char *name, *what;
} files[] = {
    {"plan.json",
     "the plan's account of itself: sizes, settings, colours, measures, panels, files"},
    {"cells.png", "one pixel a cell; edit it in any paint program and give it back with --cells"},
    {"bricks.csv", "every brick: place, extent, size, colour"},
    {"rows.csv", "the charts as data, one line a brick in building order"},
    {"parts.csv",
     "what to order; price is that of the order, mass_g that of the bricks in the mural"},
    {"panels.csv", "the panels: place, size, mass, structure"},
    {"preview.png", "the face with its joints"},
    {"distance.png", "the face as seen from --distance"},
    {"proof.jpg", "a small picture to mail"},
    {"book.pdf", "the build book, to print"},
    {"book.html", "the build book, to keep open at the bench; it keeps count of what is laid"},
};

static const struct {
    int code;
    const char *what;
} codes[] = {
    {0, "done"},
    {1, "check: a promise does not hold; plan: written, but some brick cannot be made to hold"},
    {64, "options that make no sense"},
    {65, "input that is wrong"},
    {66, "input that is missing"},
    {69, "something needed is missing, memory for one"},
    {70, "a defect of the program"},
    {73, "output that cannot be created"},
    {74, "reading or writing broke off"},
    {75, "interrupted; nothing is half-written"},
};

void options_manual(FILE *file)
{
    fprintf(file,
            ".TH ROWLOCK 1 \"\" \"rowlock %s\"\n.SH NAME\nrowlock \\- plan murals of "
            "rectangular bricks\n.SH SYNOPSIS\n.nf\n",
            rowlock_version);
    for (int c = 1; c < COMMANDS; c++) {
        fprintf(file, "rowlock %s ", about[c].name);
        roff(about[c].operands, file);
        putc('\n', file);
    }
    fputs(".fi\n.SH COMMANDS\n", file);
    for (int c = 1; c < COMMANDS; c++) {
        fprintf(file, ".TP\n\\fB%s\\fR\n", about[c].name);
        roff(about[c].summary, file);
        fputs(".\n", file);
        roff(about[c].more, file);
        putc('\n', file);
    }
    fputs(".SH OPTIONS OF PLAN\nThe job file has the same names as keys.\n", file);
    for (size_t i = 0; i < settings_count; i++) roff_setting(&settings[i], file);
    fputs(".SH FILES\n", file);
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        fprintf(file, ".TP\n\\fB%s\\fR\n", files[i].name);
        roff(files[i].what, file);
        putc('\n', file);
    }
    fputs(".SH EXIT STATUS\n", file);
    for (size_t i = 0; i < sizeof codes / sizeof *codes; i++) {
        fprintf(file, ".TP\n\\fB%d\\fR\n", codes[i].code);
        roff(codes[i].what, file);
        putc('\n', file);
    }
    fputs(".SH EXAMPLES\n.nf\n", file);
    for (int c = 1; c < COMMANDS; c++)
        for (const Example *e = about[c].example; e < about[c].example + 4 && e->line; e++) {
            roff(e->line, file);
            putc('\n', file);
        }
    fputs(".fi\n.SH CAUTIONS\n", file);
    roff(cautions, file);
    putc('\n', file);
}
