/* Region list: parts of a picture in which other things are asked of the choice of colours. */
#ifndef ROWLOCK_MODEL_REGION_LIST_H
#define ROWLOCK_MODEL_REGION_LIST_H

#include "base/ini_sections.h"
#include "base/status.h"
#include "base/voice.h"
#include "model/grid.h"
#include "model/palette.h"

enum {
    REGIONS_MOST = 32, /* the rest of the picture among them */
    REGION_NONE = 0,   /* the rest: its place in the list, and its index in pictures */
    REGION_INDEX_MOST = 254
};

/* Factors of what counts elsewhere. An error that counts nothing would leave a colour to chance,
 * so care has a least. */
#define CARE_LEAST 0.1
#define CARE_MOST 10.0
#define REGION_FACTOR_MOST 10.0 /* of calm and thrift; the least is 0 */

typedef struct Region {
    char name[SECTION_NAME];
    int index; /* of its pixels in the label picture */
    double care, calm, thrift;
} Region;

/* region[REGION_NONE] has no name, factors of 1 and bars nothing; the others come by index. A label
 * is a place in this list. */
typedef struct RegionList {
    int count;
    Region region[REGIONS_MOST];
    Barred barred[REGIONS_MOST]; /* by place in the list, for Keep */
} RegionList;

/* The regions of a mural, as the writers read them. */
typedef struct RegionMap {
    const RegionList *list;
    const uint8_t *label; /* rows x columns; cells that keep their colour are in none */
} RegionMap;

/* Only the rest of the picture. */
void region_list_init(RegionList *list_out);

/* What the ids of a list stand for; borrowed. */
typedef struct RegionWords {
    const Palette *palette;
    bool others;        /* ids of another palette are passed over, with a note; else a fault */
    const Voice *voice; /* NULL allowed */
} RegionWords;

/* Reads an INI file: a section for each region, `[region NAME]`, with index, and care, calm,
 * thrift, without. Faults: a key that is none or stands twice, a factor out of range, an id that
 * the palette has not, two regions of one index, one without an index. */
Status region_list_read(RegionList *list_out, const char *path, const RegionWords *words,
                        Fault *fault);

#endif
