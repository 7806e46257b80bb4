/* Table: the plan's CSV files (RFC 4180, UTF-8, columns as the contract names them).
 * Places count from 1: column 1 at the left, row 1 at the bottom, tier 1 at the back. */
#ifndef ROWLOCK_TABLE_H
#define ROWLOCK_TABLE_H

#include "mural.h"

Status table_bricks(const Mural *mural, const char *path, Fault *fault);
Status table_rows(const Mural *mural, const char *path, Fault *fault);
Status table_parts(const Mural *mural, const char *path, Fault *fault);

/* order.csv: what is to be bought, rounded up to whole packs. left.csv: the stock once
 * that has come and the mural is built, spares unused; a stock file again. */
Status table_order(const Mural *mural, const char *path, Fault *fault);
Status table_left(const Mural *mural, const char *path, Fault *fault);
/* difference.csv: of a mural planned anew, what changes in its parts. */
Status table_difference(const Mural *mural, const char *path, Fault *fault);
Status table_panels(const Mural *mural, const char *path, Fault *fault);

#endif
