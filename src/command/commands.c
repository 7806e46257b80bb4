/* One table says what each command is and one which settings it takes, and how often; reading, help
 * and manual go by them. Of the settings themselves the library's table tells. */
#include "command/commands.h"

#include <string.h>

RowlockSetting known_settings[SETTINGS_MOST];
size_t known_settings_count;

void known_settings_list(void)
{
    known_settings_count = 0;
    while (known_settings_count < SETTINGS_MOST &&
           rowlock_setting_at(known_settings_count, &known_settings[known_settings_count]))
        known_settings_count++;
}

#define NO_OWN_OPTIONS                                                                             \
    {                                                                                              \
        {                                                                                          \
            NULL, NULL, NULL                                                                       \
        }                                                                                          \
    }

const About about[COMMANDS] = {
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
         false,
         {{"rowlock plan harbour.png --width 1.6m --out harbour", "a plaque 1.6 m wide"},
          {"rowlock plan harbour.png --columns 48 --palette greys.csv --out small",
           "one panel in a palette of your own"},
          {"rowlock plan --job harbour.ini --dither floyd-steinberg",
           "a job file, one word changed"}},
         NO_OWN_OPTIONS},
    [COMMAND_COMPARE] =
        {"compare",
         "REFERENCE --palette FILE --palette FILE ... (--columns N | --width LENGTH) --out DIR",
         "plan a picture under several palettes and set them side by side",
         "--palette, --dither, --columns and --width may be given several times; every "
         "combination\n"
         "is planned. DIR gets compare.png, compare.pdf and compare.csv: how each looks from\n"
         "--distance, where it is worst, and what it takes in bricks, price, mass and hours.",
         true,
         false,
         {{"rowlock compare harbour.png --palette greys.csv --palette earths.csv --columns 96 "
           "--out palettes",
           "two palettes"},
          {"rowlock compare harbour.png --dither none --dither distance --columns 64 --columns 128 "
           "--out sizes --sort price",
           "two ways of choosing colours in two sizes, the cheapest first"}},
         NO_OWN_OPTIONS},
    [COMMAND_PICK] =
        {"pick",
         "REFERENCE ... --palette FILE --colours K --out FILE",
         "pick the K colours of a palette that serve a picture best",
         "Colours are judged as they mix at --distance. FILE is the picked palette, CGATS.17;\n"
         "beside it stand FILE's stem with -curve.csv and -curve.png: how the difference falls\n"
         "with the number of colours. '-' is standard output, for the palette alone. Several\n"
         "pictures are served together.",
         true,
         false,
         {{"rowlock pick harbour.png --palette bricks-96.csv --colours 16 --columns 96 --out "
           "harbour.cgats",
           "16 of 96"},
          {"rowlock pick a.png b.png --colours 12 --keep N1,N9 --out pair.cgats",
           "for two murals, black and white among them"}},
         NO_OWN_OPTIONS},
    [COMMAND_MEASURE] =
        {"measure",
         "PHOTO ... --patches FILE --out FILE [--chart X,Y,X,Y,X,Y,X,Y] [options]",
         "measure bricks in photographs, beside a colour chart",
         "PHOTO shows bricks and a chart of 24 patches, which is found, or a grey card with "
         "--grey. FILE of\n"
         "--patches is CSV, a row for each brick: id and name of its colour, and its corners in\n"
         "pixels; with 'chart' in a column 'on' they are counted in patches from the middle of\n"
         "the first. Several bricks and photographs of a colour are joined; a column 'photo'\n"
         "says which. Rows with the id paper are places of plain paper or card all around; they\n"
         "tell how even the light is. --out is a palette in Lab D50 for plan, compare and pick,\n"
         "and STDEV_DE in it says how sure each colour is. What cannot be trusted is refused:\n"
         "clipped, shining, lit in two colours, or missed by more than 3 on average.",
         true,
         true,
         {{"rowlock measure bricks.jpg --patches bricks.csv --out bricks.cgats",
           "the chart is found by itself"},
          {"rowlock measure one.tif two.tif --chart \"210,340,890,350,880,790,200,780; "
           "190,300,900,310,890,770,180,760\" --patches bricks.csv --out bricks.cgats",
           "two photographs, with the middles of the chart's corner patches in each"},
          {"rowlock measure bricks.tif --white paper.tif --patches bricks.csv --out bricks.cgats",
           "uneven light, evened by a photograph of white paper"}},
         NO_OWN_OPTIONS},
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
         false,
         {{"rowlock replan harbour --built 1-40 --stock shelf.csv --stock-only --out harbour-2",
           "40 rows stand; the rest must come from the shelf"},
          {"rowlock replan harbour --built r1c1,r1c2 --palette greys.csv --out harbour-2",
           "two panels stand; other colours from there on"}},
         NO_OWN_OPTIONS},
    [COMMAND_CHECK] =
        {"check",
         "DIR",
         "re-derive a plan's promises from its files alone",
         "DIR may be an exhibition's, too: then its murals and its tables are checked. Prints one\n"
         "line for each promise that does not hold, and exits 1 if there is any.",
         false,
         false,
         {{"rowlock check harbour", "a plan that was edited, or copied"}},
         NO_OWN_OPTIONS},
    [COMMAND_INSPECT] =
        {"inspect",
         "DIR PHOTO --panel NAME [--to ROW] [--corners X,Y,X,Y,X,Y,X,Y] [--sheet COLOUR] "
         "[--out DIR]",
         "hold a photograph of a panel to its plan, brick by brick",
         "DIR is a plan's folder, PHOTO a photograph of one of its panels, upright, whole, taken\n"
         "from straight before it or up to 35 degrees off. The panel is found by its own\n"
         "pattern, light and white are fitted to the plan's colours, and each brick is judged:\n"
         "right, wrong, missing, shifted by a cell, or that the photograph does not tell. Prints\n"
         "a line for each brick that is not seen to be right, and exits 1 if there is any.\n"
         "A photograph that does not show the panel is refused. --out has the list, the panel\n"
         "with marks, and all that is needed to look at a case that went wrong.",
         true,
         true,
         {{"rowlock inspect harbour panel.jpg --panel r2c3", "a finished panel"},
          {"rowlock inspect harbour half.jpg --panel r2c3 --to 68 --out half",
           "built up to row 68; a marked picture goes into the folder half"}},
         {{"panel", "NAME", "the panel in the photograph, such as r2c3"},
          {"to", "ROW", "the mural's row up to which the panel is built; by default the last"},
          {"corners", "X,Y,X,Y,X,Y,X,Y",
           "pixels of the corners of what is built, upper left, upper right, lower right, lower "
           "left, where it is not found by itself"},
          {"sheet", "COLOUR",
           "colour of the sheet that the bricks lie on, where it is like one of theirs: an id of "
           "the palette, or #RRGGBB; by default what is seen of it is told by its place"}}},
    [COMMAND_EXHIBITION] =
        {"exhibition",
         "FILE --out DIR",
         "plan many murals that share palette, shelf and order",
         "FILE is an INI file: [show] has what all murals share, [mural NAME] what one has of its\n"
         "own; the keys are the names of plan's options, and those of rowlock(5), which\n"
         "--manual=formats prints. Each mural becomes an ordinary plan in DIR/NAME. Only murals\n"
         "that changed are planned, so a run that was stopped goes on where it was.",
         true,
         false,
         {{"rowlock exhibition tour.ini --out tour", "all murals of a show"}},
         NO_OWN_OPTIONS},
    [COMMAND_DESK] =
        {"desk",
         "[PICTURE | JOB.ini | PLAN-DIR] [--port N] [--listen ADDRESS] [--no-open]",
         "plan a mural on a live page, and see every change at once",
         "Prints one link and opens it in a browser. The page is served to this machine alone, "
         "and\n"
         "only the link lets in. Beside what was named stands NAME.desk: job.ini, which makes the\n"
         "same plan with 'rowlock plan --job', what was brought to the page, and all versions, so\n"
         "that the desk goes on where it was left, also after it was killed.\n"
         "A photograph of bricks beside a colour chart is measured there, and one of a panel is\n"
         "held to the plan, as by measure and inspect.\n"
         "With --listen another device may be paired, one at a time, by a code that the desk "
         "shows;\n"
         "after five wrong ones it waits, each time twice as long. Ctrl-C ends it.",
         false,
         false,
         {{"rowlock desk harbour.png", "a picture"},
          {"rowlock desk harbour.ini --no-open --port 8080", "a job, at a port of your choice"},
          {"rowlock desk harbour.desk", "a mural that was on the desk before"},
          {"rowlock desk harbour.png --listen 192.168.1.20", "from a tablet as well"}},
         {{"port", "N", "where to listen, 0 for any that is free [0]"},
          {"listen", "ADDRESS", "an address of this machine, for a device that is paired with it"},
          {"no-open", NULL, "print the link alone, open no browser"}}},
    [COMMAND_BENCH] =
        {"bench",
         "DIR... [--port N] [--listen ADDRESS] [--no-open] | DIR --export FILE",
         "serve build books to many devices, with one state of what is laid",
         "Prints one link and opens it in a browser. Each DIR is a plan's folder; its build book\n"
         "is served with what others lay, who has which panel, what lacks, and the pace. What was\n"
         "laid out of reach is told as soon as the bench is reached again. All of it is kept in\n"
         "DIR/bench.db. A photograph that is taken on the page is held to the plan as by inspect.\n"
         "With --listen devices are paired, each by a code of its own that the bench shows.\n"
         "'rowlock replan DIR --built bench' plans the rest. Ctrl-C ends it.",
         false,
         false,
         {{"rowlock bench harbour", "one mural, on this machine"},
          {"rowlock bench tour/one tour/two --listen 192.168.1.20",
           "two, for the studio's tablets"},
          {"rowlock bench harbour --export harbour.csv", "all that happened, as a table"}},
         {{"port", "N", "where to listen, 0 for that of the last time, or any that is free [0]"},
          {"listen", "ADDRESS", "an address of this machine, for devices that are paired with it"},
          {"no-open", NULL, "print the link alone, open no browser"},
          {"export", "FILE", "write all that happened, FILE in .csv or .json, and serve nothing"},
          {"import", "FILE", "take in first what was exported to FILE, in .json"}}},
};

