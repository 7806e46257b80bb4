/* Compare sheet: variants as cards on one sheet, and as a table of figures. */
#ifndef ROWLOCK_STUDY_COMPARE_SHEET_H
#define ROWLOCK_STUDY_COMPARE_SHEET_H

#include "study/candidate.h"

/* In the order in which they are shown. */
typedef struct CompareSheet {
    const Job *job;
    const Reference *reference;
    const Image *image; /* the picture, in the first variant's cells */
    const Candidate *const *variant;
    int variants;
} CompareSheet;

/* compare.pdf and compare.png are the same drawing. */
Status compare_sheet_pdf(const CompareSheet *sheet, const char *path, Fault *fault);
Status compare_sheet_png(const CompareSheet *sheet, const char *path, Fault *fault);
/* The first of them side by side, for a client to choose from and sign. */
Status compare_sheet_offer(const CompareSheet *sheet, const char *path, Fault *fault);
Status compare_sheet_csv(const CompareSheet *sheet, const char *path, Fault *fault);

#endif
