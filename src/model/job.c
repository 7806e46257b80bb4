/* One table says everything of a setting: its name, type, place in Job, default, range, help.
 * Options, the job file, the help, the manual and the echo in plan.json all read it, so that none
 * can know a setting that the others do not. Values are kept as text wherever they come from and
 * are parsed here alone, in the unit of their member and whatever the locale.
 *
 * Source: job files by inih, which reads an INI line by line. */
#include "model/job.h"

#include "base/csv.h"
#include "base/ini_file.h"
#include "base/memory_available.h"
#include "base/number_style.h"
#include "base/spelling.h"
#include "base/text.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/palette.h"

#include <assert.h>
#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MEMBER(m) offsetof(Job, m), sizeof(((Job *)NULL)->m)
#define TEXT(name, m, value, fallback, group, help)                                                \
    {                                                                                              \
        name, SETTING_TEXT, MEMBER(m), fallback, value, NULL, 0, 0, group, help, NULL, true        \
    }
#define FILE_IN(name, m, group, help)                                                              \
    {                                                                                              \
        name, SETTING_FILE, MEMBER(m), "", "FILE", NULL, 0, 0, group, help, NULL, true             \
    }
#define WHOLE(name, m, fallback, least, most, group, help, rival)                                  \
    {                                                                                              \
        name, SETTING_WHOLE, MEMBER(m), fallback, "N", NULL, least, most, group, help, rival, true \
    }
#define NUMBER(name, m, value, fallback, least, most, group, help)                                 \
    {                                                                                              \
        name, SETTING_NUMBER, MEMBER(m), fallback, value, NULL, least, most, group, help, NULL,    \
            true                                                                                   \
    }
#define LENGTH(name, m, fallback, least, most, group, help, rival)                                 \
    {                                                                                              \
        name, SETTING_LENGTH, MEMBER(m), fallback, "LENGTH", NULL, least, most, group, help,       \
            rival, true                                                                            \
    }
#define CHOICE(name, m, fallback, choices, group, help)                                            \
    {                                                                                              \
        name, SETTING_CHOICE, MEMBER(m), fallback, choices, choices, 0, 0, group, help, NULL, true \
    }

static const char size_group[] = "Size", colour_group[] = "Colour", relief_group[] = "Relief",
                  brick_group[] = "Bricks", panel_group[] = "Panels", hold_group[] = "Holding",
                  quote_group[] = "Quote", offer_group[] = "Offer",
                  replan_group[] = "Planning again", compare_group[] = "Comparing",
                  pick_group[] = "Picking", measure_group[] = "Measuring", run_group[] = "Run";

