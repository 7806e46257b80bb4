/* Check of contents: whether a listed file is what its name says, by its bytes alone. A file that
 * is not there is left alone: that is said with the list. */
#ifndef ROWLOCK_CHECK_CHECK_CONTENT_H
#define ROWLOCK_CHECK_CHECK_CONTENT_H

#include "check/plan_facts.h"

Status content_png(PlanFacts *e, const char *name, Fault *fault);
Status content_jpeg(PlanFacts *e, const char *name, Fault *fault);
Status content_pdf(PlanFacts *e, const char *name, Fault *fault);
Status content_html(PlanFacts *e, const char *name, Fault *fault);
Status content_gltf(PlanFacts *e, const char *name, Fault *fault);
Status content_json(PlanFacts *e, const char *name, Fault *fault);

#endif
