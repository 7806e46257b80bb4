/* The command line. Options are the library's settings by name: one table here says which command
 * takes which of them, and how often. They are set in the order in which they were given, after the
 * job file that they win over. Help and manual are written from the same tables. */
#include "command/options.h"

#include <getopt.h>
#include <stdarg.h>
#include <string.h>

/* ---- the settings ---- */

enum { SETTINGS_MOST = 128 };

/* The library's table, listed once by options_read, so that settings are told apart by address. */
static RowlockSetting settings[SETTINGS_MOST];
static size_t settings_count;

static void list_settings(void)
{
    while (settings_count < SETTINGS_MOST &&
           rowlock_setting_at(settings_count, &settings[settings_count]))
        settings_count++;
}

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
         "are the names below without the dashes; options given beside it win, and what is yes\n"
         "there is undone with =no, as in --stock-only=no.",
         true,
         {{"rowlock plan harbour.png --width 1.6m --out harbour", "a plaque 1.6 m wide"},
          {"rowlock plan harbour.png --columns 48 --palette greys.csv --out small",
           "one panel in a palette of your own"},
          {"rowlock plan --job harbour.ini --dither floyd-steinberg",
           "a job file, one word changed"}}},
    [COMMAND_COMPARE] =
        {"compare",
         "REFERENCE --palette FILE --palette FILE ... (--columns N | --width LENGTH) --out DIR",
         "plan a picture under several palettes and set them side by side",
         "--palette, --dither, --columns and --width may be given several times; every "
         "combination\n"
         "is planned. DIR gets compare.png, compare.pdf and compare.csv: how each looks from\n"
         "--distance, where it is worst, and what it takes in bricks, price, mass and hours.",
         true,
         {{"rowlock compare harbour.png --palette greys.csv --palette earths.csv --columns 96 "
           "--out palettes",
           "two palettes"},
          {"rowlock compare harbour.png --dither none --dither distance --columns 64 --columns 128 "
           "--out sizes --sort price",
           "two ways of choosing colours in two sizes, the cheapest first"}}},
    [COMMAND_PICK] =
        {"pick",
         "REFERENCE ... --palette FILE --colours K --out FILE",
         "pick the K colours of a palette that serve a picture best",
         "Colours are judged as they mix at --distance. FILE is the picked palette, CGATS.17;\n"
         "beside it stand FILE's stem with -curve.csv and -curve.png: how the difference falls\n"
         "with the number of colours. '-' is standard output, for the palette alone. Several\n"
         "pictures are served together.",
         true,
         {{"rowlock pick harbour.png --palette bricks-96.csv --colours 16 --columns 96 --out "
           "harbour.cgats",
           "16 of 96"},
          {"rowlock pick a.png b.png --colours 12 --keep N1,N9 --out pair.cgats",
           "for two murals, black and white among them"}}},
    [COMMAND_REPLAN] =
        {"replan",
         "DIR --built LIST --out DIR [--stock FILE] [--palette FILE] [REFERENCE] [options]",
         "plan the rest of a mural that is under way",
         "What LIST names of the plan in DIR stays as it is, brick for brick; the rest is planned\n"
         "again with DIR's settings and those given here. --stock is what is on the shelf now.\n"
         "A brick belongs to its lowest row. The relief and the panels, also cards that were cut\n"
         "to ask alike, stay as they are, and so do the pockets of a hollow core in what stands.\n"
         "--out may be DIR itself. difference.csv says what changes in the parts; nothing is\n"
         "ordered for what stands. REFERENCE is needed only if the picture lies elsewhere now.",
         true,
         {{"rowlock replan harbour --built 1-40 --stock shelf.csv --stock-only --out harbour-2",
           "40 rows stand; the rest must come from the shelf"},
          {"rowlock replan harbour --built r1c1,r1c2 --palette greys.csv --out harbour-2",
           "two panels stand; other colours from there on"}}},
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

/* ---- which command takes which setting ---- */

enum {
    PLAN = 1 << COMMAND_PLAN,
    COMPARE = 1 << COMMAND_COMPARE,
    PICK = 1 << COMMAND_PICK,
    REPLAN = 1 << COMMAND_REPLAN
};

