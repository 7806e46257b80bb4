/* Table list: every CSV table that the program writes, and its columns in their order. One list for
 * the writers, which take their headers from it, and the manual. Data alone. */
#ifndef ROWLOCK_BASE_TABLE_LIST_H
#define ROWLOCK_BASE_TABLE_LIST_H

#include <stdbool.h>
#include <stddef.h>

typedef enum ColumnType {
    COLUMN_TEXT,
    COLUMN_WHOLE,  /* digits, perhaps after a minus */
    COLUMN_NUMBER, /* the same with a decimal point */
    COLUMN_TYPES
} ColumnType;

/* Sets of columns that are there in some plans alone. */
enum { COLUMNS_OF_SUPPLIERS = 1, COLUMNS_OF_INSTALMENTS = 2, COLUMN_SETS = 2 };

typedef struct Column {
    const char *name;
    ColumnType type;
    bool empty;       /* may be: not known, or asked of other plans alone */
    const char *unit; /* of a number: "mm"; "" for a count, a place or a ratio; else NULL */
    const char *what; /* a few words */
    unsigned of;      /* a set; 0: every such table has it */
} Column;

typedef enum TableId {
    TABLE_BRICKS,
    TABLE_ROWS,
    TABLE_PARTS,
    TABLE_ORDER,
    TABLE_LEFT,
    TABLE_DIFFERENCE,
    TABLE_PANELS,
    TABLE_COMPARE,
    TABLE_CURVE,
    TABLE_INSPECTION,
    TABLE_SHOW_PARTS,
    TABLE_SHOW_CRATES,
    TABLE_SHOW_DIFFERENCE,
    TABLE_BENCH_RECORD,
    TABLES
} TableId;

typedef struct Table {
    const char *name; /* as the list of outputs has it, or what it is */
    const Column *column;
    size_t columns;
} Table;

extern const Table table_list[TABLES];

/* How help names a type. */
extern const char *const column_type_name[COLUMN_TYPES];

#endif
