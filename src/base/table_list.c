/* Header rows of CSV tables come from here, so that what is told of a column stands beside its
 * name. Writers put their fields in this order. */
#include "base/table_list.h"

const char *const column_type_name[COLUMN_TYPES] = {
    [COLUMN_TEXT] = "text", [COLUMN_WHOLE] = "whole number", [COLUMN_NUMBER] = "number"};

static const Column bricks[] = {
    {"panel", COLUMN_TEXT, false, NULL, "its name, such as r1c1", 0},
    {"column", COLUMN_WHOLE, false, "", "from the left, counted from 1", 0},
    {"row", COLUMN_WHOLE, false, "", "from the bottom, counted from 1", 0},
    {"tier", COLUMN_WHOLE, false, "", "from the back, counted from 1", 0},
    {"columns", COLUMN_WHOLE, false, "", "units across", 0},
    {"rows", COLUMN_WHOLE, false, "", "units up", 0},
    {"tiers", COLUMN_WHOLE, false, "", "units deep", 0},
    {"size", COLUMN_TEXT, false, NULL, "such as 2x4", 0},
    {"colour", COLUMN_TEXT, false, NULL, "its id", 0},
    {"shown", COLUMN_WHOLE, false, "", "1: seen from the front, 0: hidden", 0},
};

static const Column rows[] = {
    {"panel", COLUMN_TEXT, false, NULL, "its name, such as r1c1", 0},
    {"row", COLUMN_WHOLE, false, "", "from the bottom, counted from 1", 0},
    {"tier", COLUMN_WHOLE, false, "", "from the back, counted from 1", 0},
    {"nth", COLUMN_WHOLE, false, "", "in its row and tier, from the left", 0},
    {"column", COLUMN_WHOLE, false, "", "from the left, counted from 1", 0},
    {"size", COLUMN_TEXT, false, NULL, "such as 2x4", 0},
    {"colour", COLUMN_TEXT, false, NULL, "its id", 0},
};

static const Column parts[] = {
    {"colour", COLUMN_TEXT, false, NULL, "its id", 0},
    {"name", COLUMN_TEXT, false, NULL, "of the colour", 0},
    {"size", COLUMN_TEXT, false, NULL, "such as 2x4", 0},
    {"count", COLUMN_WHOLE, false, "", "bricks in the mural", 0},
    {"spare", COLUMN_WHOLE, false, "", "over and above", 0},
    {"order", COLUMN_WHOLE, false, "", "both, without what stands", 0},
    {"in_stock", COLUMN_WHOLE, false, "", "of them on the shelf", 0},
    {"to_buy", COLUMN_WHOLE, false, "", "the rest", 0},
    {"price", COLUMN_NUMBER, false, "money", "of what is ordered; 0: not priced", 0},
    {"mass_g", COLUMN_NUMBER, false, "g", "of the bricks in the mural", 0},
};

static const Column order[] = {
    {"colour", COLUMN_TEXT, false, NULL, "its id", 0},
    {"name", COLUMN_TEXT, false, NULL, "of the colour", 0},
    {"size", COLUMN_TEXT, false, NULL, "such as 2x4", 0},
    {"to_buy", COLUMN_WHOLE, false, "", "bricks that are needed", 0},
    {"pack", COLUMN_WHOLE, false, "", "bricks in a pack", 0},
    {"packs", COLUMN_WHOLE, false, "", "to buy", 0},
    {"order", COLUMN_WHOLE, false, "", "bricks in them", 0},
    {"price", COLUMN_NUMBER, false, "money", "of them; 0: not priced", 0},
    {"supplier", COLUMN_TEXT, true, NULL, "with suppliers in the brick set", COLUMNS_OF_SUPPLIERS},
    {"unit_price", COLUMN_NUMBER, true, "money", "the same: of one brick", COLUMNS_OF_SUPPLIERS},
    {"from", COLUMN_WHOLE, false, "", "the same: bricks from which that price holds",
     COLUMNS_OF_SUPPLIERS},
    {"by", COLUMN_TEXT, false, NULL, "of a show with instalments: the day on which it is needed",
     COLUMNS_OF_INSTALMENTS},
};

static const Column left[] = {
    {"colour", COLUMN_TEXT, false, NULL, "its id", 0},
    {"size", COLUMN_TEXT, false, NULL, "such as 2x4", 0},
    {"quantity", COLUMN_WHOLE, false, "", "bricks", 0},
    {"price", COLUMN_NUMBER, true, "money", "of one", 0},
    {"pack", COLUMN_WHOLE, false, "", "bricks in a pack", 0},
};