const Setting settings[] = {
    {"out", SETTING_FILE, MEMBER(out), "", "DIR", NULL, 0, 0, run_group,
     "folder to write the plan to; an earlier plan there is replaced whole", NULL, false},
    {"reference", SETTING_FILE, MEMBER(reference), "", "FILE", NULL, 0, 0, run_group,
     "the picture, for job files; on the command line it stands alone", NULL, true},

    CHOICE("build", build, "plaque", "plaque|wall", size_group,
           "bricks on a base sheet, knobs to the viewer, or stacked in courses"),
    WHOLE("columns", columns, "0", 1, GRID_MOST, size_group, "cells across", "width"),
    WHOLE("rows", rows, "0", 1, GRID_MOST, size_group, "cells up; by default the picture's aspect",
          "height"),
    LENGTH("width", width, "0", 1, 1e7, size_group, "true width, rounded to whole cells",
           "columns"),
    LENGTH("height", height, "0", 1, 1e7, size_group, "true height, rounded to whole cells",
           "rows"),
    CHOICE("turn", turn, "none", "none|right|half|left", size_group,
           "turn the picture, as it stands upright, by a quarter or by half"),
    {"mirror", SETTING_SWITCH, MEMBER(mirror), "no", NULL, NULL, 0, 1, size_group,
     "swap left and right of the picture, after the turn", NULL, true},
    TEXT("crop", crop, "WxH+X+Y", "", size_group,
         "part of the picture to use, in pixels from its upper left"),
    LENGTH("pitch", pitch, "8mm", 0.5, 1000, size_group, "width of one unit", NULL),
    LENGTH("brick-height", brick_height, "9.6mm", 0.5, 1000, size_group, "height of one brick",
           NULL),
    {"thickness", SETTING_WHOLE, MEMBER(thickness), "1", "N|auto", "auto", 1, 64, size_group,
     "units from front to back of a wall; auto: the fewest that bear its --load-cases", NULL, true},

    FILE_IN("palette", palette, colour_group,
            "colours to be had, CGATS.17 or CSV; by default 48 of our own"),
    CHOICE("dither", dither, "distance", "distance|none|floyd-steinberg|blue-noise", colour_group,
           "how colours are mixed; distance: searched for the eye at --distance"),
    NUMBER("brick-thrift", thrift, "N", "0.4", 0, 1, colour_group,
           "0 the best look alone, to 1 the fewest bricks; for --dither distance"),
    NUMBER("detail", detail, "N", "0.2", 0, 1, colour_group,
           "weight of what is seen close by, 0 to 1; for --dither distance"),
    NUMBER("calm", calm, "N", "0.4", 0, 1, colour_group,
           "against patches that the picture has not, 0 to 1; for --dither distance"),
    CHOICE("tone", tone, "keep", "keep|fit", colour_group,
           "fit: bring black, white and chroma into what the palette can show"),
    LENGTH("distance", distance, "5m", 0, 1e6, colour_group, "where the viewer stands", NULL),
    FILE_IN("cells", cells, colour_group, "an edited cells.png, used instead of matching"),
    FILE_IN("pins", pins, colour_group,
            "cells whose colours stay: like cells.png, transparent where a cell is free"),
    FILE_IN("care", care, colour_group,
            "how much errors count, as grey: white 10 times, mid grey as usual, black a tenth"),
    FILE_IN("regions", regions, colour_group,
            "what regions ask for, an INI file: care, calm, thrift and colours of their own"),
    {"region-strokes", SETTING_FILE, MEMBER(region_strokes), "", "FILE", NULL, 0, 0, colour_group,
     "strokes on regions, an indexed PNG: 0 nothing, 255 what is in none, else a region's index",
     "region-labels", true},
    {"region-labels", SETTING_FILE, MEMBER(region_labels), "", "FILE", NULL, 0, 0, colour_group,
     "regions drawn whole, an indexed or grey PNG: 0 none, else a region's index", "region-strokes",
     true},
    TEXT("ground", ground, "#RRGGBB", "#ffffff", colour_group,
         "sRGB colour under transparent parts"),

    CHOICE("relief", relief, "none", "none|luminance|map", relief_group,
           "what raises the subject: nothing, what stands out of the picture, or a depth map"),
    FILE_IN("depth-map", depth_map, relief_group,
            "depth as grey, white is near; the reference's aspect, or the crop's"),
    FILE_IN("mask", mask, relief_group, "what is raised is white here, the rest stays flat"),
    CHOICE("toward", toward, "light", "light|dark", relief_group,
           "which of it is nearest with --relief luminance"),
    WHOLE("steps", steps, "0", 1, RELIEF_STEPS_MOST, relief_group,
          "tiers that the tallest point stands out; 6 unless --depth says", "depth"),
    LENGTH("depth", depth, "0", 0.1, 1e5, relief_group,
           "how far the tallest point stands out, rounded to whole steps", "steps"),
    NUMBER("relief-curve", relief_curve, "N", "0", 0, 1000, relief_group,
           "strength of the compression that leaves more of the depth to what is near"),
    WHOLE("relief-smooth", relief_smooth, "3", 0, 100, relief_group,
          "radius in cells of the smoothing that keeps to colour edges", NULL),
    WHOLE("relief-islands", relief_islands, "6", 0, 1000000, relief_group,
          "islands and pits of fewer cells are closed", NULL),
    WHOLE("relief-jump", relief_jump, "0", 0, RELIEF_STEPS_MOST, relief_group,
          "most steps between neighbours, 0 for any", NULL),
    FILE_IN("steps-map", steps_map, relief_group,
            "an edited steps.png, used instead of deriving steps"),
    {"strokes", SETTING_FILE, MEMBER(strokes), "", "FILE", NULL, 0, 0, relief_group,
     "strokes on what is to stand out, an indexed PNG: 0 nothing, 1 ground, 2 and up layers",
     "labels", true},
    {"labels", SETTING_FILE, MEMBER(labels), "", "FILE", NULL, 0, 0, relief_group,
     "the same drawn whole, to the outlines; a plan's layers.png is one", "strokes", true},
    FILE_IN("layers", layers, relief_group,
            "what the layers are, an INI file with a section [layer NAME] for each"),
    WHOLE("label-snap", label_snap, "0", 0, 100, relief_group,
          "cells by which outlines of --labels may be moved to the picture's edges", NULL),
    TEXT("backing", backing, "ID", "", relief_group,
         "colour of hidden bricks that the shelf leaves open; by default the cheapest"),
    WHOLE("hollow", hollow, "0", 0, HOLLOW_MOST, relief_group,
          "leave the core empty behind so many units of shell, but where that takes more bricks; 0 "
          "for solid",
          NULL),
    NUMBER("light-angle", light_angle, "DEGREES", "315", 0, 360, relief_group,
           "where relief.png's lamp stands, clockwise from above"),
    NUMBER("light-height", light_height, "DEGREES", "25", 1, 90, relief_group,
           "how high it stands off the wall; low is raking light"),

    TEXT("clutch", clutch, "A,B", "2.7,1.6", hold_group,
         "newtons that a knob holds under a brick one unit wide, and under a wider one"),
    NUMBER("hold-safety", hold_safety, "N", "3", 1, 100, hold_group,
           "joints that take more than one over this of what they hold are told"),
    NUMBER("crate-g", crate_g, "N", "2", 0.1, 100, hold_group,
           "how hard a packed panel is shaken, any way, in its own weights"),
    NUMBER("touch", touch, "NEWTONS", "1", 0, 1000, hold_group,
           "a push that whatever stands out is to hold; 0: touches are not looked at"),
    NUMBER("hold", hold, "NEWTONS", "0", 0, 100, hold_group,
           "tie, recolour or lower cells of a relief on a sheet until its bricks hold such a push"),
    TEXT("load-cases", load_cases, "LIST", "", hold_group,
         "loads that must be held, by default hanging,side,face-down,crate; a wall "
         "standing,carried,lifted,crate, also courses,tipped,hung,quarters"),

    FILE_IN("bricks", bricks, brick_group,
            "brick set, CSV: size,mass_g,price, or offers of suppliers"),
    FILE_IN("stock", stock, brick_group, "bricks on the shelf, CSV: colour,size,quantity,price"),
    {"stock-only", SETTING_SWITCH, MEMBER(stock_only), "no", NULL, NULL, 0, 1, brick_group,
     "use no more of a colour than the stock file has", NULL, true},
    NUMBER(
        "recolour", recolour, "PERCENT", "0.8", 0, 1e6, brick_group,
        "colour difference, of all there is, that --stock-only may add to use sizes on the shelf"),
    NUMBER("spare", spare, "PERCENT", "0", 0, 1000, brick_group,
           "bricks to order over and above, rounded up for each line"),
    CHOICE("favour", favour, "bricks", "bricks|cost|bond", brick_group,
           "lay the fewest bricks, at the least price and labour, or few sizes whose joints bond"),
    NUMBER("effort", effort, "N", "0.25", 0, 1, brick_group,
           "how hard to look for the fewest bricks, 0 quick to 1 thorough"),

    TEXT("panel", panel, "WxH", "", panel_group,
         "most cells of a panel; by default what passes --door in its crate"),
    {"panel-mass", SETTING_MASS, MEMBER(panel_mass), "0", "MASS", NULL, 0, 1e5, panel_group,
     "most mass of a panel with all that is behind it; 0: what one person lifts", NULL, true},
    LENGTH("door", door, "800mm", 100, 1e5, panel_group,
           "clear width of the narrowest door on the way; ISO 21542, the narrow end", NULL),
    NUMBER("sheet-mass", sheet_mass, "KG", "1.4", 0, 1000, panel_group,
           "mass of a square metre of base sheet; common practice, no source"),
    LENGTH("sheet-depth", sheet_depth, "1.6mm", 0, 100, panel_group,
           "how thick a base sheet is; common practice, no source", NULL),
    LENGTH("board", board, "9mm", 0, 1000, panel_group,
           "how thick the board behind a panel is, 0 for none; common practice, no source", NULL),
    NUMBER("board-density", board_density, "KG", "680", 0, 20000, panel_group,
           "mass of a cubic metre of it; birch plywood, common practice, no source"),
    NUMBER("frame-mass", frame_mass, "KG", "0.4", 0, 1000, panel_group,
           "mass of a metre of the frame along a panel's edges; battens of 20 x 40 mm, common "
           "practice, no source"),
    LENGTH("frame-depth", frame_depth, "20mm", 0, 1000, panel_group,
           "how deep that frame is, with the fixings in it; common practice, no source", NULL),
    WHOLE("fixings", fixings, "4", 1, 1000, panel_group, "fixings of a panel, for the load on each",
          NULL),
    {"fixing-mass", SETTING_MASS, MEMBER(fixing_mass), "100g", "MASS", NULL, 0, 1e3, panel_group,
     "mass of a fixing, both its halves; common practice, no source", NULL, true},
    TEXT("kit", kit, "WxH", "", panel_group,
         "panels are cards of at most so many cells, 2x2 to 20x20, for visitors to build"),
    {"kit-even", SETTING_SWITCH, MEMBER(kit_even), "no", NULL, NULL, 0, 1, panel_group,
     "cut some cards smaller so that each asks for about as many bricks and colours", NULL, true},

    NUMBER("pace", pace, "N", "150", 1, 1e6, quote_group,
           "bricks that one builder lays in an hour"),
    WHOLE("builders", builders, "1", 1, 1000, quote_group, "builders at work at once", NULL),
    NUMBER("day", day, "HOURS", "8", 0.5, 24, quote_group, "hours worked in a day"),
    NUMBER("rate", rate, "MONEY", "0", 0, 1e9, quote_group,
           "price of a builder's hour; 0 leaves labour unpriced"),
    NUMBER("budget", budget, "MONEY", "0", 0, 1e12, quote_group,
           "what all that is priced may cost together: a plan that costs more says so; 0 for any"),
    TEXT("currency", currency, "NAME", "", quote_group,
         "what prices are in, as the quote prints it"),
    NUMBER("sheet-price", sheet_price, "MONEY", "0", 0, 1e9, quote_group,
           "price of a panel's base sheet"),
    LENGTH("packing", packing, "60mm", 0, 1000, quote_group,
           "crate wall and padding around a panel, on each side", NULL),
    WHOLE("crate-panels", crate_panels, "6", 1, 1000, quote_group,
          "most panels in a crate; our own choice", NULL),
    {"crate-mass", SETTING_MASS, MEMBER(crate_mass), "113kg", "MASS", NULL, 0.01, 1e5, quote_group,
     "most mass of a packed crate; 250 lb is what two people and a dolly move, by practice", NULL,
     true},
    WHOLE("hanging", hanging, "12", 1, 100000, quote_group, "panels hung in a day", NULL),
    CHOICE("quote", quote, "yes", "no|yes", quote_group, "write the quote's page and the offer"),
    CHOICE("paper", paper, "a4", "a4|letter", quote_group, "paper of the build book"),
    CHOICE("book", book, "yes", "no|yes|panels", quote_group,
           "write the build book; panels: the pages of each panel as a file, in the folder book"),
    CHOICE("lists", lists, "no", "no|yes", quote_group,
           "print the rows of a plaque as lists, too, after the charts that show them"),

    TEXT("studio", studio, "NAME", "", offer_group, "who offers, as the client reads it"),
    TEXT("client", client, "NAME", "", offer_group, "whom the offer is for"),
    TEXT("title", title, "TEXT", "", offer_group,
         "the mural's title; by default the picture's name"),
    TEXT("date", date, "TEXT", "", offer_group, "date of the offer, as it is to be read"),
    WHOLE("validity", validity, "30", 1, 3650, offer_group, "days for which the offer holds", NULL),
    NUMBER("price", price, "MONEY", "0", 0, 1e12, offer_group,
           "price of the mural before tax; 0: what it costs, with --margin"),
    NUMBER("margin", margin, "PERCENT", "0", 0, 1e6, offer_group,
           "what is added to all costs for the client's price"),
    NUMBER("tax", tax, "PERCENT", "0", 0, 1000, offer_group, "sales or value added tax"),
    NUMBER("deposit", deposit, "PERCENT", "50", 0, 100, offer_group,
           "part of the price that is due with the order"),
    NUMBER("crate-price", crate_price, "MONEY", "0", 0, 1e9, offer_group, "cost of a crate"),
    NUMBER("freight", freight, "MONEY", "0", 0, 1e9, offer_group, "cost of the way to the wall"),
    NUMBER("site-rate", site_rate, "MONEY", "0", 0, 1e9, offer_group,
           "cost of a day on site, of all who hang panels"),
    TEXT("delivery", delivery, "TEXT", "", offer_group,
         "when it is delivered; by default the weeks that its building takes"),
    TEXT("not-included", not_included, "TEXT",
         "the wall and what is done to it, scaffolding, lighting, customs, insurance on the way",
         offer_group, "what the offer says that it does not include"),
    CHOICE("locale", locale, "en", NUMBER_STYLES, offer_group,
           "how numbers and money are written on the offer and the quote"),

    {"built", SETTING_TEXT, MEMBER(built), "", "LIST", NULL, 0, 0, replan_group,
     "what stands: panels, such as r1c1,r1c2; rows from the bottom, such as 1-40, for which 40 "
     "does, too; "
     "a file of the bricks laid, as book.html saves it; or bench, what that has as laid",
     NULL, false},
    {"sort", SETTING_CHOICE, MEMBER(sort), "look",
     "given|look|unrest|price|bricks|colours|mass|hours",
     "given|look|unrest|price|bricks|colours|mass|hours", 0, 0, compare_group,
     "what the sheet is sorted by", NULL, false},
    {"colours", SETTING_WHOLE, MEMBER(colours), "0", "K", NULL, 1, PALETTE_MOST, pick_group,
     "how many colours to pick", NULL, false},
    {"keep", SETTING_TEXT, MEMBER(keep), "", "IDS", NULL, 0, 0, pick_group,
     "colours that must be among them, ids with commas between", NULL, false},
    {"without", SETTING_TEXT, MEMBER(without), "", "IDS", NULL, 0, 0, pick_group,
     "colours that must not be", NULL, false},
    {"price-weight", SETTING_NUMBER, MEMBER(price_weight), "0", "N", NULL, 0, 1e6, pick_group,
     "colour difference that a cell dearer by 1 must be better by; prices are the stock file's",
     NULL, false},

    {"patches", SETTING_FILE, MEMBER(patches), "", "FILE", NULL, 0, 0, measure_group,
     "where the bricks are, CSV: id,name and x,y,width,height or x1,y1 to x4,y4 in pixels", NULL,
     false},
    {"chart", SETTING_TEXT, MEMBER(chart), "", "X,Y,X,Y,X,Y,X,Y", NULL, 0, 0, measure_group,
     "middles of the chart's corner patches, around from the first, in pixels; a ';' before those "
     "of the next photograph; by default they are found",
     NULL, false},
    {"chart-values", SETTING_FILE, MEMBER(chart_values), "", "FILE", NULL, 0, 0, measure_group,
     "what the chart's patches are, CGATS.17; by default the 24 made since 2014", NULL, false},
    {"chart-grid", SETTING_TEXT, MEMBER(chart_grid), "6x4", "CxR", NULL, 0, 0, measure_group,
     "columns and rows of the chart of --chart-values", NULL, false},
    {"grey", SETTING_NUMBER, MEMBER(grey), "0", "L", NULL, 0, 100, measure_group,
     "a grey card of this L* instead of a chart, coarser: 49.5 for 18 %; --chart has its corners",
     NULL, false},
    {"white", SETTING_FILE, MEMBER(white), "", "FILE", NULL, 0, 0, measure_group,
     "a photograph of white paper from the same place, by which light that is uneven is evened",
     NULL, false},
    {"into", SETTING_FILE, MEMBER(into), "", "FILE", NULL, 0, 0, measure_group,
     "a palette into which the measured colours are put; those of its colours that were not "
     "measured stay as they are",
     NULL, false},

    NUMBER("limit", limit, "MEGAPIXELS", "1000", 0.001, 1e6, run_group,
           "refuse a picture that claims more"),
    {"memory", SETTING_BYTES, MEMBER(memory), "0", "SIZE", NULL, 1, 1e9, run_group,
     "refuse a plan that would take more; by default three quarters of what is free", NULL, false},
    {"threads", SETTING_WHOLE, MEMBER(threads), "0", "N", NULL, 0, 64, run_group,
     "threads to work with, 0 for one a processor; never changes the result", NULL, false},
    {"quiet", SETTING_SWITCH, MEMBER(quiet), "no", NULL, NULL, 0, 1, run_group,
     "say nothing but errors", NULL, false},
};
const size_t settings_count = sizeof settings / sizeof *settings;

