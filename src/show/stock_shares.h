/* Stock shares: what each mural may take of the shelf, as a stock file of its own.
 *
 * Where the shelf is all there is (`stock-only`), it is shared out before anything is planned: to
 * faces as stock_demand says, of what these leave to the units behind them, and the rest with the
 * faces.
 * Else a mural is planned as if nothing lay there, with the shelf's prices and packs, and what is
 * on the shelf is taken off the order of all murals. */
#ifndef ROWLOCK_SHOW_STOCK_SHARES_H
#define ROWLOCK_SHOW_STOCK_SHARES_H

#include "base/voice.h"
#include "plan/studio.h"
#include "show/show_file.h"
#include "show/show_folder.h"
#include "show/stock_demand.h"

typedef struct ShareTask {
    DemandTask demand;
    const ShowFolder *folder;
    Job *job; /* of each mural, as it is planned: gets a `backing` where it has none of its own */
} ShareTask;

/* Writes shelf/NAME.csv for each mural; nothing where the show has no stock. Shares never come to
 * more than there is. Faults as of stock_demand.h; a file that cannot be written. */
Status stock_shares_write(const ShareTask *task, const Voice *voice, Fault *fault);

#endif
