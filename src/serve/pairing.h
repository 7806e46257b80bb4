/* Pairing: how a device that has not the link is let in. Somebody who sees both this machine and
 * the device types a code of eight digits, and the device has a token of its own from then on. Each
 * code serves once. After five wrong ones nobody is heard for a while that doubles each time, so
 * that trying codes is hopeless: a hundred million of them, and a few an hour. */
#ifndef ROWLOCK_SERVE_PAIRING_H
#define ROWLOCK_SERVE_PAIRING_H

#include "serve/token.h"

enum {
    PAIRING_CODE = 9,     /* eight digits, and the end */
    PAIRING_DEVICES = 16, /* the most that may be paired at a time */
    PAIRING_TRIES = 5,    /* wrong ones before a wait */
    PAIRING_WAIT = 30,    /* seconds of the first wait; these two are our choice */
    PAIRING_WAIT_MOST = 3600
};

typedef struct Pairing {
    char code[PAIRING_CODE];                  /* to be typed next */
    char device[PAIRING_DEVICES][TOKEN_TEXT]; /* tokens of those paired; "": none */
    int most;                                 /* at a time; the newest takes the oldest's place */
    int next;                                 /* the place of the next */
    int wrong;                                /* tries since the last wait */
    double wait;                              /* the next wait, seconds */
    double until;                             /* nobody is heard before */
} Pairing;

typedef enum PairingResult { PAIRING_MADE, PAIRING_WRONG, PAIRING_DEAF } PairingResult;

/* Draws the first code; `most` from 1 to PAIRING_DEVICES. Fault: the system has no random bits. */
Status pairing_init(Pairing *pairing_out, int most, Fault *fault);

/* Whether a device that was paired has this token; NULL: it has none. */
bool pairing_knows(const Pairing *pairing, const char *token);

/* A code as somebody typed it, blanks allowed, at a time in seconds. PAIRING_MADE: *token_out is
 * the device's, as long as the pairing lives, and there is a new code. */
PairingResult pairing_try(Pairing *pairing, const char *code, double now, const char **token_out);

#endif