/* ---- which command takes which setting ---- */

enum {
    PLAN = 1 << COMMAND_PLAN,
    COMPARE = 1 << COMMAND_COMPARE,
    PICK = 1 << COMMAND_PICK,
    MEASURE = 1 << COMMAND_MEASURE,
    REPLAN = 1 << COMMAND_REPLAN,
    INSPECT = 1 << COMMAND_INSPECT,
    EXHIBITION = 1 << COMMAND_EXHIBITION
};

/* Settings that are not here are for plan, compare and replan, once each. Those for plan
 * and not for replan would change what stands. */
static const struct Taking {
    const char *setting;
    unsigned takes, repeats; /* sets of commands */
} takings[] = {
    {"out", PLAN | COMPARE | PICK | MEASURE | REPLAN | INSPECT | EXHIBITION, 0},
    {"palette", PLAN | COMPARE | PICK | REPLAN, COMPARE},
    {"dither", PLAN | COMPARE | REPLAN, COMPARE},
    {"columns", PLAN | COMPARE | PICK, COMPARE},
    {"width", PLAN | COMPARE | PICK, COMPARE},
    {"rows", PLAN | COMPARE | PICK, 0},
    {"height", PLAN | COMPARE | PICK, 0},
    {"build", PLAN | COMPARE | PICK, 0},
    {"turn", PLAN | COMPARE, 0},
    {"mirror", PLAN | COMPARE, 0},
    {"crop", PLAN | COMPARE, 0},
    {"pitch", PLAN | COMPARE | PICK, 0},
    {"brick-height", PLAN | COMPARE | PICK, 0},
    {"thickness", PLAN | COMPARE, 0},
    {"distance", PLAN | COMPARE | PICK | REPLAN, 0},
    {"calm", PLAN | COMPARE | REPLAN, 0},
    {"ground", PLAN | COMPARE | PICK | REPLAN, 0},
    {"tone", PLAN | COMPARE | REPLAN, 0},
    {"bricks", PLAN | COMPARE | PICK | REPLAN, 0},
    {"stock", PLAN | COMPARE | PICK | REPLAN, 0},
    {"limit", PLAN | COMPARE | PICK | REPLAN, 0},
    {"threads", PLAN | COMPARE | PICK | REPLAN | INSPECT | EXHIBITION, 0},
    {"memory", PLAN | COMPARE | MEASURE | REPLAN | INSPECT | EXHIBITION, 0},
    {"quiet", PLAN | COMPARE | PICK | MEASURE | REPLAN | INSPECT | EXHIBITION, 0},
    {"built", REPLAN, 0},
    {"sort", COMPARE, 0},
    {"colours", PICK, 0},
    {"keep", PICK, 0},
    {"without", PICK, 0},
    {"price-weight", PICK, 0},
    {"patches", MEASURE, 0},
    {"chart", MEASURE, 0},
    {"chart-values", MEASURE, 0},
    {"chart-grid", MEASURE, 0},
    {"grey", MEASURE, 0},
    {"white", MEASURE, 0},
    {"into", MEASURE, 0},
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
    {"door", PLAN | COMPARE, 0},
    {"sheet-mass", PLAN | COMPARE, 0},
    {"sheet-depth", PLAN | COMPARE, 0},
    {"board", PLAN | COMPARE, 0},
    {"board-density", PLAN | COMPARE, 0},
    {"frame-mass", PLAN | COMPARE, 0},
    {"frame-depth", PLAN | COMPARE, 0},
    {"fixings", PLAN | COMPARE, 0},
    {"fixing-mass", PLAN | COMPARE, 0},
    {"kit", PLAN | COMPARE, 0},
    {"kit-even", PLAN | COMPARE, 0},
    {"hollow", PLAN | COMPARE, 0},
    {"cells", PLAN | REPLAN, 0},
    {"pins", PLAN | REPLAN, 0},
    {"light-angle", PLAN | REPLAN, 0},
    {"light-height", PLAN | REPLAN, 0},
    {"clutch", PLAN | REPLAN, 0},
    {"hold-safety", PLAN | REPLAN, 0},
    {"crate-g", PLAN | REPLAN, 0},
    {"touch", PLAN | REPLAN, 0},
    {"hold", PLAN, 0},
    {"load-cases", PLAN | REPLAN, 0},
    {"budget", PLAN | REPLAN, 0},
    {"packing", PLAN | COMPARE, 0},
    {"quote", PLAN | REPLAN, 0},
    {"book", PLAN | REPLAN, 0},
    {"lists", PLAN | REPLAN, 0},
};

