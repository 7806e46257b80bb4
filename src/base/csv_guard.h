/* Csv guard: an apostrophe before text that a spreadsheet would run.
 *
 * A spreadsheet takes a field that begins with = + - @, a tab or a carriage return for a formula,
 * whoever wrote it. Text that begins so, and text that begins with an apostrophe, is written with
 * an apostrophe before it; whoever reads the table drops that one again. Common practice, no
 * source. */
#ifndef ROWLOCK_BASE_CSV_GUARD_H
#define ROWLOCK_BASE_CSV_GUARD_H

#include <stdbool.h>
#include <string.h>

static inline bool csv_needs_guard(const char *text) { return *text && strchr("=+-@\t\r'", *text); }

/* The text of a field as it was before it was guarded. */
static inline const char *csv_unguarded(const char *field)
{
    return *field == '\'' && csv_needs_guard(field + 1) ? field + 1 : field;
}

#endif
