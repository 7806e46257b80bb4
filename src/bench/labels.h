/* Labels: a page to print, with a label for each panel of a plan. Its QR code opens that panel's
 * page on the bench. */
#ifndef ROWLOCK_BENCH_LABELS_H
#define ROWLOCK_BENCH_LABELS_H

#include "bench/work_plan.h"

#include <stddef.h>

/* The page as text, which the caller frees with free(). `plan` is its number on the bench, `host`
 * where devices reach that, such as "192.168.1.20:8080", `copies` of each label, for the panel and
 * its bags. Fault: no memory. */
Status labels_write(char **html_out, size_t *length_out, const WorkPlan *work, int plan,
                    const char *host, int copies, Fault *fault);

#endif
