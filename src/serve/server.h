/* Server: connections on this machine, and at one more address where devices may be paired, each
 * for one request. Each is held to entry before its body is read; a sender that is slow is cut off,
 * and there are at most CONNECTIONS at a time.
 *
 * One thread answers all of them; what takes long is another's, and its request waits. */
#ifndef ROWLOCK_SERVE_SERVER_H
#define ROWLOCK_SERVE_SERVER_H

#include "serve/answer.h"

enum {
    CONNECTIONS = 64,
    SLOW_SECONDS = 10,      /* within which a request must be whole … */
    SLOW_BYTES = 128 * 1024 /* … or a second more for each so many bytes of it */
};

typedef struct Server Server;

/* Listens on 127.0.0.1 and, where there is one, ::1, at the port or, of 0, at a free one. The
 * service is borrowed until the end. Fault: the port is taken. */
Status server_create(Server **server_out, const Service *service, unsigned port, Fault *fault);

/* Listens at a further address of this machine, for devices that are paired; the pairing is
 * borrowed until the end. Fault (STATUS_USAGE): it is no address of this machine, or stands for
 * all. */
Status server_open(Server *server, const char *address, Pairing *pairing, Fault *fault);

/* Closes all connections; what they asked for is let go. It may be woken still. */
void server_stop(Server *server);
void server_free(Server *server); /* after server_stop; both allow NULL */

/* Where it listens. */
unsigned server_port(const Server *server);

/* Cuts senders off after so many seconds instead of SLOW_SECONDS. */
void server_set_patience(Server *server, double seconds);

/* The first link, with the token. */
enum { SERVER_LINK = 96 };
void server_link(const Server *server, char link_out[SERVER_LINK]);

/* Where other devices begin, without a token; after server_open. */
void server_open_link(const Server *server, char link_out[SERVER_LINK]);

/* There are news: any thread. */
void server_wake(void *server);

/* Answers until `stopped` says so, which is asked after each signal and each second. */
void server_run(Server *server, bool (*stopped)(void *self), void *self);

#endif
