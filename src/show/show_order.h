/* Show order: what all murals take together, bought once.
 *
 * Spares are reckoned on the bricks of a colour and size that all murals have, the shelf counts
 * once, and packs are rounded up once. Each mural's share of the spares and of the shelf is told
 * in the order of building, so that the shares add up to the whole. */
#ifndef ROWLOCK_SHOW_SHOW_ORDER_H
#define ROWLOCK_SHOW_SHOW_ORDER_H

#include "show/calendar.h"
#include "show/planned.h"

/* A mural's share of one part. */
typedef struct OrderShare {
    long count;    /* bricks in the mural */
    long built;    /* of these, those that stand already */
    long spare;    /* of the spares */
    long in_stock; /* from the shelf */
} OrderShare;

static inline long share_order(const OrderShare *s) { return s->count - s->built + s->spare; }
static inline long share_to_buy(const OrderShare *s) { return share_order(s) - s->in_stock; }

typedef struct ShowOrder {
    const Studio *studio; /* borrowed */
    int murals;
    Parts whole;         /* of all murals */
    OrderShare *share;   /* whole.count x murals, in the order of the file */
    long apart_bought;   /* bricks that orders mural by mural would buy, */
    double apart_outlay; /* and what these would cost: spares and packs each for itself, the shelf
                            shared out in the order of building */
} ShowOrder;

/* Fault: no memory. */
Status show_order_init(ShowOrder *order_out, const Show *show, const Planned *planned,
                       const Studio *studio, Fault *fault);
void show_order_clear(ShowOrder *order);

/* Bricks of a part, an index in `whole`, in a mural. */
long show_order_count(const ShowOrder *order, int part, int mural);

/* Fills in what each panel is worth, for customs: its bricks, each at what the one order pays for
 * it on the mean, packs and price breaks of all included, or at its price where none is bought; and
 * its hours. */
Status show_order_value(const ShowOrder *order, Planned *planned, Fault *fault);

/* "1,250 bricks of Smith for 87.50 EUR", or false where nothing is bought of this supplier, or the
 * brick set names none. NO_SUPPLIER: "of others". */
bool show_order_supplied(const ShowOrder *order, int supplier, const char *currency, char *text_out,
                         size_t size);

/* parts.csv: as a plan's, mural by mural, with what each has of spares and shelf; order.csv and
 * left.csv as a plan's. */
Status show_order_parts(const ShowOrder *order, const Show *show, const char *path, Fault *fault);
/* With instalments a part has a line in each that buys it, and `by` is the day on which it must be
 * there; a pack that one instalment opens serves the next. Prices are those of the whole quantity:
 * one order, which comes in parts. */
Status show_order_order(const ShowOrder *order, const Calendar *calendar, const char *path,
                        Fault *fault);
Status show_order_left(const ShowOrder *order, const char *path, Fault *fault);

#endif
