/* Row list: a row of a plane as one line to read aloud and tick off:
 *
 *     [ ] row 12   1: 3×A4 1x2   7: 1×B2 2x4↑   9: (2 laid)        4 bricks  10 cells
 *
 * Each run starts with the column where it starts. The cells are summed over the runs
 * themselves, so that a helper's own sum and the panel's width both check them. */
#ifndef ROWLOCK_BOOK_ROW_LIST_H
#define ROWLOCK_BOOK_ROW_LIST_H

#include "book/chart.h"
#include "book/sheet.h"

/* One run without its column: "3×A4 1x2", "1×B2 2x4↑", "(2 laid)", "(5 empty)". `head` gets
 * what is set in bold, `tail` the rest; either may be empty. */
void run_text(const Mural *mural, const Run *run, char *head, size_t head_size, char *tail,
              size_t tail_size);

/* "row 12", or "row 12 tier 2" where the mural has several tiers; both count from 0 here. */
void row_label(const Mural *mural, int row, int tier, char *text, size_t size);

/* Lines go below the sheet's y; what does not fit goes on new pages under `head`. */
typedef struct RowList {
    Sheet *sheet;
    const char *head;
    bool open; /* a table is tagged and in hand */
} RowList;

/* The row that runs_next read last. */
Status row_list_add(RowList *list, const Runs *runs, const char *label, Fault *fault);
/* A line without runs, for rows where nothing is laid. */
Status row_list_note(RowList *list, const char *label, const char *note, Fault *fault);
/* A line with a ticked box, for rows whose bricks stand already. */
Status row_list_standing(RowList *list, const char *label, size_t bricks, Fault *fault);

typedef enum RowKind {
    ROW_TO_LAY,
    ROW_EMPTY, /* nothing is laid or has been */
    ROW_STANDS
} RowKind;

/* Rows of one kind, one after another. */
typedef struct RowSpan {
    RowKind kind;
    int from, to;  /* rows of the mural, from 0 */
    size_t bricks; /* that stand */
} RowSpan;

/* One line for rows that are empty or stand; none for rows to lay, which have theirs. */
Status row_list_span(RowList *list, const RowSpan *span, Fault *fault);
void row_list_end(RowList *list);
/* Room that the row in hand needs, mm. */
double row_list_height(const RowList *list, const Runs *runs);

#endif
