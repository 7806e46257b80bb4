/* Help is plain text, a line or two a setting; the manual is the same in the man macros, where a
 * minus and what opens a line have to be written with care.
 *
 * Source: man(7); exit codes, sysexits(3). */
#include "command/help.h"

#include "base/photo_advice.h"

#include <string.h>

static const char cautions[] =
    "Bricks are small parts: keep them from children under three. Panels are heavy: lift in "
    "pairs.\n"
    "Fixings, hanging and fire safety are for a licensed person under the local code.";

static void say_own(Command command, FILE *file)
{
    for (const OwnOption *own = about[command].own;
         own < about[command].own + OWN_MOST && own->name; own++) {
        char left[64];
        snprintf(left, sizeof left, "--%s%s%s", own->name, own->value ? " " : "",
                 own->value ? own->value : "");
        fprintf(file, "  %-26s%s\n", left, own->help);
    }
}

/* What is not given to replan is as the earlier plan had it, not at its default. */
static void say_setting(Command command, RowlockSetting s, FILE *file)
{
    const bool fallback = *s.fallback && strcmp(s.fallback, "0") && s.type != ROWLOCK_SWITCH &&
                          command != COMMAND_REPLAN;
    char left[64];
    snprintf(left, sizeof left, "--%s%s%s", s.name, s.value ? " " : "", s.value ? s.value : "");
    if (strlen(left) > 24)
        fprintf(file, "  %s\n  %-26s%s", left, "", s.help);
    else
        fprintf(file, "  %-26s%s", left, s.help);
    if (fallback) fprintf(file, " [%s]", s.fallback);
    putc('\n', file);
}

static bool is_first_of_group(Command command, size_t setting)
{
    for (size_t i = 0; i < setting; i++)
        if (command_takes(command, &known_settings[i]) &&
            known_settings[i].group == known_settings[setting].group)
            return false;
    return true;
}

static void say_settings(Command command, FILE *file)
{
    for (size_t i = 0; i < known_settings_count; i++) {
        if (!command_takes(command, &known_settings[i]) || !is_first_of_group(command, i)) continue;
        fprintf(file, "\n%s:\n", known_settings[i].group);
        for (size_t j = i; j < known_settings_count; j++)
            if (command_takes(command, &known_settings[j]) &&
                known_settings[j].group == known_settings[i].group)
                say_setting(command, command_words(command, &known_settings[j]), file);
    }
    if (command_takes_job(command))
        fprintf(file, "  %-26s%s\n", "--job FILE", "settings from an INI file");
}

/* Sentences in lines of at most so many characters, each after a margin. */
static void say_wrapped(const char *text, int margin, int most, FILE *file)
{
    int at = margin;
    while (*text) {
        const int length = (int)strcspn(text, " ");
        if (at > margin && at + 1 + length > most) {
            fprintf(file, "\n%*s", margin, "");
            at = margin;
        }
        fprintf(file, "%s%.*s", at > margin ? " " : "", length, text);
        at += length + (at > margin);
        text += length + (text[length] == ' ');
    }
    putc('\n', file);
}

static void say_photo_advice(FILE *file)
{
    fputs("\nPhotographs:\n", file);
    for (int i = 0; i < PHOTO_ADVICE; i++) {
        fprintf(file, "  %-8s", photo_advice[i].of);
        say_wrapped(photo_advice[i].text, 10, 90, file);
    }
}

void help_print(Command command, FILE *file)
{
    if (!command) {
        fprintf(file, "rowlock %s: plans murals of rectangular bricks\n\nusage:\n",
                rowlock_version());
        for (int c = 1; c < COMMANDS; c++)
            fprintf(file, "  rowlock %-10s %s\n", about[c].name, about[c].summary);
        fprintf(file, "\n'rowlock help COMMAND' says more, 'rowlock --manual | man -l -' all.\n");
        return;
    }
    const About *a = &about[command];
    fprintf(file, "usage: rowlock %s %s\n\n%s\n%s\n", a->name, a->operands, a->summary, a->more);
    if (a->settings) say_settings(command, file);
    say_own(command, file);
    fprintf(file, "  %-26s%s\n  %-26s%s\n", "-h, --help", "this text", "-V, --version",
            "versions of program, libraries and formats");
    fprintf(file, "\nExamples:\n");
    for (const Example *e = a->example; e < a->example + EXAMPLES_MOST && e->line; e++)
        fprintf(file, "  %s\n      %s\n", e->line, e->what);
    if (a->photographed)
        say_photo_advice(file);
    else if (a->settings)
        fprintf(file, "\n%s\n", cautions);
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
    for (Command c = COMMAND_PLAN; c < COMMANDS; c++) {
        const RowlockSetting own = command_words(c, s);
        if (own.help == s->help) continue;
        fprintf(file, ".br\n%s: \\fI%s\\fR, ", about[c].name, own.value);
        roff(own.help, file);
        putc('\n', file);
    }
}