static const Column difference[] = {
    {"colour", COLUMN_TEXT, false, NULL, "its id", 0},
    {"size", COLUMN_TEXT, false, NULL, "such as 2x4", 0},
    {"before", COLUMN_WHOLE, false, "", "bricks in the earlier plan", 0},
    {"after", COLUMN_WHOLE, false, "", "bricks in this one", 0},
    {"built", COLUMN_WHOLE, false, "", "of them those that stand", 0},
    {"change", COLUMN_WHOLE, false, "", "after less before", 0},
};

static const Column panels[] = {
    {"panel", COLUMN_TEXT, false, NULL, "its name, such as r1c1", 0},
    {"column", COLUMN_WHOLE, false, "", "from the left, counted from 1", 0},
    {"row", COLUMN_WHOLE, false, "", "from the bottom, counted from 1", 0},
    {"columns", COLUMN_WHOLE, false, "", "cells across", 0},
    {"rows", COLUMN_WHOLE, false, "", "cells up", 0},
    {"width_mm", COLUMN_NUMBER, false, "mm", "", 0},
    {"height_mm", COLUMN_NUMBER, false, "mm", "", 0},
    {"depth_mm", COLUMN_NUMBER, false, "mm", "of the bricks", 0},
    {"bricks", COLUMN_WHOLE, false, "", "how many", 0},
    {"mass_kg", COLUMN_NUMBER, false, "kg", "of the bricks", 0},
    {"joined", COLUMN_WHOLE, false, "", "1: in one piece, 0: not", 0},
    {"longest_straight_joint", COLUMN_WHOLE, false, "", "cells", 0},
    {"whole_kg", COLUMN_NUMBER, false, "kg", "with what is behind the bricks", 0},
    {"whole_depth_mm", COLUMN_NUMBER, false, "mm", "with what is behind the bricks", 0},
    {"pieces", COLUMN_WHOLE, false, "", "that it is in", 0},
    {"unsupported", COLUMN_WHOLE, false, "", "bricks that nothing carries", 0},
    {"weak", COLUMN_WHOLE, false, "", "bricks that hold little", 0},
    {"quarter_lap", COLUMN_NUMBER, false, "",
     "share of joints lapped by a quarter of a brick or more", 0},
    {"centre_x_mm", COLUMN_NUMBER, false, "mm", "centre of mass, from the left", 0},
    {"centre_y_mm", COLUMN_NUMBER, false, "mm", "from the bottom", 0},
    {"centre_z_mm", COLUMN_NUMBER, false, "mm", "from the back", 0},
    {"hanging_moment_nm", COLUMN_NUMBER, false, "N m", "at the wall", 0},
    {"tipping_moment_nm", COLUMN_NUMBER, false, "N m", "about the lower edge", 0},
    {"fixing_load_n", COLUMN_NUMBER, false, "N", "on each fixing", 0},
    {"use_hanging", COLUMN_NUMBER, true, "", "share of what its joints hold that is taken hanging",
     0},
    {"use_carried", COLUMN_NUMBER, true, "", "share of what its joints hold that is taken carried",
     0},
    {"use_crate", COLUMN_NUMBER, true, "",
     "share of what its joints hold that is taken in its crate", 0},
    {"least_hold_n", COLUMN_NUMBER, true, "N", "least push that takes off a brick that stands out",
     0},
    {"weakest_joint", COLUMN_TEXT, true, NULL, "where it is", 0},
    {"use_side", COLUMN_NUMBER, true, "", "share of what its joints hold that is taken on its side",
     0},
    {"use_face_down", COLUMN_NUMBER, true, "",
     "share of what its joints hold that is taken face down", 0},
    {"use_flat", COLUMN_NUMBER, true, "", "share of what its joints hold that is taken flat", 0},
    {"use_lifted", COLUMN_NUMBER, true, "", "share of what its joints hold that is taken lifted",
     0},
    {"use_courses", COLUMN_NUMBER, true, "",
     "share of what its joints hold that is taken carried by its courses", 0},
    {"use_tipped", COLUMN_NUMBER, true, "", "share of what its joints hold that is taken tipped",
     0},
    {"use_hung", COLUMN_NUMBER, true, "", "share of what its joints hold that is taken hung", 0},
    {"use_quarters", COLUMN_NUMBER, true, "",
     "share of what its joints hold that is taken on quarters of its length", 0},
    {"hold_at", COLUMN_TEXT, true, NULL, "where it is to be held when it is carried", 0},
    {"thickness", COLUMN_WHOLE, true, "", "of a wall: units from front to back", 0},
    {"headers", COLUMN_WHOLE, true, "", "of a wall: bricks that go through", 0},
    {"bare_courses", COLUMN_WHOLE, true, "", "of a wall: courses without one", 0},
};