/* Settings that are not here are for plan, compare and replan, once each. Those for plan
 * and not for replan would change what stands. */
static const struct Taking {
    const char *setting;
    unsigned takes, repeats; /* sets of commands */
} takings[] = {
    {"out", PLAN | COMPARE | PICK | REPLAN, 0},
    {"palette", PLAN | COMPARE | PICK | REPLAN, COMPARE},
    {"dither", PLAN | COMPARE | REPLAN, COMPARE},
    {"columns", PLAN | COMPARE | PICK, COMPARE},
    {"width", PLAN | COMPARE | PICK, COMPARE},
    {"rows", PLAN | COMPARE | PICK, 0},
    {"height", PLAN | COMPARE | PICK, 0},
    {"build", PLAN | COMPARE | PICK, 0},
    {"crop", PLAN | COMPARE, 0},
    {"pitch", PLAN | COMPARE | PICK, 0},
    {"brick-height", PLAN | COMPARE | PICK, 0},
    {"thickness", PLAN | COMPARE, 0},
    {"distance", PLAN | COMPARE | PICK | REPLAN, 0},
    {"ground", PLAN | COMPARE | PICK | REPLAN, 0},
    {"tone", PLAN | COMPARE | REPLAN, 0},
    {"bricks", PLAN | COMPARE | PICK | REPLAN, 0},
    {"stock", PLAN | COMPARE | PICK | REPLAN, 0},
    {"limit", PLAN | COMPARE | PICK | REPLAN, 0},
    {"threads", PLAN | COMPARE | PICK | REPLAN, 0},
    {"quiet", PLAN | COMPARE | PICK | REPLAN, 0},
    {"built", REPLAN, 0},
    {"sort", COMPARE, 0},
    {"colours", PICK, 0},
    {"keep", PICK, 0},
    {"without", PICK, 0},
    {"price-weight", PICK, 0},
    {"relief", PLAN | COMPARE, 0},
    {"depth-map", PLAN | COMPARE, 0},
    {"mask", PLAN | COMPARE, 0},
    {"toward", PLAN | COMPARE, 0},
    {"steps", PLAN | COMPARE, 0},
    {"depth", PLAN | COMPARE, 0},
    {"relief-curve", PLAN | COMPARE, 0},
    {"relief-smooth", PLAN | COMPARE, 0},
    {"relief-islands", PLAN | COMPARE, 0},
    {"relief-jump", PLAN | COMPARE, 0},
    {"steps-map", PLAN | COMPARE, 0},
    {"panel", PLAN | COMPARE, 0},
    {"panel-mass", PLAN | COMPARE, 0},
    {"kit", PLAN | COMPARE, 0},
    {"kit-even", PLAN | COMPARE, 0},
    {"hollow", PLAN | COMPARE, 0},
    {"cells", PLAN | REPLAN, 0},
    {"light-angle", PLAN | REPLAN, 0},
    {"light-height", PLAN | REPLAN, 0},
    {"fixings", PLAN | REPLAN, 0},
    {"builders", PLAN | REPLAN, 0},
    {"day", PLAN | REPLAN, 0},
    {"rate", PLAN | REPLAN, 0},
    {"sheet-price", PLAN | REPLAN, 0},
    {"packing", PLAN | REPLAN, 0},
    {"crate-panels", PLAN | REPLAN, 0},
    {"crate-mass", PLAN | REPLAN, 0},
    {"hanging", PLAN | REPLAN, 0},
    {"quote", PLAN | REPLAN, 0},
    {"book", PLAN | REPLAN, 0},
};

static const struct Taking *taking_of(const RowlockSetting *s)
{
    static const struct Taking other = {NULL, PLAN | COMPARE | REPLAN, 0};
    for (size_t i = 0; i < sizeof takings / sizeof *takings; i++)
        if (!strcmp(takings[i].setting, s->name)) return &takings[i];
    return &other;
}

