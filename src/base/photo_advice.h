/* Photo advice: how bricks and panels are photographed so that their colours can be told. One text
 * for help, the manual and the book. */
#ifndef ROWLOCK_BASE_PHOTO_ADVICE_H
#define ROWLOCK_BASE_PHOTO_ADVICE_H

typedef struct PhotoAdvice {
    const char *of, *text; /* a word or two; sentences, without a line end */
} PhotoAdvice;

enum { PHOTO_ADVICE = 5 };
extern const PhotoAdvice photo_advice[PHOTO_ADVICE];

#endif