static const Column compare[] = {
    {"rank", COLUMN_WHOLE, false, "", "as the sheet is sorted", 0},
    {"palette", COLUMN_TEXT, false, NULL, "its name", 0},
    {"dither", COLUMN_TEXT, false, NULL, "how colours were mixed", 0},
    {"columns", COLUMN_WHOLE, false, "", "cells across", 0},
    {"rows", COLUMN_WHOLE, false, "", "cells up", 0},
    {"perceived_de00", COLUMN_NUMBER, false, "CIEDE2000",
     "difference as seen from the distance, mean", 0},
    {"perceived_p95_de00", COLUMN_NUMBER, false, "CIEDE2000", "the 95th percentile", 0},
    {"unrest_1", COLUMN_NUMBER, false, "",
     "contrast and chroma that the picture has not, at patches of this size", 0},
    {"unrest_2", COLUMN_NUMBER, false, "",
     "contrast and chroma that the picture has not, at patches of this size", 0},
    {"unrest_3", COLUMN_NUMBER, false, "",
     "contrast and chroma that the picture has not, at patches of this size", 0},
    {"unrest_4", COLUMN_NUMBER, false, "",
     "contrast and chroma that the picture has not, at patches of this size", 0},
    {"worst_de00", COLUMN_NUMBER, false, "CIEDE2000", "where it is worst", 0},
    {"worst_column", COLUMN_WHOLE, false, "", "where that is", 0},
    {"worst_row", COLUMN_WHOLE, false, "", "where that is", 0},
    {"colours", COLUMN_WHOLE, false, "", "in the face", 0},
    {"bricks", COLUMN_WHOLE, false, "", "how many", 0},
    {"price", COLUMN_NUMBER, true, "money", "of the bricks", 0},
    {"mass_kg", COLUMN_NUMBER, false, "kg", "of the bricks", 0},
    {"hours", COLUMN_NUMBER, false, "h", "of one builder", 0},
    {"holds", COLUMN_WHOLE, false, "", "1: all panels hold, 0: not", 0},
};

static const Column curve[] = {
    {"colours", COLUMN_WHOLE, false, "", "how many", 0},
    {"difference", COLUMN_NUMBER, false, "CIEDE2000", "that is left, mean", 0},
    {"ids", COLUMN_TEXT, false, NULL, "of the colours, with blanks between", 0},
};

static const Column inspection[] = {
    {"panel", COLUMN_TEXT, false, NULL, "its name, such as r1c1", 0},
    {"row", COLUMN_WHOLE, false, "", "from the bottom, counted from 1", 0},
    {"column", COLUMN_WHOLE, false, "", "from the left, counted from 1", 0},
    {"columns", COLUMN_WHOLE, false, "", "units across", 0},
    {"rows", COLUMN_WHOLE, false, "", "units up", 0},
    {"size", COLUMN_TEXT, false, NULL, "such as 2x4", 0},
    {"colour", COLUMN_TEXT, false, NULL, "its id", 0},
    {"verdict", COLUMN_TEXT, false, NULL, "right, wrong, missing, shifted or cannot tell", 0},
    {"looks_like", COLUMN_TEXT, true, NULL, "the id of the colour that it shows", 0},
    {"right", COLUMN_WHOLE, false, "", "of a shifted one: cells by which it is off", 0},
    {"up", COLUMN_WHOLE, false, "", "the same", 0},
    {"difference", COLUMN_NUMBER, false, "CIEDE2000",
     "between what it shows and how its colour looks here", 0},
    {"seen_from", COLUMN_NUMBER, false, "CIEDE2000",
     "the least difference that would have been noticed", 0},
    {"why", COLUMN_TEXT, true, NULL, "it cannot be told", 0},
};

static const Column show_parts[] = {
    {"mural", COLUMN_TEXT, false, NULL, "its name", 0},
    {"colour", COLUMN_TEXT, false, NULL, "its id", 0},
    {"name", COLUMN_TEXT, false, NULL, "of the colour", 0},
    {"size", COLUMN_TEXT, false, NULL, "such as 2x4", 0},
    {"count", COLUMN_WHOLE, false, "", "bricks in the mural", 0},
    {"spare", COLUMN_WHOLE, false, "", "over and above", 0},
    {"order", COLUMN_WHOLE, false, "", "both, without what stands", 0},
    {"in_stock", COLUMN_WHOLE, false, "", "of them on the shelf", 0},
    {"to_buy", COLUMN_WHOLE, false, "", "the rest", 0},
    {"price", COLUMN_NUMBER, false, "money", "of what is ordered; 0: not priced", 0},
    {"mass_g", COLUMN_NUMBER, false, "g", "of the bricks in the mural", 0},
};