/* Options that are neither settings nor one command's own, but for --job, which those have that
 * take settings. */
static const struct {
    const char *option, *value, *help;
} common[] = {
    {"--job", " FILE", "settings from an INI file; plan, compare, pick and measure"},
    {"-h, --help", "", "what a command does and takes, as 'rowlock help COMMAND' says it, too"},
    {"-V, --version", "",
     "versions of the program, its libraries and formats, and what it was built with"},
    {"--manual", "", "this page"},
    {"--completion", " SHELL",
     "what bash, zsh or fish reads to complete words of this program; installed with it"},
};

static void roff_common(FILE *file)
{
    for (size_t i = 0; i < sizeof common / sizeof *common; i++) {
        fputs(".TP\n\\fB", file);
        roff(common[i].option, file);
        fprintf(file, "\\fR\\fI%s\\fR\n", common[i].value);
        roff(common[i].help, file);
        putc('\n', file);
    }
}

/* Options that are one command's own. */
static void roff_own(FILE *file)
{
    for (int c = 1; c < COMMANDS; c++)
        for (const OwnOption *own = about[c].own; own < about[c].own + OWN_MOST && own->name;
             own++) {
            fputs(".TP\n\\fB\\-\\-", file);
            roff(own->name, file);
            fprintf(file, "\\fR%s%s%s\n%s: ", own->value ? " \\fI" : "",
                    own->value ? own->value : "", own->value ? "\\fR" : "", about[c].name);
            roff(own->help, file);
            putc('\n', file);
        }
}

static const struct {
    int code;
    const char *what;
} codes[] = {
    {0, "done"},
    {1, "check: a promise does not hold; plan: written, but some brick cannot be made to hold, or "
        "a panel is proven to come apart in a load that the job asks for"},
    {64, "options that make no sense"},
    {65, "input that is wrong"},
    {66, "input that is missing"},
    {69, "something needed is missing, memory for one"},
    {70, "a defect of the program"},
    {73, "output that cannot be created"},
    {74, "reading or writing broke off"},
    {75, "interrupted; nothing is half-written"},
};

static void roff_commands(FILE *file)
{
    fprintf(file,
            ".TH ROWLOCK 1 \"" ROWLOCK_DATE
            "\" \"rowlock %s\"\n.SH NAME\nrowlock \\- plan murals of "
            "rectangular bricks\n.SH SYNOPSIS\n.nf\n",
            rowlock_version());
    for (int c = 1; c < COMMANDS; c++) {
        fprintf(file, "rowlock %s ", about[c].name);
        roff(about[c].operands, file);
        putc('\n', file);
    }
    fputs("rowlock help [COMMAND]\n.fi\n.SH COMMANDS\n", file);
    for (int c = 1; c < COMMANDS; c++) {
        fprintf(file, ".TP\n\\fB%s\\fR\n", about[c].name);
        roff(about[c].summary, file);
        fputs(".\n", file);
        roff(about[c].more, file);
        putc('\n', file);
    }
}

static void roff_outputs(FILE *file)
{
    RowlockOutput output;
    fputs(".SH FILES\n", file);
    for (size_t i = 0; rowlock_output_at(i, &output); i++) {
        fputs(".TP\n\\fB", file);
        roff(output.name, file);
        fprintf(file, "\\fR (");
        roff(output.when, file);
        fputs(")\n", file);
        roff(output.what, file);
        putc('\n', file);
    }
}