const Setting *setting_find(const char *name)
{
    for (size_t i = 0; i < settings_count; i++)
        if (!strcmp(settings[i].name, name)) return &settings[i];
    return NULL;
}

Status setting_unknown(const char *name, const char *where, Status status, Fault *fault)
{
    Spelling spelling = spelling_of(name, strlen(name));
    for (size_t i = 0; i < settings_count; i++) spelling_offer(&spelling, settings[i].name);
    if (!spelling.nearest)
        return fault_set(fault, status,
                         "%s: no such setting; see 'rowlock plan --help' for their names", where);
    return fault_set(fault, status, "%s: no such setting; did you mean %s?", where,
                     spelling.nearest);
}

static void *member_of(const Job *job, const Setting *s) { return (char *)job + s->offset; }

/* A setting at the value "not given". */
static void unset(Job *job, const Setting *s) { memset(member_of(job, s), 0, s->size); }

void job_init(Job *job)
{
    memset(job, 0, sizeof *job);
    for (size_t i = 0; i < settings_count; i++) {
        const Setting *s = &settings[i];
        if (!*s->fallback || !strcmp(s->fallback, "0")) continue;
        Fault fault;
        const Status status = job_set(job, s, s->fallback, s->name, NULL, &fault);
        assert(!status);
        (void)status;
    }
}

