/* Entry: who may come in, and with what. Every request is held to it before anything is read of
 * its body.
 *
 * The desk listens on this machine alone, yet any page that a browser has open can send requests
 * there. So a request must know the token of the first link, which a cookie keeps afterwards, or be
 * of a device that was paired; it must have been sent to one of our own names, or a foreign name
 * that leads here would be let in; and where it says which page sent it, that must be ours. */
#ifndef ROWLOCK_SERVE_ENTRY_H
#define ROWLOCK_SERVE_ENTRY_H

#include "serve/pairing.h"

#include <stdint.h>

enum {
    ENTRY_COOKIE = 24, /* "rowlock-65535" */
    ENTRY_HOST = 48    /* an address as a link has it, "[::1]" */
};

typedef struct Entry {
    unsigned port;
    char token[TOKEN_TEXT];
    char cookie[ENTRY_COOKIE]; /* its name; cookies know no ports, so the port is in it */
    char host[ENTRY_HOST];     /* a further address of ours, for other devices; "": none */
    Pairing *pairing;          /* that lets them in; NULL: nobody */
} Entry;

/* A request's head. Texts are NULL where it has none. */
typedef struct Head {
    const char *method, *path;
    const char *host, *origin, *type;
    const char *cookie; /* the value of our cookie */
    const char *token;  /* of the link */
    uint64_t length;    /* of the body in bytes, as the head says */
    bool chunked;       /* there is a body that comes without its length */
} Head;

/* What a route takes. */
typedef struct Door {
    const char *method, *path;
    const char *type; /* of the body: "application/json"; a star at its end is whatever follows;
                         NULL: there is none */
    uint64_t most;    /* bytes of the body */
    bool link;        /* comes with the token in the link */
    bool open;        /* for whoever wants to be paired, and has no token yet */
} Door;

/* Draws the token; nobody else is let in. Fault: the system has no random bits. */
Status entry_init(Entry *entry_out, unsigned port, Fault *fault);

/* Looks for the door among `count` and holds the head to it. 200, and *door_out is the door; else
 * the status to answer with: 421 a host that is not ours, 403 a foreign origin or no token, 404 no
 * such path, 405 another method, 411 a body of no said length, 415 another type, 413 too long. */
unsigned entry_check(const Entry *entry, const Door *door, int count, const Head *head,
                     int *door_out);

#endif
