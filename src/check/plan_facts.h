/* Plan facts: what a plan folder says, gathered file by file by the checks.
 *
 * The checks run in the order of the headers below and stand on what those before
 * them could establish: a flag says so (framed, tiled, ...), and where it is unset the
 * later check leaves its promise alone, since the cause has its line already.
 * Nothing here is shared with the code that lays and writes plans. Places are from 0
 * in memory and from 1 in files and messages; row 0 is at the bottom. */
#ifndef ROWLOCK_CHECK_PLAN_FACTS_H
#define ROWLOCK_CHECK_PLAN_FACTS_H

#include "base/csv_stream.h"
#include "base/name_table.h"
#include "base/status.h"
#include "base/voice.h"
#include "check/verdict.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define GRAVITY 9.81 /* m/s2, as weights are told with; the standard value is 9.80665 */

/* The most that a count in a table may be: beyond any mural, and exact as a double. */
#define COUNT_MOST 99999999999L

enum { SHADES_MOST = 254, FORMATS_MOST = 128, EXTENT_MOST = 64, SIDE_MOST = 20000 };

typedef struct Shade { /* a colour of plan.json */
    const char *id, *name;
    uint8_t rgb[3]; /* of its hex */
} Shade;

typedef struct Format { /* a size of brick, by its name */
    char name[16];
    int a, b; /* units */
} Format;

typedef struct Plot { /* a panel */
    const char *name;
    int column, row, columns, rows;
    int line; /* in panels.csv */
} Plot;

typedef struct Block { /* a brick, as bricks.csv gives it */
    int32_t column, row, tier, columns, rows, tiers;
    uint32_t plot;
    int32_t line;
    uint8_t shade, format, shown;
} Block;

typedef struct Sums { /* of parts.csv, with how far they may be off by rounding */
    double price, price_off, mass_g, mass_off;
} Sums;

typedef struct Hold { /* how a panel hangs together */
    long bricks, pieces, unsupported, weak, straight;
    size_t joints, lapped;
} Hold;

/* What panels carry behind their bricks, as plan.json says. */
typedef struct Behind {
    double sheet_kg_m2, sheet_mm, board_kg_m2, board_mm, frame_kg_m, frame_mm, fixings_kg;
} Behind;

typedef struct PlanFacts {
    const char *folder;
    const Voice *voice;
    Verdict *verdict;

    json_t *plan; /* names are borrowed from it */
    bool wall, relief;
    int shell;               /* units around a hollow core; 0: the plan is solid */
    int columns, rows, base; /* once framed */
    double cell_mm[2], step_mm;
    int shades; /* 0: colours could not be read */
    Shade shade[SHADES_MOST];
    NameTable shade_index;
    bool framed;

    uint8_t *cell;  /* rows x columns, index of a shade */
    uint16_t *top;  /* rows x columns */
    uint16_t *core; /* rows x columns: of the tiers from `shell` on, those below this may be in no
                       brick; NULL: none may */
    bool faced;     /* both are known */

    size_t plots;
    Plot *plot; /* in the order of plan.json */
    NameTable plot_index;
    uint32_t *plot_of; /* rows x columns */
    bool tiled;

    size_t blocks, capacity;
    Block *block;
    int formats;
    Format format[FORMATS_MOST];
    size_t *first;   /* rows x columns + 1: where a cell's units start in owner */
    uint32_t *owner; /* a block's index + 1 for each unit of the solid, 0: none */
    bool read;       /* every line of bricks.csv is a block */
    bool sound;      /* read, and they fill the solid without overlap, within panels */

    long *count;      /* shades x FORMATS_MOST */
    long *built;      /* the same: of these, bricks that stood when the mural was planned again */
    double *mass_g;   /* of one brick of each format, from parts.csv; FORMATS_MOST */
    double *mass_off; /* and how far off that may be by rounding */
    bool weighed;
    Behind behind;
    double standing; /* bricks that stood when the mural was planned again */
    Sums sums;       /* NAN where the table cannot be read */
    Hold *hold;      /* one for each panel; NULL where the bricks are not sound */
} PlanFacts;

void plan_facts_clear(PlanFacts *e);

/* The brick of a unit that is in the solid. */
static inline uint32_t *plan_facts_unit(const PlanFacts *e, int column, int row, int tier)
{
    return &e->owner[e->first[(size_t)row * (size_t)e->columns + (size_t)column] + (size_t)tier];
}

/* Tiers of a cell; 0 outside the mural. */
static inline int plan_facts_top(const PlanFacts *e, int column, int row)
{
    if (column < 0 || row < 0 || column >= e->columns || row >= e->rows) return 0;
    return e->top[(size_t)row * (size_t)e->columns + (size_t)column];
}

/* Whether a setting of plan.json is there and switched on, or off. */
bool plan_facts_on(const PlanFacts *e, const char *setting);
bool plan_facts_off(const PlanFacts *e, const char *setting);

/* The number of a format's name, entered if it is new; -1 if it is no name of one or
 * there are too many. */
int plan_facts_format(PlanFacts *e, const char *name);

/* Whether two numbers are the same as far as their last digits tell: `printed` with
 * `places` after the point, and `exact`, itself off by up to `off`. */
bool plan_facts_same(double printed, int places, double exact, double off);
/* The digits after the point that a number of plan.json was written with, at least
 * `least`, since zeros at the end are lost. */
int plan_facts_places(double number, int least);

/* Says that a field is not what it should be; false. */
bool plan_facts_bad_field(PlanFacts *e, const CsvStream *stream, int field, const char *want);

/* Four bytes of a file as a number, the lowest first. */
static inline uint32_t plan_facts_u32(const char *bytes)
{
    const unsigned char *b = (const unsigned char *)bytes;
    return (uint32_t)b[0] | (uint32_t)b[1] << 8 | (uint32_t)b[2] << 16 | (uint32_t)b[3] << 24;
}

#endif
