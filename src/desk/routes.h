/* Routes: what may be asked of the desk, and what is answered. Nothing here knows of connections:
 * a request that entry has let in comes as an Ask and leaves as an Answer. */
#ifndef ROWLOCK_DESK_ROUTES_H
#define ROWLOCK_DESK_ROUTES_H

#include "desk/commission.h"
#include "desk/entry.h"

enum { ASK_FIELDS = 8, NEWS_WAIT = 20 /* seconds that a request for news waits for some */ };

/* A request, whole. */
typedef struct Ask {
    const char *field[ASK_FIELDS][2]; /* of the query: name and text */
    int fields;
    const char *body; /* of a route that is no upload */
    size_t length;
    Incoming *upload; /* of one that is; NULL: there is none */
    double waited;    /* seconds since it was first answered ANSWER_LATER */
    double now;       /* seconds of a clock that runs on */
    Entry *entry;     /* that let it in */
    Sight **sight;    /* kept from one time to the next */
} Ask;

typedef struct Answer {
    unsigned status;
    const char *type;  /* NULL: there is no body */
    char *bytes;       /* the body; freed by whoever sends it, with memory_free */
    const char *fixed; /* or one that is part of the program */
    size_t length;
    char *path;         /* or a file's, freed alike */
    const char *onward; /* the page that it leads on to; NULL: it is shown itself */
    const char *cookie; /* a token that is given with it; NULL: none */
    bool asks;          /* a page with a form that is sent back here */
    bool drawn;         /* a page of the book's own rules for scripts */
    RowlockBytes png;   /* or bytes of the library's */
} Answer;

/* No answer yet: the request is to be asked again once there are news. */
enum { ANSWER_LATER = 0 };

typedef struct Route {
    Door door;
    bool upload; /* the body is a file */
    Answer (*answer)(Commission *commission, const Ask *ask);
} Route;

extern const Route routes[];
extern const int routes_count;

/* The answer to what is not let in. */
Answer answer_refusal(unsigned status);

/* Leads on to another page of ours. */
Answer answer_onward(const char *path);

#endif