static void roff_examples(FILE *file)
{
    fputs(".SH EXAMPLES\n.nf\n", file);
    for (int c = 1; c < COMMANDS; c++)
        for (const Example *e = about[c].example; e < about[c].example + EXAMPLES_MOST && e->line;
             e++) {
            roff(e->line, file);
            putc('\n', file);
        }
    fputs(".fi\n", file);
}

/* The columns of a brick set. */
static const char *const set_keys[][2] = {
    {"size", "NxM units; must be there"},
    {"mass_g", "of one brick; where it is not given it is estimated from the shape"},
    {"price", "of one brick"},
    {"pack", "bricks a pack, 1 by default"},
    {"supplier", "who sells at this price, a name"},
    {"from",
     "the least number of bricks, in one colour, from which this price holds; 1 by default"},
};

/* What a section of --layers may say. */
static const char *const layer_keys[][2] = {
    {"index", "of its pixels in --strokes or --labels, 2 and up; 1 is the ground"},
    {"height", "steps, or a length, beyond what it stands on"},
    {"profile",
     "plateau: level. slope: a straight rise. rounded: a body, the default. relief: what "
     "--relief makes of it"},
    {"rise", "cells from its outline over which it rises, 6 where it is rounded and 10 on a slope; "
             "none: to its middle"},
    {"edge", "sharp: its outline is a jump, the default. soft: it rises from what it stands on"},
    {"texture", "steps that light and dark make within it, 0 to 1"},
    {"on", "the layer that it stands on, or ground"},
};

/* What a section of --regions may say. */
static const char *const region_keys[][2] = {
    {"index", "of its pixels in --region-labels, 1 and up; 0 is what is in no region"},
    {"care", "how much errors count there, 0.1 to 10 times; a brick is worth the less. What "
             "disturbs is an error, too"},
    {"calm", "--calm there, 0 to 10 times"},
    {"thrift", "what bricks cost the look there, 0 to 10 times"},
    {"without", "colours that are not to be there, ids with commas between; what stands or is "
                "pinned is not asked"},
};

/* What an exhibition's file may say beside settings. */
static const char *const show_keys[][2] = {
    {"name", "in [show]: the show's title"},
    {"start",
     "in [show]: the day on which building starts, such as 2027-03-01; without it there are "
     "no dates"},
    {"week", "in [show]: days worked in a week, from Monday, 5 by default"},
    {"free", "in [show]: days on which nobody works, with commas between"},
    {"lead", "in [show]: days from an order to its bricks, 14 by default"},
    {"instalment",
     "in [show]: murals whose building begins within so many days come with one order; "
     "0, the default: one order for all"},
    {"travel", "in [show]: days that crates are on their way"},
    {"stamp", "in [show]: the day on which calendar.ics says that it was made, by default start"},
    {"budget",
     "in [show]: what bricks, labour, sheets, crates, freight and hanging of all murals may "
     "cost; beyond it the least change that will do is told"},
    {"vehicle",
     "in [show]: what crates travel in, truck (13.6 m, common practice), container-20, "
     "container-40, container-40-high (ISO 668), pallets (EN 13698-1); sizes and payloads "
     "from memory. A crate stands on another that was loaded before it where that is at least as "
     "long and deep and carries no more than it weighs itself, which is common practice, and "
     "where both go below the roof with 10 cm to spare; all are lashed"},
    {"room", "in [mural NAME]: where it hangs"},
    {"built", "in [mural NAME]: what stands of it, as replan has it; the mural in DIR is planned "
              "anew around "
              "that, and nothing is ordered for it"},
    {"make", "in [mural NAME]: its place in the order of building; those without one follow, in "
             "the order of the file"},
    {"hang", "in [mural NAME]: its place in the order of hanging, likewise"},
    {"priority", "in [mural NAME]: what a colour difference in it counts where the shelf of "
                 "stock-only is shared out, 0.01 to 100; 1 by default"},
};