static const struct Taking *taking_of(const RowlockSetting *s)
{
    static const struct Taking other = {NULL, PLAN | COMPARE | REPLAN, 0};
    for (size_t i = 0; i < sizeof takings / sizeof *takings; i++)
        if (!strcmp(takings[i].setting, s->name)) return &takings[i];
    return &other;
}

bool command_takes(Command command, const RowlockSetting *s)
{
    return !command || (taking_of(s)->takes >> command & 1);
}

bool command_takes_job(Command command)
{
    return !command || (about[command].settings && command != COMMAND_REPLAN &&
                        command != COMMAND_EXHIBITION && command != COMMAND_INSPECT);
}

static const struct Words {
    Command command;
    const char *setting, *value, *help;
} words[] = {
    {COMMAND_COMPARE, "out", "DIR",
     "folder to write the comparison to; an earlier one there is replaced"},
    {COMMAND_EXHIBITION, "out", "DIR", "folder of the show; each mural has one of its own in it"},
    {COMMAND_INSPECT, "out", "DIR",
     "folder for the list, the panel with marks, and what a case is looked into with; an earlier "
     "one there is replaced"},
    {COMMAND_INSPECT, "memory", "SIZE",
     "refuse photographs that would take more; by default three quarters of what is free"},
    {COMMAND_PICK, "out", "FILE", "file to write the picked palette to; '-' is standard output"},
    {COMMAND_MEASURE, "out", "FILE",
     "file to write the measured palette to; '-' is standard output"},
    {COMMAND_MEASURE, "memory", "SIZE",
     "refuse photographs that would take more; by default three quarters of what is free"},
};

RowlockSetting command_words(Command command, const RowlockSetting *s)
{
    RowlockSetting own = *s;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (words[i].command == command && !strcmp(words[i].setting, s->name)) {
            own.value = words[i].value;
            own.help = words[i].help;
        }
    return own;
}

bool command_fixes(Command command, const RowlockSetting *s)
{
    return command == COMMAND_REPLAN && command_takes(COMMAND_PLAN, s) &&
           !command_takes(command, s);
}

bool command_repeats(Command command, const RowlockSetting *s)
{
    return taking_of(s)->repeats >> command & 1;
}