/* Number with a unit from the list; the factor takes it to the member's unit. */
typedef struct Unit {
    const char *name;
    double factor;
} Unit;
static const Unit lengths[] = {{"mm", 1}, {"cm", 10}, {"m", 1000}, {"in", 25.4}, {NULL, 0}};
static const Unit masses[] = {{"g", 0.001}, {"kg", 1}, {"lb", 0.45359237}, {NULL, 0}};
static const Unit memories[] = {{"MB", 1}, {"GB", 1e3}, {"TB", 1e6}, {NULL, 0}};

static const char *unit_of(SettingType type)
{
    return type == SETTING_LENGTH  ? "mm"
           : type == SETTING_MASS  ? "kg"
           : type == SETTING_BYTES ? "MB"
                                   : "";
}

static bool parse_measure(const char *text, const Unit *units, double *value_out)
{
    size_t digits = strcspn(text, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ");
    char number[64];
    const char *unit = text + digits;
    while (digits && isspace((unsigned char)text[digits - 1])) digits--;
    if (!digits || digits >= sizeof number) return false;
    memcpy(number, text, digits);
    number[digits] = 0;
    double value;
    if (!number_parse(number, &value)) return false;
    for (; units->name; units++)
        if (!strcmp(unit, units->name)) {
            *value_out = value * units->factor;
            return true;
        }
    return false;
}

static Status set_text(Job *job, const Setting *s, const char *text, const char *where,
                       const char *base, Fault *fault)
{
    const bool join =
        s->type == SETTING_FILE && base && *base && *text && *text != '/' && strcmp(text, "-");
    const int length =
        snprintf(member_of(job, s), s->size, "%s%s%s", join ? base : "", join ? "/" : "", text);
    if (length >= 0 && (size_t)length < s->size) return STATUS_OK;
    unset(job, s);
    return fault_set(fault, STATUS_USAGE, "%s: longer than %zu bytes; use a shorter one", where,
                     s->size - 1);
}

static Status set_number(Job *job, const Setting *s, double value, const char *text,
                         const char *where, Fault *fault)
{
    if (!(value >= s->least && value <= s->most)) {
        const char *unit = unit_of(s->type);
        return fault_set(fault, STATUS_USAGE, "%s: '%s' is out of range; give %g%s to %g%s", where,
                         text, s->least, unit, s->most, unit);
    }
    if (s->type == SETTING_WHOLE)
        *(int *)member_of(job, s) = (int)value;
    else
        *(double *)member_of(job, s) = value;
    return STATUS_OK;
}

static Status set_choice(Job *job, const Setting *s, const char *text, const char *where,
                         Fault *fault)
{
    const size_t length = strlen(text);
    int index = 0;
    for (const char *c = s->choices; c; c = strchr(c, '|'), c = c ? c + 1 : NULL, index++)
        if (length && !strncmp(c, text, length) && (c[length] == '|' || !c[length])) {
            *(int *)member_of(job, s) = index;
            return STATUS_OK;
        }
    return fault_set(fault, STATUS_USAGE, "%s: '%s' is no choice; give one of %s", where, text,
                     s->choices);
}

static Status set_switch(Job *job, const Setting *s, const char *text, const char *where,
                         Fault *fault)
{
    const bool yes = !strcmp(text, "yes"), no = !strcmp(text, "no");
    if (!yes && !no)
        return fault_set(fault, STATUS_USAGE, "%s: '%s' is neither; give yes or no", where, text);
    *(int *)member_of(job, s) = yes;
    return STATUS_OK;
}

/* Digits alone; a minus is for the range to refuse. 1e4 is likelier a slip than meant. */
static bool is_whole(const char *text)
{
    const char *digits = text + (*text == '-');
    return *digits && !digits[strspn(digits, "0123456789")];
}

static bool parse_number(SettingType type, const char *text, double *value_out)
{
    switch (type) {
    case SETTING_WHOLE:
        return is_whole(text) && number_parse(text, value_out);
    case SETTING_LENGTH:
        return parse_measure(text, lengths, value_out);
    case SETTING_MASS:
        return parse_measure(text, masses, value_out);
    case SETTING_BYTES:
        return parse_measure(text, memories, value_out);
    default:
        return number_parse(text, value_out);
    }
}

/* Where a comma is all that is wrong, it is said how the number is written. With three digits
 * behind it the comma may part thousands, too. */
static Status fault_comma(SettingType type, const char *text, const char *where, Fault *fault)
{
    char point[64], bare[64];
    const char *comma = strchr(text, ',');
    if (!comma || strlen(text) >= sizeof point) return STATUS_OK;
    const int before = (int)(comma - text);
    snprintf(point, sizeof point, "%.*s.%s", before, text, comma + 1);
    snprintf(bare, sizeof bare, "%.*s%s", before, text, comma + 1);
    double value;
    const bool decimal = parse_number(type, point, &value);
    const bool thousands =
        before && strspn(comma + 1, "0123456789") == 3 && parse_number(type, bare, &value);
    if (!decimal && !thousands) return STATUS_OK;
    return fault_set(fault, STATUS_USAGE, "%s: '%s' has a comma; write %s%s%s%s", where, text,
                     thousands ? bare : "", decimal && thousands ? " or " : "",
                     decimal ? point : "", decimal ? ", with a decimal point" : "");
}

static Status fault_number(SettingType type, const char *text, const char *where, Fault *fault)
{
    static const char *const wrong[] = {
        [SETTING_WHOLE] = "is not a whole number; give digits",
        [SETTING_NUMBER] = "is not a number; give digits, with a decimal point if need be",
        [SETTING_LENGTH] = "is not a length; give a number and mm, cm, m or in",
        [SETTING_MASS] = "is not a mass; give a number and g, kg or lb",
        [SETTING_BYTES] = "is no size of memory; give a number and MB, GB or TB"};
    const Status status = fault_comma(type, text, where, fault);
    return status ? status
                  : fault_set(fault, STATUS_USAGE, "%s: '%s' %s", where, text, wrong[type]);
}

Status job_set(Job *job, const Setting *s, const char *text, const char *where,
               const char *base_folder, Fault *fault)
{
    if (s->rival) unset(job, setting_find(s->rival));
    double value = 0;
    switch (s->type) {
    case SETTING_TEXT:
    case SETTING_FILE:
        return set_text(job, s, text, where, base_folder, fault);
    case SETTING_CHOICE:
        return set_choice(job, s, text, where, fault);
    case SETTING_SWITCH:
        return set_switch(job, s, text, where, fault);
    case SETTING_WHOLE:
    case SETTING_NUMBER:
    case SETTING_LENGTH:
    case SETTING_MASS:
    case SETTING_BYTES:
        break;
    }
    if (s->choices && !strcmp(text, s->choices)) {
        unset(job, s);
        return STATUS_OK;
    }
    if (!parse_number(s->type, text, &value)) return fault_number(s->type, text, where, fault);
    return set_number(job, s, value, text, where, fault);
}

bool length_parse(const char *text, double *mm_out) { return parse_measure(text, lengths, mm_out); }

/* The fewest digits, from 15, that read back to the same number. */
static void show_number(double value, char *text, size_t size)
{
    for (int digits = 15; digits <= 17; digits++) {
        snprintf(text, size, "%.*g", digits, value);
        if (strtod(text, NULL) == value) return;
    }
}

void job_show(const Job *job, const Setting *s, char *text, size_t size)
{
    const void *m = member_of(job, s);
    char number[40];
    switch (s->type) {
    case SETTING_TEXT:
    case SETTING_FILE:
        snprintf(text, size, "%s", (const char *)m);
        return;
    case SETTING_SWITCH:
        snprintf(text, size, "%s", *(const int *)m ? "yes" : "no");
        return;
    case SETTING_WHOLE:
        if (s->choices && !*(const int *)m)
            snprintf(text, size, "%s", s->choices);
        else
            snprintf(text, size, "%d", *(const int *)m);
        return;
    case SETTING_CHOICE: {
        const char *c = s->choices;
        for (int i = *(const int *)m; i > 0; i--) c = strchr(c, '|') + 1;
        snprintf(text, size, "%.*s", (int)strcspn(c, "|"), c);
        return;
    }
    case SETTING_NUMBER:
    case SETTING_LENGTH:
    case SETTING_MASS:
    case SETTING_BYTES:
        show_number(*(const double *)m, number, sizeof number);
        snprintf(text, size, "%s%s", number, unit_of(s->type));
        return;
    }
}

double job_memory(const Job *job)
{
    return job->memory > 0 ? 1e6 * job->memory : 0.75 * memory_available();
}

/* ---- settings that count for nothing ---- */

bool job_layered(const Job *job) { return *job->layers || *job->strokes || *job->labels; }
bool job_stroked(const Job *job) { return *job->strokes && !*job->steps_map; }

static bool is_plaque(const Job *job) { return job->build == BUILD_PLAQUE; }
static bool is_wall(const Job *job) { return job->build == BUILD_WALL; }
static bool is_flat(const Job *job)
{
    return job->relief == RELIEF_NONE && !*job->steps_map && !job_layered(job);
}
static bool has_steps_map(const Job *job) { return *job->steps_map; }
static bool is_unlabelled(const Job *job) { return !*job->labels || *job->steps_map; }
/* The height of the tallest point counts for whatever makes steps. */
static bool is_not_raised(const Job *job) { return is_flat(job) || *job->steps_map; }
/* What layers make is not cleaned. */
static bool is_not_cleaned(const Job *job)
{
    return job->relief == RELIEF_NONE || *job->steps_map || job_layered(job);
}
static bool is_not_derived(const Job *job) { return job->relief == RELIEF_NONE || *job->steps_map; }
static bool is_no_map(const Job *job) { return job->relief != RELIEF_MAP || *job->steps_map; }
static bool is_no_luminance(const Job *job)
{
    return job->relief != RELIEF_LUMINANCE || *job->steps_map;
}
static bool is_no_search(const Job *job) { return job->dither != DITHER_DISTANCE || *job->cells; }
static bool has_no_kit(const Job *job) { return !*job->kit; }
static bool is_unlimited(const Job *job) { return !job->stock_only; }
static bool is_careless(const Job *job)
{
    return *job->cells || (job->dither != DITHER_DISTANCE && !job->stock_only);
}
static bool has_kit(const Job *job) { return *job->kit; }
static bool has_panel(const Job *job) { return *job->kit || *job->panel; }
static bool has_no_board(const Job *job) { return *job->kit || job->board <= 0; }
static bool has_cells(const Job *job) { return *job->cells; }

static bool is_not_mended(const Job *job)
{
    return is_flat(job) || !is_plaque(job) || job->stock_only;
}
static bool is_one_tier(const Job *job) { return is_plaque(job) && is_flat(job); }

static const struct Idle {
    const char *setting;
    bool (*idle)(const Job *job);
    const char *where; /* it counts */
} idles[] = {
    {"thickness", is_plaque, "with --build wall"},
    {"dither", has_cells, "without --cells"},
    {"brick-thrift", is_no_search, "with --dither distance"},
    {"detail", is_no_search, "with --dither distance"},
    {"calm", is_no_search, "with --dither distance"},
    {"pins", has_cells, "without --cells"},
    {"care", is_careless, "with --dither distance, or with --stock-only"},
    {"regions", has_cells, "without --cells"},
    {"region-strokes", has_cells, "without --cells"},
    {"region-labels", has_cells, "without --cells"},
    {"depth-map", is_no_map, "with --relief map"},
    {"toward", is_no_luminance, "with --relief luminance"},
    {"strokes", has_steps_map, "without --steps-map"},
    {"labels", has_steps_map, "without --steps-map"},
    {"layers", has_steps_map, "without --steps-map"},
    {"label-snap", is_unlabelled, "with --labels"},
    {"mask", is_not_cleaned, "with --relief luminance or map, without --layers"},
    {"steps", is_not_raised, "with --relief luminance or map, or --layers"},
    {"depth", is_not_raised, "with --relief luminance or map, or --layers"},
    {"relief-curve", is_not_derived, "with --relief luminance or map"},
    {"relief-smooth", is_not_derived, "with --relief luminance or map"},
    {"relief-islands", is_not_cleaned, "with --relief luminance or map, without --layers"},
    {"relief-jump", is_not_cleaned, "with --relief luminance or map, without --layers"},
    {"hold", is_not_mended, "in the relief of a plaque, without --stock-only"},
    {"touch", is_flat, "in a relief"},
    {"hollow", is_one_tier, "in a wall or a relief"},
    {"light-angle", is_flat, "in a relief"},
    {"light-height", is_flat, "in a relief"},
    {"recolour", is_unlimited, "with --stock-only"},
    {"panel", has_kit, "without --kit"},
    {"door", has_panel, "without --panel and --kit"},
    {"sheet-mass", is_wall, "with --build plaque"},
    {"sheet-depth", is_wall, "with --build plaque"},
    {"board", has_kit, "without --kit"},
    {"board-density", has_no_board, "with --board, without --kit"},
    {"frame-mass", has_kit, "without --kit"},
    {"frame-depth", has_kit, "without --kit"},
    {"fixing-mass", has_kit, "without --kit"},
    {"lists", is_wall, "with --build plaque"},
    {"kit-even", has_no_kit, "with --kit"},
};

void job_note_idle(const Job *job, const Voice *voice)
{
    Job plain;
    job_init(&plain);
    char given[JOB_TEXT + 64], fallback[JOB_TEXT + 64];
    for (size_t i = 0; i < sizeof idles / sizeof *idles; i++) {
        const Setting *s = setting_find(idles[i].setting);
        job_show(job, s, given, sizeof given);
        job_show(&plain, s, fallback, sizeof fallback);
        if (idles[i].idle(job) && strcmp(given, fallback))
            voice_note(voice, "--%s: counts for nothing here, only %s", s->name, idles[i].where);
    }
}

/* ---- the job file ---- */

typedef struct Reading {
    Job *job;
    char folder[JOB_TEXT];
    int seen[sizeof settings / sizeof *settings]; /* line of each key, 0: not yet */
} Reading;

static_assert(INI_LINE_MOST >= JOB_TEXT + 128, "a line holds the longest setting and its name");

static Status take_key(void *context, const IniEntry *entry, Fault *fault)
{
    Reading *r = context;
    const Setting *s = setting_find(entry->key);
    char where[JOB_TEXT + 96];
    snprintf(where, sizeof where, "%s:%d: %s", entry->path, entry->line, entry->key);
    if (!s) return setting_unknown(entry->key, where, STATUS_DATA, fault);
    const Setting *rival = s->rival ? setting_find(s->rival) : NULL;
    int *seen = &r->seen[s - settings];
    const int other = rival ? r->seen[rival - settings] : 0;
    if (*seen || other)
        return fault_set(fault, STATUS_DATA, "%s: line %d says %s already; keep one", where,
                         *seen ? *seen : other, *seen ? s->name : rival->name);
    *seen = entry->line;
    const Status status = job_set(r->job, s, entry->value, where, r->folder, fault);
    if (status != STATUS_USAGE) return status;
    if (fault) fault->status = STATUS_DATA; /* the same words, but it is a file that is wrong */
    return STATUS_DATA;
}

Status job_read(Job *job, const char *path, Fault *fault)
{
    Reading r = {.job = job};
    const char *slash = strrchr(path, '/');
    if (slash && (size_t)(slash - path) < sizeof r.folder)
        memcpy(r.folder, path, (size_t)(slash - path));
    if (slash == path) strcpy(r.folder, "/.");
    return ini_file_read(path, take_key, &r, fault);
}

/* ---- texts with a shape of their own ---- */

enum { WHOLE_MOST = 1000000000 }; /* pixels or cells; fits an int */

/* Reads a whole number at *text and moves past it; false where there is none. */
static bool parse_whole(const char **text, long *value_out)
{
    if (!isdigit((unsigned char)**text)) return false;
    char *end;
    errno = 0;
    *value_out = strtol(*text, &end, 10);
    *text = end;
    return !errno && *value_out <= WHOLE_MOST;
}

static bool take_character(const char **text, char c)
{
    if (**text != c) return false;
    ++*text;
    return true;
}

/* "WxH", both 1 or more. */
static bool parse_size(const char *text, int *columns_out, int *rows_out)
{
    long columns, rows;
    if (!parse_whole(&text, &columns) || !take_character(&text, 'x') ||
        !parse_whole(&text, &rows) || *text || columns < 1 || rows < 1)
        return false;
    *columns_out = (int)columns;
    *rows_out = (int)rows;
    return true;
}

Mounting job_mounting(const Job *job)
{
    Mounting m = {0};
    if (job->build == BUILD_PLAQUE) {
        m.sheet_kg_m2 = job->sheet_mass;
        m.sheet_mm = job->sheet_depth;
    }
    if (*job->kit) return m;
    m.board_kg_m2 = job->board_density * job->board / 1000;
    m.board_mm = job->board;
    m.frame_kg_m = job->frame_mass;
    m.frame_mm = job->frame_depth;
    m.fixings_kg = job->fixings * job->fixing_mass;
    return m;
}

Status job_panel(const Job *job, int *columns_out, int *rows_out, Fault *fault)
{
    *columns_out = *rows_out = 0;
    if (!*job->panel) return STATUS_OK;
    if (parse_size(job->panel, columns_out, rows_out)) return STATUS_OK;
    return fault_set(fault, STATUS_USAGE, "--panel: '%s' is not WxH in cells; give say 48x48",
                     job->panel);
}

Status job_clutch(const Job *job, double *narrow_out, double *wide_out, Fault *fault)
{
    char first[sizeof job->clutch];
    const char *comma = strchr(job->clutch, ',');
    const size_t length = comma ? (size_t)(comma - job->clutch) : 0;
    snprintf(first, sizeof first, "%.*s", (int)length, job->clutch);
    if (comma && number_parse(first, narrow_out) && number_parse(comma + 1, wide_out) &&
        *narrow_out >= CLUTCH_LEAST_N && *narrow_out <= CLUTCH_MOST_N &&
        *wide_out >= CLUTCH_LEAST_N && *wide_out <= CLUTCH_MOST_N)
        return STATUS_OK;
    return fault_set(fault, STATUS_USAGE,
                     "--clutch: '%s' is not A,B in newtons from %g to %g; give say 2.7,1.6",
                     job->clutch, CLUTCH_LEAST_N, CLUTCH_MOST_N);
}

Status job_kit(const Job *job, int *columns_out, int *rows_out, Fault *fault)
{
    int w = 0, h = 0;
    const bool given = *job->kit;
    if (given && (!parse_size(job->kit, &w, &h) || w < KIT_LEAST || h < KIT_LEAST || w > KIT_MOST ||
                  h > KIT_MOST))
        return fault_set(fault, STATUS_USAGE,
                         "--kit: '%s' is not WxH in cells from %dx%d to %dx%d; give say 16x16",
                         job->kit, KIT_LEAST, KIT_LEAST, KIT_MOST, KIT_MOST);
    *columns_out = w;
    *rows_out = h;
    return STATUS_OK;
}

Status job_crop(const Job *job, long crop_out[4], Fault *fault)
{
    const char *c = job->crop;
    long w, h, x, y;
    memset(crop_out, 0, 4 * sizeof *crop_out);
    if (!*c) return STATUS_OK;
    if (!parse_whole(&c, &w) || !take_character(&c, 'x') || !parse_whole(&c, &h) ||
        !take_character(&c, '+') || !parse_whole(&c, &x) || !take_character(&c, '+') ||
        !parse_whole(&c, &y) || *c || w < 1 || h < 1)
        return fault_set(fault, STATUS_USAGE,
                         "--crop: '%s' is not WxH+X+Y in pixels; give say 800x600+20+0", job->crop);
    crop_out[0] = x;
    crop_out[1] = y;
    crop_out[2] = w;
    crop_out[3] = h;
    return STATUS_OK;
}

Status job_ground(const Job *job, unsigned char rgb_out[3], Fault *fault)
{
    if (text_rgb(job->ground, rgb_out)) return STATUS_OK;
    return fault_set(fault, STATUS_USAGE, "--ground: '%s' is not a colour; give say #ffffff",
                     job->ground);
}