/* The desk's page: what its parts do, and by which keys. */
static const char *const desk_parts[][2] = {
    {"stages",
     "at the left, in the order of the work; each has its settings at the right, the same as the "
     "options below, and what the program says that concerns it"},
    {"wall",
     "the mural, and in the stage Size somebody beside it at true scale. + and - walk nearer and "
     "farther, 0 goes back to the planned distance, arrow keys move along"},
    {"frame",
     "in the stage Picture, what is shown of it: arrow keys move it, or the corner that has the "
     "focus, by a hundredth of the picture, with Shift by a twentieth. Turning or mirroring the "
     "picture gives up what was drawn on it; undo brings that back"},
    {"brush",
     "in the stages Regions, Relief and Touch up: arrow keys move it, with Shift farther; space or "
     "Enter paints. Strokes and touched cells are saved as the small pictures that the job names"},
    {"outline",
     "in the stage Regions, a line that a pointer draws round something encloses it. One that ends "
     "where it began is laid along the picture's steepest edges within the brush, however shaky "
     "the hand; 'as drawn' leaves it as it is. In the stage Relief some strokes inside and outside "
     "are enough: outlines are found"},
    {"lamp",
     "in the stage Relief: dragged round its dial, at whose rim the light rakes, or set by its two "
     "sliders"},
    {"numbers",
     "on the wall mark the cells that the first notes beside it name, with their reasons"},
    {"shelf",
     "every version, the newest first; Ctrl Z and Ctrl Shift Z go back and on. A kept one can "
     "be named, and hung beside the mural"},
    {"budget", "the line above turns red where bricks, sheets and labour cost more than --budget"},
    {"other devices",
     "with --listen, one device at a time may be paired: open the address that the desk tells on "
     "it and type the code, which serves once. Five wrong codes are followed by a wait of 30 s "
     "that doubles each time, to an hour. The desk speaks HTTP without TLS: whoever is on the "
     "network may read along. Where that will not do, leave --listen away and put a reverse proxy "
     "with TLS and a password of its own before the desk, on the same machine; it has to send "
     "Host 127.0.0.1:PORT and, where there is one, Origin http://127.0.0.1:PORT, with --port PORT"},
};

static void roff_keys(const char *heading, const char *text, const char *const (*key)[2],
                      size_t keys, FILE *file)
{
    fprintf(file, ".SH %s\n", heading);
    roff(text, file);
    putc('\n', file);
    for (size_t i = 0; i < keys; i++) {
        fprintf(file, ".TP\n\\fB%s\\fR\n", key[i][0]);
        roff(key[i][1], file);
        putc('\n', file);
    }
}

/* What becomes of a relief that cannot be built as it was asked for. */
static const char losses[] =
    "Steps of a wall that no brick could carry are lowered, as little as can be. What that takes "
    "away is told by layer and, of the places that lost most, by place: how many cells, what their "
    "bricks would weigh, and why. Places and layers are ranked by mass and by lost look. Lost look "
    "is what the eye loses: the relief as asked for and as it stands, each lit by the lamp of "
    "relief.png and seen from the distance, differ by a number of CIEDE2000 in each cell, and "
    "these "
    "are added up, but for those under 1, which nobody sees; a cell counts for the place nearest "
    "to it, so that a shadow counts for what no "
    "longer casts it. plan.json has the same under losses, and each cell under lowered. "
    "A brick is called weak where more units would come off with it than it has itself, and three "
    "at least.";
/* How joints are reckoned, and how the studio measures its own bricks. */
static const char forces[] =
    "Bricks are taken as rigid, and a joint as all its knobs pulling while the faces press back. "
    "What a joint takes is told as a share of what it holds when new. Every "
    "share is proven by forces that balance: it is that much at most. Above 1 a linear program "
    "of the bodies that firm joints bind tells, for panels of any size, whether they come apart; "
    "where it does not, and the panel has at most some 1500 joints, one of all bricks tells for "
    "certain, and larger panels are told by what is proven: crate fewer of them, or cut them "
    "smaller. The plan exits 1 where a panel is "
    "proven to come apart in a load that the job asks for, and plan.json counts such panels under "
    "coming_apart. Panels are taken as strapped where they are borne, a sheet as rigid, and a drop "
    "is not looked at. A touch is a push at the middle of a brick's outward face, along its sides "
    "both ways and outward. With --hold a stack of small bricks is tied first, by a brick that "
    "lies over it and over hidden units beside it, as far out as there is such a place: one tie "
    "suffices and costs bricks alone. Where all that is beside shows another colour, or stands "
    "lower, its cell takes the colour of a neighbour, so that bricks span both, and then is "
    "lowered; what all that takes is told. 2.7 N a knob under a brick one unit wide is rounded "
    "down from measured "
    "least torques (P. Funes, thesis, Brandeis 2001, table 2.1: 2.9 to 3.8 N) and from builds that "
    "stood and fell (R. Liu and others, IEEE Robotics and Automation Letters 9(11), 2024: 2.7 to "
    "3.0 N); 1.6 N under a wider "
    "one from those builds (1.6 to 1.8 N). That a third of it may stay loaded is our own choice. "
    "To measure your own: clamp a brick, press a 1x8 on its end by two knobs, hang a cup from "
    "its far end (48 mm beyond the clamped brick at a pitch of 8 mm), and "
    "fill it with water till it lets go. Newtons a knob are the grams, cup included, times 0.0294: "
    "92 g are 2.7 N. With a 2x8 on by two rows of two they are the grams times 0.0147. Take the "
    "least of ten bricks. Who answers for what hangs over people is a licensed person, by local "
    "codes.";

