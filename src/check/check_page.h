/* Check of the page: the bricks that book.html holds are those of bricks.csv, one by one, and
 * its head is plan.json's. The format is told in words in page.h; this reader is another. */
#ifndef ROWLOCK_CHECK_CHECK_PAGE_H
#define ROWLOCK_CHECK_CHECK_PAGE_H

#include "check/plan_facts.h"

/* A page that the plan does not list is left alone; so are the bricks where bricks.csv does not
 * fill the solid. */
Status check_page(PlanFacts *e, Fault *fault);

#endif
