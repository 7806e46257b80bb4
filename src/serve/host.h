/* Host: a service on this machine. Its server, the link that is told and opened, and the codes by
 * which other devices are paired. */
#ifndef ROWLOCK_SERVE_HOST_H
#define ROWLOCK_SERVE_HOST_H

#include "base/voice.h"
#include "rowlock.h"
#include "serve/server.h"

typedef struct HostOptions {
    unsigned port;      /* 0: any that is free */
    const char *listen; /* an address of this machine where devices may be paired; NULL: none */
    bool open;          /* opens the link in a browser */
    /* Takes the link, and the server, which is there until a stop is heard; NULL: the link is
     * printed. */
    void (*told)(void *self, const char *link, Server *server);
    void *self;
} HostOptions;

typedef struct Host {
    Server *server;
    Pairing pairing;
    char said[PAIRING_CODE]; /* the code that was told last */
    const HostOptions *options;
    const Voice *voice;
} Host;

/* A voice of the program that speaks, and is stopped, through one of the library's, which is
 * borrowed; NULL is silence. */
Voice host_voice(const RowlockVoice *voice);

/* Listens, and answers nothing yet. All three are borrowed until the end; the service may be made
 * whole after this. Faults: the port is taken, no such address, no random bits. */
Status host_open(Host *host_out, const Service *service, const HostOptions *options,
                 const Voice *voice, Fault *fault);

/* Tells of the network, hands the link on or prints it as a line of standard output, and answers
 * until the voice says that it is to stop. */
void host_run(Host *host);

/* Closes all connections: before what is served is let go. */
void host_stop(Host *host);

/* There are news: any thread; until host_free. */
void host_wake(void *host);
void host_free(Host *host);

#endif