/* How progress is told. */
static const char environment[] =
    "On a terminal the last line of standard error tells how far the work is. Where TERM is dumb "
    "or nothing, or NO_COLOR is set and not empty, no control sequence is written: each stage "
    "is a line of its own, without its share.";

/* The bench: what it keeps, and who may say what. */
static const char *const bench_parts[][2] = {
    {"what is laid",
     "is told by each device as it is tapped, and by one that was out of reach when it is back. Of "
     "each brick the newest word counts, by when it was said; of two at the same instant, the one "
     "that it is laid"},
    {"panels",
     "are taken, given back, and taken over from whoever has them; the page of a panel says whose "
     "it is. Taking keeps nobody from marking bricks: what is laid is laid"},
    {"crew",
     "names of devices, what lacks and whether it is there again, bricks and hours by person and "
     "panel, and the day on which all is laid if it goes on as since the first brick. Hours are "
     "the times between marks, pauses of a quarter of an hour or more left out"},
    {"wall",
     "for visitors: the mural as far as it has grown, without names or buttons. Crew has a link "
     "to it, and so has the page that lists several plans"},
    {"labels",
     "to print: a code for each panel and, with &copies=N in the page's address, for its bags, "
     "which a tablet's camera opens as that panel's page. The bench takes the port of the last "
     "time "
     "where that is free, so the address stays; what a browser still has to tell is kept under it"},
    {"bench.db",
     "in the plan's folder has all that was said (SQLite 3). A mark is confirmed when it is on the "
     "disk. Where the folder is planned anew, what was laid of the earlier plan is kept under "
     "another name. 'rowlock replan DIR --built bench' writes what is laid as a table, "
     "bench-laid.csv, and plans the rest. --export writes all of it as a table, or as JSON that "
     "--import reads back"},
    {"other devices",
     "with --listen, up to 16 may be paired, as with the desk; when the bench is started anew they "
     "are paired anew. What they have not told yet waits in them"},
};

