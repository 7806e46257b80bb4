/* Offer page: what a client signs, a page with up to three ways to make the mural. */
#ifndef ROWLOCK_BOOK_OFFER_PAGE_H
#define ROWLOCK_BOOK_OFFER_PAGE_H

#include "base/status.h"
#include "figures/offer.h"

#include <stdint.h>

enum { OFFER_OPTIONS = 3 }; /* side by side, at most */

/* Rows from the top, 3 bytes a pixel, sRGB. */
typedef struct OfferPicture {
    int width, height;
    const uint8_t *rgb;
} OfferPicture;

typedef struct OfferOption {
    const char *name; /* what tells it from the others */
    Offer offer;
    OfferPicture far, near; /* from the job's distance, and close by */
} OfferOption;

typedef struct OfferSheet {
    const Job *job;
    const char *picture; /* its file's name, where the job names no title */
    int options;
    OfferOption option[OFFER_OPTIONS];
} OfferSheet;

/* What the picture close by has: columns, and height by width. */
enum { OFFER_NEAR_CELLS = 44 };
double offer_near_aspect(int options, double aspect);

/* Faults: no memory; it cannot be written. */
Status offer_page_write(const OfferSheet *sheet, const char *path, Fault *fault);

#endif
