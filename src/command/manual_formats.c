/* What there is to know of files that are read and written: the keys of those that are written by
 * hand, the columns of tables from the list that their writers go by, and where the schemas of JSON
 * documents lie.
 *
 * Source: man(7). */
#include "base/file_format.h"
#include "base/table_list.h"
#include "command/manual.h"
#include "command/roff.h"
#include "rowlock.h"

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
    {"index",
     "of its pixels in --region-strokes or --region-labels, 1 and up. What is in no region is "
     "255 in strokes, 0 in labels; without strokes of 255 regions share the whole picture"},
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
     "container-40, container-40-high (ISO 668); sizes and payloads "
     "from memory. A crate stands on another that was loaded before it where that is at least as "
     "long and deep and carries no more than it weighs itself, which is common practice, and "
     "where both go below the roof with 10 cm to spare; all are lashed. What is opened first is "
     "loaded last. A crate that goes into none is told"},
    {"pallet",
     "in [show]: what crates stand on in it, none, 1200x800 (EN 13698-1), 1200x1000, 1219x1016, "
     "1165x1165, 1100x1100, 1067x1067 (ISO 6780); each 144 mm high and for 1,000 kg, from memory, "
     "and loaded to 2.2 m at most, common practice. A crate that fits none stands on the floor"},
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

/* The other tables that are read. */
static const char *const palette_keys[][2] = {
    {"id", "up to four letters and digits, as on the bags; CGATS.17: SAMPLE_ID"},
    {"name", "in words; CGATS.17: SAMPLE_NAME"},
    {"L, a, b", "CIELAB for D50 and the 2 degree observer; CGATS.17: LAB_L LAB_A LAB_B"},
    {"hex", "instead of these in CSV: sRGB, such as #883322"},
};

static const char *const stock_keys[][2] = {
    {"colour", "an id of the palette"},
    {"size", "of the brick set, such as 2x4"},
    {"quantity", "bricks on the shelf"},
    {"price", "of one brick; empty: the brick set's"},
    {"pack", "bricks in a pack; may be left out: 1"},
};

static const char job[] =
    "A job file is INI: a name, = and a value a line, the names of rowlock's options without their "
    "dashes; a switch is yes or no. Sections are the user's own, and ; opens a comment. A path is "
    "taken from the file's folder. A name that is no option, or stands twice, is told. The "
    "settings "
    "of a plan stand in its plan.json in the same words.";

static const char documents[] =
    "plan.json, quote.json, show.json, the record of a bench and the journal of a desk open with "
    "format and version. A version grows where a reader of the one before would misread the file; "
    "members may be added within one. This program reads every version up to the one that it "
    "writes, which --version tells, and refuses a newer one. plan.schema.json and "
    "quote.schema.json in share/rowlock/schema are JSON Schemas (2020-12) of the first two: each "
    "member with its type, its range and what it is. Numbers are in the unit that ends their name: "
    "_mm, _kg, _g, _n (newtons), _nm (newton metres), _de00 (CIEDE2000).";

static const char tables[] =
    "Tables are CSV (RFC 4180, UTF-8), a header row first. Places count from 1, row 1 and column 1 "
    "at the lower left, tier 1 at the back. Numbers have a decimal point, money is in the job's "
    "currency. Text that begins with =, +, -, @, a tab, a carriage return or an apostrophe, which "
    "a spreadsheet could run as a formula, has an apostrophe before it. It is dropped again where "
    "a table is read. left.csv is a stock file.";

static void write_column(const Column *c, FILE *file)
{
    roff_name(c->name, NULL, file);
    fprintf(file, "%s%s%s%s%s", column_type_name[c->type], c->unit && *c->unit ? ", " : "",
            c->unit ? c->unit : "", c->empty ? ", may be empty" : "", *c->what ? ": " : "");
    roff_text(c->what, file);
    putc('\n', file);
}

static void write_tables(FILE *file)
{
    roff_section("TABLES", tables, file);
    for (const Table *t = table_list; t < table_list + TABLES; t++) {
        fputs(".SS ", file);
        roff_text(t->name, file);
        putc('\n', file);
        for (size_t i = 0; i < t->columns; i++) write_column(&t->column[i], file);
    }
}

static void write_formats(FILE *file)
{
    fputs(".TH ROWLOCK 5 \"" ROWLOCK_DATE "\" \"rowlock " ROWLOCK_VERSION "\"\n.SH NAME\n"
          "rowlock \\- files that rowlock reads and writes\n",
          file);
    roff_section("JOB", job, file);
    roff_section("PALETTE",
                 "CGATS.17 text, as a colour meter writes it, or CSV with these columns; which of "
                 "them is told from the content. rowlock's own are in share/rowlock/palettes.",
                 file);
    roff_keys(palette_keys, sizeof palette_keys / sizeof *palette_keys, file);
    roff_section(
        "BRICK SET",
        "A file for --bricks is CSV with these columns. With pack, supplier or from a size "
        "may have several rows, an offer each. Then each colour of a size is bought the "
        "cheapest way there is: of one supplier or several, and more than is needed where "
        "a price break makes that cheaper; order.csv is by supplier and has the columns "
        "supplier, unit_price and from besides. A price in --stock comes before them. What "
        "a brick is worth to the plan is the price of the offer that asks the fewest.",
        file);
    roff_keys(set_keys, sizeof set_keys / sizeof *set_keys, file);
    roff_section("STOCK", "A file for --stock is CSV with these columns.", file);
    roff_keys(stock_keys, sizeof stock_keys / sizeof *stock_keys, file);
    roff_section(
        "LAYERS",
        "A file for --layers has a section [layer NAME] for each, with these keys; index and "
        "height must be there.",
        file);
    roff_keys(layer_keys, sizeof layer_keys / sizeof *layer_keys, file);
    roff_section(
        "REGIONS",
        "A file for --regions has a section [region NAME] for each, with these keys; index "
        "must be there. A cell is in the region that has most of it; --care counts "
        "besides. White of --care is 10 times, black a tenth, mid grey 1, and each step of "
        "grey between them the same ratio.",
        file);
    roff_keys(region_keys, sizeof region_keys / sizeof *region_keys, file);
    roff_section(
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
        "murals are planned with; a mural counts by its area. In show.pdf the murals' own books "
        "follow the pages of the show, each under a bookmark of its title with the mural's own "
        "below; a mural with book = no is left out, and of one with book = panels the panels' "
        "pages stay files of their own, to which links lead.",
        file);
    roff_keys(show_keys, sizeof show_keys / sizeof *show_keys, file);
    write_tables(file);
    roff_section("JSON", documents, file);
    fputs(".SH SEE ALSO\n.BR rowlock (1)\n", file);
}

bool manual_formats(FILE *file) { return roff_page(write_formats, file); }
