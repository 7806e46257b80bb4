/* Answer: what a service is asked, and what it answers. Nothing here knows of connections: a
 * request that entry has let in comes as an Ask and leaves as an Answer. */
#ifndef ROWLOCK_SERVE_ANSWER_H
#define ROWLOCK_SERVE_ANSWER_H

#include "serve/entry.h"
#include "serve/incoming.h"

#include <jansson.h>

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
    void **held;      /* the route's own, kept from one time to the next */
} Ask;

/* Which scripts, pictures and forms an answer's page may have. */
typedef enum Rules {
    RULES_OWN,      /* scripts and data of the service */
    RULES_FORM,     /* a form that is sent back here, and no script */
    RULES_BOOK,     /* a build book, which has its scripts within and asks for nothing */
    RULES_LIVE_BOOK /* one that asks the service, too */
} Rules;

typedef struct Answer {
    unsigned status;
    const char *type;             /* NULL: there is no body */
    const char *fixed;            /* the body, a part of the program */
    void *bytes;                  /* or bytes that were made, let go with `release` */
    void (*release)(void *bytes); /* NULL: memory_free */
    size_t length;                /* of either */
    char *path;                   /* or a file's; let go with memory_free */
    const char *onward;           /* the page that it leads on to; NULL: it is shown itself */
    const char *cookie;           /* a token that is given with it; NULL: none */
    Rules rules;                  /* for what the page may do */
} Answer;

/* No answer yet: the request is to be asked again once there are news. */
enum { ANSWER_LATER = 0 };

typedef struct Route {
    Door door;
    bool upload; /* the body is a file */
    Answer (*answer)(void *self, const Ask *ask);
} Route;

enum { ROUTES_MOST = 32 };

/* What is served: routes, and what they are about. All of it is called by the thread that answers.
 */
typedef struct Service {
    const char *name; /* what a fault and a paired device call it: "desk" */
    const Route *route;
    int routes;  /* at most ROUTES_MOST */
    int devices; /* the most that are paired at a time, 1 to PAIRING_DEVICES */
    void *self;
    const char *(*room)(void *self); /* the folder in which uploads begin; NULL: no route is one */
    void (*refresh)(void *self);     /* takes up what other threads found */
    unsigned long (*serial)(const void *self); /* grows with whatever is told */
    void (*drop)(void *self, void *held);      /* what a request held; NULL member: nothing */
} Service;

/* ---- what a request says ---- */

/* A field's text, "" where there is none; and as a number, 0. */
const char *ask_text(const Ask *ask, const char *name);
double ask_number(const Ask *ask, const char *name);

/* The body's object, which the caller lets go. Fault: it is none. */
Status ask_object(json_t **object_out, const Ask *ask, Fault *fault);

/* The object that a field holds, an empty one where there is no such field; else as ask_object. */
Status ask_field_object(json_t **object_out, const Ask *ask, const char *name, Fault *fault);

/* ---- answers ---- */

Answer answer_fixed(const char *type, const char *text);

/* The first page. Of a request that comes with the link's token that becomes a cookie, and leaves
 * the address bar. */
Answer answer_page(const Ask *ask, const char *html);

/* Takes the value over; NULL is a lack of memory. */
Answer answer_json(unsigned status, json_t *value);

/* A fault as {"fault": text}, which pages show; and that, or an empty object where all went well.
 */
Answer answer_fault(Status status, const char *text);
Answer answer_done(Status status, const Fault *fault);

/* The same as a page of its own, for what is opened by a link: the line as it is. */
Answer answer_fault_page(const Fault *fault);

/* A file's bytes; the path is copied. */
Answer answer_file(const char *type, const char *path);

/* The answer to what is not let in. */
Answer answer_refusal(unsigned status);

/* Leads on to another page of ours. */
Answer answer_onward(const char *path);

/* ---- pairing, for services that have it ---- */

enum { PAIRING_BODY = 64 };
Answer give_pairing(void *self, const Ask *ask); /* the page with its form */
Answer take_pairing(void *self, const Ask *ask); /* what was typed there */

/* Where and with what code another device may be paired; null: nowhere. */
json_t *tell_pairing(const Entry *entry);

#define ROUTES_OF_PAIRING                                                                          \
    {{.method = "GET", .path = "/pair", .open = true}, false, give_pairing},                       \
    {                                                                                              \
        {.method = "POST",                                                                         \
         .path = "/pair",                                                                          \
         .type = "application/x-www-form-urlencoded",                                              \
         .most = PAIRING_BODY,                                                                     \
         .open = true},                                                                            \
            false, take_pairing                                                                    \
    }

#endif
