/* Check of the orders: order.csv and left.csv against parts.csv. What was in stock and
 * what is bought must be what the mural takes and what is left. */
#ifndef ROWLOCK_CHECK_CHECK_ORDERS_H
#define ROWLOCK_CHECK_CHECK_ORDERS_H

#include "check/plan_facts.h"

/* Tables that the plan does not list are left alone. */
Status check_orders(PlanFacts *e, Fault *fault);

#endif