/* What an inspection tells, and what it takes. */
static const char *const inspect_parts[][2] = {
    {"the photograph",
     "shows the panel upright and whole, from straight before it or up to 35 degrees off, rolled "
     "by "
     "12 at most, a third as high as the picture at least, and best nine tenths; a cell takes 4 "
     "pixels or more. Straight is best: what stands out hides what is behind it. Two lamps at 45 "
     "degrees, no flash, and nothing mirrored in the bricks. Expose so that white bricks are not "
     "clipped. Filters and portrait modes change colours in one place and not in another"},
    {"finding it",
     "the pattern of the plan is looked for in all sizes, rolls and tilts, aligned, and proven: "
     "differences between neighbouring cells must go together with the plan's, and with no "
     "other place, turn or mirror image of it. What fails that is refused, and it is said where "
     "the "
     "photograph shows another panel of the plan or is turned. --corners are taken as a beginning "
     "and need not be exact"},
    {"light and white", "are fitted to the plan's colours of all cells, without those that do not "
                        "fit; how each colour "
                        "looks in this photograph is learned from its cells"},
    {"right", "the brick has its colour, as far as this photograph tells"},
    {"wrong", "it shows another colour of the palette: a cross in inspection.png"},
    {"missing",
     "it shows what lies behind, or no colour of the palette: a ring. A base sheet that looks like "
     "a brick of the palette is called wrong"},
    {"shifted",
     "what it should cover shows something else, and what it should not shows its colour: an arrow "
     "to where it is off; a bar where it is too short or off in some way"},
    {"cannot tell",
     "out of the picture, hidden, clipped, in a glare or a shadow, or in so much noise that a "
     "colour 6 CIEDE2000 off would not be seen: three dots. It is never called right, and the exit "
     "status is 1"},
    {"difference, seen_from",
     "in inspection.csv: CIEDE2000 between what the brick shows and how its colour looks here, and "
     "the least difference that would have been noticed. The threshold comes from the noise of "
     "this "
     "photograph, so that of a thousand right bricks not one is called wrong"},
    {"a case that went wrong",
     "is all in the folder of --out: photo as it was given, face.png as the plan has the panel, "
     "inspection.json with the four corners (pixels of the upright photograph: upper left, upper "
     "right, lower right, lower left), inspection.csv and inspection.png. Say beside it which "
     "bricks "
     "were told wrongly, by row and column. What is measured of inspect was measured on "
     "photographs that were rendered, with a phone's noise, lens and light; real ones differ, by "
     "their cameras' own sharpening and local contrast above all, and such a folder is how they "
     "can "
     "be looked into"},
};

static const char *const measure_parts[][2] = {
    {"How it goes",
     "The chart's patches tell what the camera makes of colours, and together with its ground and "
     "with paper how even the light is; both are fitted in turn. Of each place the middle half "
     "counts, in linear light, without what shines on it. Colours are fitted by root-polynomial "
     "regression (Finlayson, Mackiewicz and Hurlbert, 2015) of the degree, 1 to 4, that does best "
     "on patches that are left out, with a tone curve where that does clearly better."},
    {"The chart",
     "It is found by its own pattern, whichever way it is turned, where it shows whole and its "
     "patches are 8 pixels or more in a picture made 900 wide. Else --chart says where it is: the "
     "middles of the first patch (dark skin), of the last in its row, of the last patch, and of "
     "the first in the last row, in pixels. Other charts are given with --chart-values."},
    {"The list",
     "--patches is CSV: id, name, and either x, y, width, height or x1, y1 to x4, y4 around, in "
     "pixels of the upright photograph from its upper left corner. A column photo has the "
     "photograph's file name or its number. A column on says photo or chart: on the chart's plane "
     "0,0 is the middle of the first patch, 1,0 that of the next in its row, so that one list "
     "serves all photographs of a tray. Rows with the id paper are places of plain matt paper."},
    {"The result",
     "CGATS.17 with LAB_L, LAB_A, LAB_B (D50, 2 degrees) and STDEV_DE, the root mean square error "
     "that is to be expected, in CIEDE2000. Nine of ten colours should lie within one and a half "
     "times of it. Part of it is that pigments of bricks differ from those of the chart, which no "
     "camera sees; it does not go away with more photographs."},
    {"What is refused",
     "Patches that are clipped or shine, light whose colour changes over the plane by 8 per cent, "
     "a chart whose patches, left out one by one, are missed by more than 3 on average or 6 at "
     "worst. A brick that is clipped, shines or has two colours in it is said and left out; where "
     "a colour has no other, nothing is written."},
    {"A grey card",
     "With --grey there is only white balance and brightness; the rest is taken as the picture's "
     "profile has it, and STDEV_DE is 5."},
    {"How sure it is",
     "The figures come from photographs that a model of a camera made: four lights, up to 35 "
     "degrees, white balance wrong by 30 per cent, noise, JPEG. Real cameras differ. Measure a "
     "few bricks with a colour meter, too, before much is ordered by it."},
};