static const Column show_crates[] = {
    {"crate", COLUMN_WHOLE, false, "", "its number, in the order of opening", 0},
    {"vehicle", COLUMN_WHOLE, true, "", "counted from 1; empty: it goes into none", 0},
    {"load", COLUMN_WHOLE, true, "", "place in the order of loading", 0},
    {"pallet", COLUMN_WHOLE, true, "", "counted from 1 through all vehicles", 0},
    {"level", COLUMN_WHOLE, true, "", "1: on the floor, or on the pallet", 0},
    {"on", COLUMN_WHOLE, true, "", "the crate that it stands on", 0},
    {"hung_first", COLUMN_WHOLE, false, "", "the first of its panels in the order of hanging", 0},
    {"hung_last", COLUMN_WHOLE, false, "", "the last", 0},
    {"panels", COLUMN_WHOLE, false, "", "how many", 0},
    {"content", COLUMN_TEXT, false, NULL, "which", 0},
    {"width_mm", COLUMN_NUMBER, false, "mm", "outside", 0},
    {"height_mm", COLUMN_NUMBER, false, "mm", "outside", 0},
    {"depth_mm", COLUMN_NUMBER, false, "mm", "outside", 0},
    {"net_kg", COLUMN_NUMBER, false, "kg", "of the panels", 0},
    {"gross_kg", COLUMN_NUMBER, false, "kg", "packed", 0},
    {"value", COLUMN_NUMBER, false, "money", "of what is in it", 0},
    {"currency", COLUMN_TEXT, true, NULL, "of the show", 0},
};

static const Column show_difference[] = {
    {"mural", COLUMN_TEXT, false, NULL, "its name", 0},
    {"colour", COLUMN_TEXT, false, NULL, "its id", 0},
    {"size", COLUMN_TEXT, false, NULL, "such as 2x4", 0},
    {"before", COLUMN_WHOLE, false, "", "bricks before the last change", 0},
    {"after", COLUMN_WHOLE, false, "", "bricks now", 0},
    {"change", COLUMN_WHOLE, false, "", "after less before", 0},
};

static const Column bench_record[] = {
    {"serial", COLUMN_WHOLE, false, "", "of the event", 0},
    {"device", COLUMN_TEXT, false, NULL, "that told it", 0},
    {"number", COLUMN_WHOLE, false, "", "of its events", 0},
    {"at", COLUMN_NUMBER, false, "s", "since 1970 (UTC), when it was said", 0},
    {"kind", COLUMN_TEXT, false, NULL, "what was said", 0},
    {"panel", COLUMN_TEXT, true, NULL, "of which", 0},
    {"first", COLUMN_WHOLE, false, "", "its first brick, counted from 0", 0},
    {"count", COLUMN_WHOLE, false, "", "bricks from that one", 0},
    {"laid", COLUMN_WHOLE, false, "", "1: laid, 0: not", 0},
    {"text", COLUMN_TEXT, true, NULL, "what else was said", 0},
};

#define TABLE(name, columns)                                                                       \
    {                                                                                              \
        name, columns, sizeof(columns) / sizeof *(columns)                                         \
    }

const Table table_list[TABLES] = {
    [TABLE_BRICKS] = TABLE("bricks.csv", bricks),
    [TABLE_ROWS] = TABLE("rows.csv", rows),
    [TABLE_PARTS] = TABLE("parts.csv", parts),
    [TABLE_ORDER] = TABLE("order.csv", order),
    [TABLE_LEFT] = TABLE("left.csv", left),
    [TABLE_DIFFERENCE] = TABLE("difference.csv", difference),
    [TABLE_PANELS] = TABLE("panels.csv", panels),
    [TABLE_COMPARE] = TABLE("compare.csv", compare),
    [TABLE_CURVE] = TABLE("STEM-curve.csv", curve),
    [TABLE_INSPECTION] = TABLE("DIR/inspection.csv", inspection),
    [TABLE_SHOW_PARTS] = TABLE("DIR/parts.csv", show_parts),
    [TABLE_SHOW_CRATES] = TABLE("DIR/crates.csv", show_crates),
    [TABLE_SHOW_DIFFERENCE] = TABLE("DIR/difference.csv", show_difference),
    [TABLE_BENCH_RECORD] = TABLE("--export FILE.csv", bench_record),
};
