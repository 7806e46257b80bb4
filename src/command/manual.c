/* The manual of the program is its help in the man macros, with what help has no room for.
 *
 * Source: man(7); exit codes, sysexits(3). */
#include "command/manual.h"

#include "command/commands.h"
#include "command/help.h"
#include "command/roff.h"
#include "rowlock.h"

#include <string.h>

static void put_option(const char *name, const char *value, FILE *file)
{
    char dashed[64];
    snprintf(dashed, sizeof dashed, "--%s", name);
    roff_name(dashed, value, file);
}

static void roff_setting(const RowlockSetting *s, FILE *file)
{
    put_option(s->name, s->value, file);
    roff_text(s->help, file);
    if (*s->fallback && strcmp(s->fallback, "0") && s->type != ROWLOCK_SWITCH) {
        fputs(" (", file);
        roff_text(s->fallback, file);
        putc(')', file);
    }
    putc('\n', file);
    for (Command c = COMMAND_PLAN; c < COMMANDS; c++) {
        const RowlockSetting own = command_words(c, s);
        if (own.help == s->help) continue;
        fprintf(file, ".br\n%s: \\fI%s\\fR, ", about[c].name, own.value);
        roff_text(own.help, file);
        putc('\n', file);
    }
}

/* Options that are neither settings nor one command's own, but for --job, which those have that
 * take settings. */
static const struct {
    const char *option, *value, *help;
} common[] = {
    {"--job", "FILE", "settings from an INI file; plan, compare, pick and measure"},
    {"-h, --help", NULL, "what a command does and takes, as 'rowlock help COMMAND' says it, too"},
    {"-V, --version", NULL,
     "versions of the program, its libraries and formats, and what it was built with"},
    {"--manual", NULL, "this page; --manual=formats: rowlock(5), what the files are"},
    {"--completion", "SHELL",
     "what bash, zsh or fish reads to complete words of this program; installed with it"},
};

static void roff_common(FILE *file)
{
    for (size_t i = 0; i < sizeof common / sizeof *common; i++) {
        roff_name(common[i].option, common[i].value, file);
        roff_text(common[i].help, file);
        putc('\n', file);
    }
}

/* Options that are one command's own. */
static void roff_own(FILE *file)
{
    for (int c = 1; c < COMMANDS; c++)
        for (const OwnOption *own = about[c].own; own < about[c].own + OWN_MOST && own->name;
             own++) {
            put_option(own->name, own->value, file);
            fprintf(file, "%s: ", about[c].name);
            roff_text(own->help, file);
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
        roff_text(about[c].operands, file);
        putc('\n', file);
    }
    fputs("rowlock help [COMMAND]\n.fi\n.SH COMMANDS\n", file);
    for (int c = 1; c < COMMANDS; c++) {
        roff_name(about[c].name, NULL, file);
        roff_text(about[c].summary, file);
        fputs(".\n", file);
        roff_text(about[c].more, file);
        putc('\n', file);
    }
}

static void roff_outputs(FILE *file)
{
    RowlockOutput output;
    fputs(".SH FILES\n", file);
    for (size_t i = 0; rowlock_output_at(i, &output); i++) {
        char when[64];
        snprintf(when, sizeof when, "(%s)", output.when);
        roff_name(output.name, when, file);
        roff_text(output.what, file);
        putc('\n', file);
    }
}

static void roff_examples(FILE *file)
{
    fputs(".SH EXAMPLES\n.nf\n", file);
    for (int c = 1; c < COMMANDS; c++)
        for (const Example *e = about[c].example; e < about[c].example + EXAMPLES_MOST && e->line;
             e++) {
            roff_text(e->line, file);
            putc('\n', file);
        }
    fputs(".fi\n", file);
}