/* COMMAND_NONE stands for options before a command: all of them are known then. */
static bool takes(Command command, const RowlockSetting *s)
{
    return !command || (taking_of(s)->takes >> command & 1);
}

/* What a mural that is under way cannot change any more: known, so that it can be said. */
static bool is_fixed(Command command, const RowlockSetting *s)
{
    return command == COMMAND_REPLAN && takes(COMMAND_PLAN, s) && !takes(command, s);
}

/* ---- reading ---- */

/* Above every character, since getopt_long answers with : and ? too. */
enum { OPTION_SETTING = 256, OPTION_JOB = 1000, OPTION_HELP, OPTION_VERSION, OPTION_MANUAL };

static int fill_table(struct option *table, Command command)
{
    int n = 0;
    if (!command || about[command].settings) {
        for (size_t i = 0; i < settings_count; i++)
            if (takes(command, &settings[i]) || is_fixed(command, &settings[i]))
                table[n++] = (struct option){settings[i].name,
                                             settings[i].type == ROWLOCK_SWITCH ? optional_argument
                                                                                : required_argument,
                                             NULL, OPTION_SETTING + (int)i};
        if (command != COMMAND_REPLAN)
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

static RowlockStatus take_given(Line *line, const RowlockSetting *s, const char *text,
                                Command command, RowlockFault *fault)
{
    if (is_fixed(command, s))
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

static RowlockStatus read_line(Options *o, Line *line, int argc, char **argv, RowlockFault *fault)
{
    struct option table[SETTINGS_MOST + 5]; /* with job, help, version, manual and an end */
    fill_table(table, o->command);
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
        const RowlockStatus status =
            take_given(line, &settings[c - OPTION_SETTING], optarg, o->command, fault);
        if (status) return status;
    }
    if (o->help || o->version || o->manual) return ROWLOCK_OK;
    const int most = o->command == COMMAND_PICK     ? REFERENCES_MOST
                     : o->command == COMMAND_REPLAN ? 2 /* the folder, and the picture */
                                                    : 1;
    while (optind < argc && line->operands < most) line->operand[line->operands++] = argv[optind++];
    if (optind < argc) return bad_use(fault, "one operand too many", argv[optind], o->command);
    return ROWLOCK_OK;
}

static RowlockStatus fill_job(Options *o, const Line *line, RowlockFault *fault)
{
    const bool again = o->command == COMMAND_REPLAN;
    const char *reference = line->operands > (int)again ? line->operand[(int)again] : NULL;
    RowlockStatus status = line->job ? rowlock_job_read(o->job, line->job, fault) : ROWLOCK_OK;
    if (!status && again) status = rowlock_job_read_plan(o->job, o->folder, fault);
    for (int i = 0; !status && i < line->count; i++) {
        const char *name = line->given[i].setting->name;
        char where[64];
        snprintf(where, sizeof where, "--%s", name);
        status = rowlock_job_set(o->job, name, line->given[i].text, where, fault);
    }
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
        if (!(taking_of(line->given[i].setting)->repeats >> o->command & 1)) continue;
        const RowlockStatus status = take_choice(o, &line->given[i], fault);
        if (status) return status;
    }
    return ROWLOCK_OK;
}

static RowlockStatus take_folder(Options *o, const Line *line, RowlockFault *fault)
{
    const char *name = about[o->command].name;
    if (!line->operands) return bad_use(fault, "no folder is given", name, o->command);
    o->folder = line->operand[0];
    return ROWLOCK_OK;
}

static RowlockStatus take_settings(Options *o, const Line *line, RowlockFault *fault)
{
    RowlockStatus status = o->command == COMMAND_REPLAN ? take_folder(o, line, fault) : ROWLOCK_OK;
    if (!status) status = fill_job(o, line, fault);
    if (!status) status = fill_choices(o, line, fault);
    for (int i = 0; i < line->operands; i++) o->reference[o->references++] = line->operand[i];
    return status;
}

RowlockStatus options_read(Options *o, int argc, char **argv, RowlockFault *fault)
{
    memset(o, 0, sizeof *o);
    list_settings();
    if (argc < 2) return bad_use(fault, "no command is given", "rowlock", COMMAND_NONE);
    if (*argv[1] != '-') {
        for (int c = 1; c < COMMANDS; c++)
            if (!strcmp(argv[1], about[c].name)) o->command = (Command)c;
        if (!o->command) return bad_use(fault, "no such command", argv[1], COMMAND_NONE);
        argc--;
        argv++;
    }
    Line line = {.count = 0};
    RowlockStatus status = read_line(o, &line, argc, argv, fault);
    if (status || o->help || o->version || o->manual) return status;
    if (!o->command) return bad_use(fault, "no command is given", "rowlock", COMMAND_NONE);
    status = rowlock_job_create(&o->job, fault);
    if (status) return status;
    return o->command == COMMAND_CHECK ? take_folder(o, &line, fault)
                                       : take_settings(o, &line, fault);
}

void options_clear(Options *o) { rowlock_job_free(o->job); }

/* ---- help and manual ---- */

/* What is not given to replan is as the earlier plan had it, not at its default. */
static void say_setting(Command command, const RowlockSetting *s, FILE *file)
{
    const bool fallback = *s->fallback && strcmp(s->fallback, "0") && s->type != ROWLOCK_SWITCH &&
                          command != COMMAND_REPLAN;
    char left[64];
    snprintf(left, sizeof left, "--%s%s%s", s->name, s->value ? " " : "", s->value ? s->value : "");
    if (strlen(left) > 24)
        fprintf(file, "  %s\n  %-26s%s", left, "", s->help);
    else
        fprintf(file, "  %-26s%s", left, s->help);
    if (fallback) fprintf(file, " [%s]", s->fallback);
    putc('\n', file);
}

static bool is_first_of_group(Command command, size_t setting)
{
    for (size_t i = 0; i < setting; i++)
        if (takes(command, &settings[i]) && settings[i].group == settings[setting].group)
            return false;
    return true;
}

static void say_settings(Command command, FILE *file)
{
    for (size_t i = 0; i < settings_count; i++) {
        if (!takes(command, &settings[i]) || !is_first_of_group(command, i)) continue;
        fprintf(file, "\n%s:\n", settings[i].group);
        for (size_t j = i; j < settings_count; j++)
            if (takes(command, &settings[j]) && settings[j].group == settings[i].group)
                say_setting(command, &settings[j], file);
    }
    if (command != COMMAND_REPLAN)
        fprintf(file, "  %-26s%s\n", "--job FILE", "settings from an INI file");
}

void options_help(Command command, FILE *file)
{
    if (!command) {
        fprintf(file, "rowlock %s: plans murals of rectangular bricks\n\nusage:\n",
                rowlock_version());
        for (int c = 1; c < COMMANDS; c++)
            fprintf(file, "  rowlock %-8s %s\n", about[c].name, about[c].summary);
        fprintf(file, "\n'rowlock COMMAND --help' says more, 'rowlock --manual | man -l -' all.\n");
        return;
    }
    const About *a = &about[command];
    fprintf(file, "usage: rowlock %s %s\n\n%s\n%s\n", a->name, a->operands, a->summary, a->more);
    if (a->settings) say_settings(command, file);
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

static void roff_setting(const RowlockSetting *s, FILE *file)
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
    if (*s->fallback && strcmp(s->fallback, "0") && s->type != ROWLOCK_SWITCH) {
        fputs(" (", file);
        roff(s->fallback, file);
        putc(')', file);
    }
    putc('\n', file);
}

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
            rowlock_version());
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
    fputs(".SH OPTIONS\nThe job file has the same names as keys. Not every command takes every "
          "option: see the help of each.\n",
          file);
    for (size_t i = 0; i < settings_count; i++) roff_setting(&settings[i], file);
    fputs(".SH FILES\n", file);
    RowlockOutput output;
    for (size_t i = 0; rowlock_output_at(i, &output); i++) {
        fputs(".TP\n\\fB", file);
        roff(output.name, file);
        fprintf(file, "\\fR (");
        roff(output.when, file);
        fputs(")\n", file);
        roff(output.what, file);
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
