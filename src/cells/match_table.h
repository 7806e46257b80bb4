/* Match table: the nearest colour by CIEDE2000, exactly, from a table that grows with what is
 * asked. */
#ifndef ROWLOCK_CELLS_MATCH_TABLE_H
#define ROWLOCK_CELLS_MATCH_TABLE_H

#include "base/status.h"
#include "colour/colour.h"
#include "model/palette.h"

#include <stdint.h>

/* A palette made ready; any number of tables may share it. */
typedef struct MatchColours MatchColours;

Status match_colours_create(MatchColours **colours_out, const Palette *palette, Fault *fault);
void match_colours_free(MatchColours *colours); /* NULL allowed */

/* What has been found out so far; one thread at a time may ask. Takes 0.2 MiB, and up to 4 more
 * with what is asked; where there is no room it answers more slowly. */
typedef struct MatchTable MatchTable;

Status match_table_create(MatchTable **table_out, const MatchColours *colours, Fault *fault);
void match_table_free(MatchTable *table); /* NULL allowed */

/* Whether there was memory to grow. Fault: no memory. */
Status match_table_status(const MatchTable *table, Fault *fault);

enum { QUESTIONS = 64 }; /* at most at a time */

#define MATCH_APART 1.5e-3 /* lab_row is good to 1e-3 */

typedef struct Questions {
    int count;
    /* Within MATCH_APART of the colours themselves; hues within 0.3 degrees, if there is one. */
    float L[QUESTIONS], a[QUESTIONS], b[QUESTIONS];
    /* The colour itself, for where single precision cannot decide. */
    Lab (*itself)(const void *context, int question);
    const void *context;
} Questions;

/* Of the least differences of delta_e_2000 that of the lowest index. */
void match_table_answer(MatchTable *table, const Questions *questions, uint8_t *nearest_out);

#endif
