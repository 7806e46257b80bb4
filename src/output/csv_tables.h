/* Csv tables: the plan's CSV files (RFC 4180, UTF-8, columns as the contract names them).
 * Places count from 1: column 1 at the left, row 1 at the bottom, tier 1 at the back. */
#ifndef ROWLOCK_OUTPUT_CSV_TABLES_H
#define ROWLOCK_OUTPUT_CSV_TABLES_H

#include "base/csv_sheet.h"
#include "figures/mural.h"

Status csv_tables_bricks(const Mural *mural, const char *path, Fault *fault);
Status csv_tables_rows(const Mural *mural, const char *path, Fault *fault);
Status csv_tables_parts(const Mural *mural, const char *path, Fault *fault);

/* order.csv: what is to be bought, in whole packs, by supplier where the brick set names any; what
 * it says of a purchase. left.csv: the stock once that has come and the mural is
 * built, spares unused; a stock file again. */
void csv_tables_put_purchase(CsvSheet *sheet, const Mural *mural, const Part *part,
                             const Purchase *purchase);
Status csv_tables_order(const Mural *mural, const char *path, Fault *fault);
Status csv_tables_left(const Mural *mural, const char *path, Fault *fault);
/* difference.csv: of a mural planned anew, what changes in its parts. */
Status csv_tables_difference(const Mural *mural, const char *path, Fault *fault);
Status csv_tables_panels(const Mural *mural, const char *path, Fault *fault);

#endif