static void roff_sections(FILE *file)
{
    roff_keys("MEASURING BRICKS",
              "'rowlock measure' reads from photographs what colours bricks are. How photographs "
              "are taken stands in 'rowlock measure --help'.",
              measure_parts, sizeof measure_parts / sizeof *measure_parts, file);
    roff_keys("INSPECTION",
              "'rowlock inspect' holds a photograph of a panel to its plan. Rows and columns are "
              "those of the mural, from 1 at the lower left.",
              inspect_parts, sizeof inspect_parts / sizeof *inspect_parts, file);
    roff_keys("THE BENCH",
              "'rowlock bench' serves the build books of plans to those who build. The page is "
              "that of book.html, which works without it too.",
              bench_parts, sizeof bench_parts / sizeof *bench_parts, file);
    roff_keys("THE DESK",
              "'rowlock desk' plans on a live page. It draws only what the program answers, and "
              "what it makes, 'rowlock plan --job' makes from the job file that it saves. It "
              "listens to this machine alone, at most to 64 connections, and lets in whoever has "
              "its link.",
              desk_parts, sizeof desk_parts / sizeof *desk_parts, file);
    roff_keys("BRICK SET",
              "A file for --bricks is CSV with these columns. With pack, supplier or from a size "
              "may have several rows, an offer each. Then each colour of a size is bought the "
              "cheapest way there is: of one supplier or several, and more than is needed where "
              "a price break makes that cheaper; order.csv is by supplier and has the columns "
              "supplier, unit_price and from besides. A price in --stock comes before them. What "
              "a brick is worth to the plan is the price of the offer that asks the fewest.",
              set_keys, sizeof set_keys / sizeof *set_keys, file);
    roff_keys("LAYERS",
              "A file for --layers has a section [layer NAME] for each, with these keys; index and "
              "height must be there.",
              layer_keys, sizeof layer_keys / sizeof *layer_keys, file);
    roff_keys("REGIONS",
              "A file for --regions has a section [region NAME] for each, with these keys; index "
              "must be there. A cell is in the region that has most of it; --care counts "
              "besides. White of --care is 10 times, black a tenth, mid grey 1, and each step of "
              "grey between them the same ratio.",
              region_keys, sizeof region_keys / sizeof *region_keys, file);
    roff_keys(
        "EXHIBITION",
        "A file for exhibition has a section [show] and a section [mural NAME] for each mural; "
        "NAME is that of its folder. Keys are the names of plan's options, and those below. "
        "Palette, brick set, stock, spares, pitch, brick height, crew, packing and currency "
        "are of the show; what [show] says besides holds for each mural that does not say "
        "otherwise. A mural is planned as if nothing lay on the shelf, which is taken off the "
        "order of all; with stock-only = yes the shelf is shared out among the murals first, "
        "so that the differences from all pictures are least in sum, each times its priority; "
        "what stands of a mural takes nothing of it. "
        "colours, keep and without, as pick has them, pick from the palette the colours that all "
        "murals are planned with; a mural counts by its area.",
        show_keys, sizeof show_keys / sizeof *show_keys, file);
}

void help_manual(FILE *file)
{
    roff_commands(file);
    fputs(".SH OPTIONS\nThe job file has the same names as keys. Not every command takes every "
          "option: see the help of each. A job file may name files anywhere to be read; its out is "
          "taken\nonly within the folder that the program is run in, unless it is given with "
          "\\-\\-out "
          "too.\n",
          file);
    for (size_t i = 0; i < known_settings_count; i++) roff_setting(&known_settings[i], file);
    roff_own(file);
    roff_common(file);
    roff_sections(file);
    fputs(".SH WHAT CANNOT BE CARRIED\n", file);
    roff(losses, file);
    putc('\n', file);
    fputs(".SH HOW HARD IT HOLDS\n", file);
    roff(forces, file);
    putc('\n', file);
    roff_outputs(file);
    fputs(
        ".PP\nText in these tables that begins with =, +, -, @, a tab, a carriage return or an "
        "apostrophe, which a\nspreadsheet could run as a formula, has an apostrophe before it. It "
        "is dropped again where a table is read.\n",
        file);
    fputs(".SH ENVIRONMENT\n", file);
    roff(environment, file);
    putc('\n', file);
    fputs(".SH EXIT STATUS\n", file);
    for (size_t i = 0; i < sizeof codes / sizeof *codes; i++) {
        fprintf(file, ".TP\n\\fB%d\\fR\n", codes[i].code);
        roff(codes[i].what, file);
        putc('\n', file);
    }
    roff_examples(file);
    fputs(".SH CAUTIONS\n", file);
    roff(cautions, file);
    putc('\n', file);
}