/* The desk's page: what its parts do, and by which keys. */
static const char *const desk_parts[][2] = {
    {"stages",
     "at the left, in the order of the work; each has its settings at the right, the same as the "
     "options below, and what the program says that concerns it"},
    {"wall",
     "the mural, and in the stage Size somebody beside it at true scale. + and - walk nearer and "
     "farther, from 1 m to 20 m, 0 goes back to the planned distance, arrow keys move along"},
    {"frame",
     "in the stage Picture, what is shown of it: arrow keys move it, or the corner that has the "
     "focus, by a hundredth of the picture, with Shift by a twentieth. Turning or mirroring the "
     "picture gives up what was drawn on it; undo brings that back"},
    {"brush",
     "in the stages Regions, Relief and Touch up: arrow keys move it, with Shift farther; space or "
     "Enter paints. Strokes and touched cells are saved as the small pictures that the job names"},
    {"outline",
     "in the stages Regions and Relief some strokes inside and outside are enough: the outline is "
     "found along the picture's edges, and of regions shown on the mural with the cells that each "
     "has. Where it is not to be trusted a note says so, with its place on the mural. A stroke "
     "more mends it there; what is rubbed out is found anew. Regions "
     "that were drawn whole take strokes as well"},
    {"lamp",
     "in the stage Relief: dragged round its dial, at whose rim the light rakes, or set by its two "
     "sliders"},
    {"numbers",
     "on the wall mark the cells that notes beside it name; a note that names several has its "
     "number at each"},
    {"shelf",
     "every version, the newest first; Ctrl Z and Ctrl Shift Z go back and on. A kept one can "
     "be named, and hung beside the mural or beside another: a wipe goes from one to the other, "
     "each at its true size and seen by the same eye, and their figures stand below, with the "
     "difference"},
    {"cost",
     "stands above: bricks, colours, sizes, mass, price, hours, panels, crates of what hangs on "
     "the wall. While a change is planned the last figures stay, in grey. The price is what "
     "bricks, sheets and labour come to, as far as they have one; beyond --budget it turns red"},
    {"bench",
     "in the stage Plan, once a plan is made: a link that opens it on this machine, as long as the "
     "desk is open. Making the plan anew closes it. The command for tablets stands below"},
    {"other devices",
     "with --listen, one device at a time may be paired: open the address that the desk tells on "
     "it and type the code, which serves once. Five wrong codes are followed by a wait of 30 s "
     "that doubles each time, to an hour. The desk speaks HTTP without TLS: whoever is on the "
     "network may read along. Where that will not do, leave --listen away and put a reverse proxy "
     "with TLS and a password of its own before the desk, on the same machine; it has to send "
     "Host 127.0.0.1:PORT and, where there is one, Origin http://127.0.0.1:PORT, with --port PORT"},
};

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
    {"photograph",
     "of the open panel, taken or chosen on its page: it is held to the plan as 'rowlock inspect' "
     "does, up to the row that is given, the one in hand at first. What is seen stands as marks on "
     "the chart and as a list, and all that is right is ticked in one go, never what it does not "
     "tell unless that is asked for. Where the panel is not found, its corners are dragged to "
     "where "
     "they are. The photograph is not kept"},
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
     "a brick of the palette is called wrong, unless --sheet says what colour it has; then bricks "
     "of that colour are not told, for they would look the same if they lacked"},
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
     "camera sees; it does not go away with more photographs. With --into the palette has the "
     "colours of another one as well, as they stand there."},
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
     "degrees, white balance wrong by 30 per cent, noise, JPEG. In daylight 48 bricks were missed "
     "by 0.6 on average and 1.8 at worst, by an incandescent or a warm white lamp by 1.1 and 3.3. "
     "Of 96 others one, a blue beyond what the picture could hold, was missed by up to 8, the rest "
     "by 3.4 at worst. Such a brick is said; its STDEV_DE was 3.7 or more where it was missed by "
     "more than 3.5. Real cameras differ. Measure a few bricks with a colour meter, too, before "
     "much is ordered by it."},
};

static void roff_sections(FILE *file)
{
    roff_section("THE BENCH",
                 "'rowlock bench' serves the build books of plans to those who build. The page is "
                 "that of book.html, which works without it too.",
                 file);
    roff_keys(bench_parts, sizeof bench_parts / sizeof *bench_parts, file);
    roff_section(
        "MEASURING BRICKS",
        "'rowlock measure' reads from photographs what colours bricks are. How photographs "
        "are taken stands in 'rowlock measure --help'.",
        file);
    roff_keys(measure_parts, sizeof measure_parts / sizeof *measure_parts, file);
    roff_section(
        "INSPECTION",
        "'rowlock inspect' holds a photograph of a panel to its plan. Rows and columns are "
        "those of the mural, from 1 at the lower left.",
        file);
    roff_keys(inspect_parts, sizeof inspect_parts / sizeof *inspect_parts, file);
    roff_section(
        "THE DESK",
        "'rowlock desk' plans on a live page. It draws only what the program answers, and "
        "what it makes, 'rowlock plan --job' makes from the job file that it saves. It "
        "listens to this machine alone, at most to 64 connections, and lets in whoever has "
        "its link.",
        file);
    roff_keys(desk_parts, sizeof desk_parts / sizeof *desk_parts, file);
}

static void roff_codes(FILE *file)
{
    char code[8];
    fputs(".SH EXIT STATUS\n", file);
    for (size_t i = 0; i < sizeof codes / sizeof *codes; i++) {
        snprintf(code, sizeof code, "%d", codes[i].code);
        roff_name(code, NULL, file);
        roff_text(codes[i].what, file);
        putc('\n', file);
    }
}

static void write_page(FILE *file)
{
    roff_commands(file);
    roff_section("OPTIONS",
                 "The job file has the same names as keys. Not every command takes every option: "
                 "see the help of each. A job file may name files anywhere to be read; its out is "
                 "taken only within the folder that the program is run in, unless it is given with "
                 "--out too.",
                 file);
    for (size_t i = 0; i < known_settings_count; i++) roff_setting(&known_settings[i], file);
    roff_own(file);
    roff_common(file);
    roff_sections(file);
    roff_section("WHAT CANNOT BE CARRIED", losses, file);
    roff_section("HOW HARD IT HOLDS", forces, file);
    roff_outputs(file);
    roff_section("ENVIRONMENT", environment, file);
    roff_codes(file);
    roff_examples(file);
    roff_section("CAUTIONS", help_cautions, file);
    fputs(".SH SEE ALSO\n.BR rowlock (5)\n", file);
}

bool manual_print(FILE *file) { return roff_page(write_page, file); }
