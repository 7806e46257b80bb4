/* GNU libmicrohttpd reads and writes HTTP; its event loop is driven here, so that one thread
 * answers, and a table of what is open can be looked through each second.
 *
 * A request goes through serve() several times: with its head, where entry decides; with each part
 * of its body; and when it is whole, when its route answers, at once or, suspended until there are
 * news, later. Every answer closes its connection, so a connection is one request.
 *
 * Connections are waited for with select(2), which every system has and which is enough for so few.
 * What is ready is told before requests are resumed, so that nothing more is read of those: a
 * sender who has said all, and shut down its half, would be taken for one who left.
 *
 * Sources: RFC 9110, RFC 9112; CSP Level 3; Fetch (Cross-Origin-Resource-Policy). */
#include "serve/server.h"

#include "base/clock.h"
#include "base/memory.h"
#include "base/system.h"

#include <microhttpd.h>

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/select.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    DAEMONS = 3, /* of the two families of addresses, and for other devices */
    /* The most that the heap gives for what is read of a request. Of more libmicrohttpd maps and
     * unmaps pages for each connection, which took thrice the processor time of ten thousand. */
    CONNECTION_BYTES = 32 * 1024,
    CROWD = CONNECTIONS / 4, /* so many requests that are not whole are looked after each … */
    CROWD_MS = 20,
    TICK_MS = 1000
};

/* A connection, and the request that it carries. */
typedef struct Call {
    Server *server;
    struct MHD_Connection *connection;
    int descriptor;
    double begun; /* seconds */
    bool whole;   /* the request has come in */
    bool waiting; /* suspended */
    double asked; /* when it was first put off; 0: not yet */
    const Route *route;
    char *body;
    size_t length, capacity;
    uint64_t received;
    Incoming upload;
    void *held;
} Call;

/* One that accepts connections, and how many of them it may have. */
typedef struct Listener {
    struct MHD_Daemon *daemon;
    int socket;
    unsigned most;
} Listener;

struct Server {
    const Service *service;
    Entry entry;
    int wake[2]; /* a pipe: what there is to read wakes the loop; -1: none */
    double patience;
    Listener listener[DAEMONS];
    int listeners;
    Call call[CONNECTIONS];
};

/* ---- answers ---- */

/* A regular file alone, and no way by a link to another. */
static struct MHD_Response *respond_file(const Answer *answer)
{
    struct stat there;
    const int descriptor = open(answer->path, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    if (descriptor >= 0 && !fstat(descriptor, &there) && S_ISREG(there.st_mode))
        return MHD_create_response_from_fd64((uint64_t)there.st_size, descriptor);
    if (descriptor >= 0) close(descriptor);
    return NULL;
}

static struct MHD_Response *respond(Answer *answer)
{
    if (answer->path) return respond_file(answer);
    if (!answer->bytes)
        return MHD_create_response_from_buffer(answer->length, (void *)answer->fixed,
                                               MHD_RESPMEM_PERSISTENT);
    return MHD_create_response_from_buffer_with_free_callback(
        answer->length, answer->bytes, answer->release ? answer->release : memory_free);
}

/* What every answer says: keep nothing, guess no types, let no other page in. */
static void add_rules(struct MHD_Response *response, const Answer *answer)
{
    static const char *const policies[] = {
        [RULES_OWN] =
            "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
            "connect-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'",
        [RULES_FORM] = "default-src 'none'; style-src 'self'; img-src data:; form-action 'self'; "
                       "base-uri 'none'; frame-ancestors 'none'",
        [RULES_BOOK] = "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; "
                       "img-src data: blob:; frame-ancestors 'none'",
        [RULES_LIVE_BOOK] =
            "default-src 'none'; script-src 'self' 'unsafe-inline'; style-src 'unsafe-inline'; "
            "img-src 'self' data: blob:; connect-src 'self'; frame-ancestors 'none'"};
    static const char *const rules[][2] = {{"Cache-Control", "no-store"},
                                           {"X-Content-Type-Options", "nosniff"},
                                           {"Cross-Origin-Resource-Policy", "same-origin"},
                                           {"Cross-Origin-Opener-Policy", "same-origin"},
                                           {"Connection", "close"}};
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++)
        MHD_add_response_header(response, rules[i][0], rules[i][1]);
    /* A form's origin is told only where its page may be told. */
    MHD_add_response_header(response, "Referrer-Policy",
                            answer->rules == RULES_FORM ? "same-origin" : "no-referrer");
    MHD_add_response_header(response, "Content-Security-Policy", policies[answer->rules]);
}

static void add_cookie(struct MHD_Response *response, const Entry *entry, const char *token)
{
    char cookie[128];
    snprintf(cookie, sizeof cookie, "%s=%s; Path=/; HttpOnly; SameSite=Strict", entry->cookie,
             token);
    MHD_add_response_header(response, "Set-Cookie", cookie);
}

static enum MHD_Result send_answer(Call *call, Answer *answer)
{
    struct MHD_Response *response = respond(answer);
    if (!response) {
        memory_free(answer->path);
        *answer = answer_refusal(404);
        response = respond(answer);
    }
    if (!response) return MHD_NO;
    add_rules(response, answer);
    if (answer->type) MHD_add_response_header(response, "Content-Type", answer->type);
    if (answer->onward) MHD_add_response_header(response, "Location", answer->onward);
    if (answer->cookie) add_cookie(response, &call->server->entry, answer->cookie);
    const enum MHD_Result result = MHD_queue_response(call->connection, answer->status, response);
    MHD_destroy_response(response);
    memory_free(answer->path);
    return result;
}

/* ---- a request ---- */

static const char *head_of(struct MHD_Connection *connection, const char *name)
{
    return MHD_lookup_connection_value(connection, MHD_HEADER_KIND, name);
}

static enum MHD_Result begin_request(Call *call, const char *method, const char *path)
{
    const Service *service = call->server->service;
    Door doors[ROUTES_MOST];
    struct MHD_Connection *k = call->connection;
    const char *length = head_of(k, "Content-Length");
    const Entry *entry = &call->server->entry;
    const Head head = {
        .method = method,
        .path = path,
        .host = head_of(k, "Host"),
        .origin = head_of(k, "Origin"),
        .type = head_of(k, "Content-Type"),
        .cookie = MHD_lookup_connection_value(k, MHD_COOKIE_KIND, entry->cookie),
        .token = MHD_lookup_connection_value(k, MHD_GET_ARGUMENT_KIND, "token"),
        .length = length ? strtoull(length, NULL, 10) : 0,
        .chunked = head_of(k, "Transfer-Encoding") != NULL,
    };
    int at = 0;
    for (int i = 0; i < service->routes; i++) doors[i] = service->route[i].door;
    const unsigned status = entry_check(entry, doors, service->routes, &head, &at);
    if (status == 200) {
        call->route = &service->route[at];
        return MHD_YES;
    }
    call->whole = true;
    const bool may_pair = status == 403 && entry->pairing && !strcmp(path, "/");
    Answer refusal = may_pair ? answer_onward("/pair") : answer_refusal(status);
    return send_answer(call, &refusal);
}

/* A part of the body; false where it cannot be had, and then the connection is closed. */
static bool take_part(Call *call, const char *bytes, size_t length)
{
    Fault fault;
    call->received += length;
    if (call->received > call->route->door.most) return false;
    if (!call->route->upload) {
        if (memory_grow(&call->body, &call->capacity, call->length + length, 1, &fault))
            return false;
        memcpy(call->body + call->length, bytes, length);
        call->length += length;
        return true;
    }
    const Service *service = call->server->service;
    if (!call->upload.file && incoming_begin(&call->upload, service->room(service->self), &fault))
        return false;
    return !incoming_add(&call->upload, bytes, length, &fault);
}

static enum MHD_Result add_field(void *context, enum MHD_ValueKind kind, const char *name,
                                 const char *text)
{
    Ask *ask = context;
    (void)kind;
    if (ask->fields == ASK_FIELDS) return MHD_NO;
    ask->field[ask->fields][0] = name;
    ask->field[ask->fields++][1] = text;
    return MHD_YES;
}

static enum MHD_Result answer_request(Call *call)
{
    Server *s = call->server;
    Ask ask = {.body = call->body,
               .length = call->length,
               .upload = call->upload.file ? &call->upload : NULL,
               .waited = call->asked > 0 ? clock_seconds() - call->asked : 0,
               .now = clock_seconds(),
               .entry = &s->entry,
               .held = &call->held};
    MHD_get_connection_values(call->connection, MHD_GET_ARGUMENT_KIND, add_field, &ask);
    call->whole = true;
    Answer answer = call->route->answer(s->service->self, &ask);
    if (answer.status != ANSWER_LATER) return send_answer(call, &answer);
    if (!(call->asked > 0)) call->asked = clock_seconds();
    call->waiting = true;
    MHD_suspend_connection(call->connection);
    return MHD_YES;
}

static Call *call_of(struct MHD_Connection *connection)
{
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    return info ? info->socket_context : NULL;
}

static enum MHD_Result serve(void *context, struct MHD_Connection *connection, const char *path,
                             const char *method, const char *version, const char *bytes,
                             size_t *length, void **request)
{
    (void)context, (void)version;
    Call *call = call_of(connection);
    if (!call) return MHD_NO;
    if (!*request) {
        *request = call;
        return begin_request(call, method, path);
    }
    if (!*length) return answer_request(call);
    const size_t part = *length;
    *length = 0;
    return take_part(call, bytes, part) ? MHD_YES : MHD_NO;
}

/* ---- connections ---- */

static void open_call(Server *s, struct MHD_Connection *connection, void **socket_context)
{
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    for (int i = 0; i < CONNECTIONS; i++) {
        Call *call = &s->call[i];
        if (call->connection) continue;
        *call = (Call){.server = s,
                       .connection = connection,
                       .descriptor = info ? info->connect_fd : -1,
                       .begun = clock_seconds()};
        *socket_context = call;
        return;
    }
}

static void close_call(Call *call)
{
    const Service *service = call->server->service;
    incoming_drop(&call->upload);
    if (call->held && service->drop) service->drop(service->self, call->held);
    memory_free(call->body);
    *call = (Call){0};
}

static void hear_connection(void *context, struct MHD_Connection *connection, void **socket_context,
                            enum MHD_ConnectionNotificationCode code)
{
    if (code == MHD_CONNECTION_NOTIFY_STARTED)
        open_call(context, connection, socket_context);
    else if (*socket_context)
        close_call(*socket_context);
}

/* Whether there are many whose request is not whole yet. */
static bool is_crowded(const Server *s)
{
    int open = 0;
    for (int i = 0; i < CONNECTIONS; i++) open += s->call[i].connection && !s->call[i].whole;
    return open >= CROWD;
}

/* Whoever holds connections open and says nothing keeps nobody out: in a crowd, those that were not
 * let in yet have a second. */
static void cut_off_the_slow(Server *s, bool crowded)
{
    const double now = clock_seconds();
    for (int i = 0; i < CONNECTIONS; i++) {
        const Call *call = &s->call[i];
        if (!call->connection || call->whole) continue;
        double most = s->patience + (double)call->received / SLOW_BYTES;
        if (crowded && !call->route) most = fmin(most, 1);
        if (now - call->begun > most) shutdown(call->descriptor, SHUT_RDWR);
    }
}

static void resume_all(Server *s)
{
    for (int i = 0; i < CONNECTIONS; i++) {
        if (!s->call[i].waiting) continue;
        s->call[i].waiting = false;
        MHD_resume_connection(s->call[i].connection);
    }
}

/* ---- listening ---- */

static int listen_at(const struct sockaddr *address, socklen_t length)
{
    const int yes = 1;
    const int listener = system_socket(address->sa_family);
    if (listener < 0) return -1;
    setsockopt(listener, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    if (address->sa_family == AF_INET6)
        setsockopt(listener, IPPROTO_IPV6, IPV6_V6ONLY, &yes, sizeof yes);
    if (!bind(listener, address, length) && !listen(listener, SOMAXCONN)) return listener;
    close(listener);
    return -1;
}

static bool start_daemon(Server *s, int listener, unsigned connections, unsigned family)
{
    struct MHD_Daemon *daemon = MHD_start_daemon(
        MHD_ALLOW_SUSPEND_RESUME | family, 0, NULL, NULL, serve, s, MHD_OPTION_LISTEN_SOCKET,
        listener, MHD_OPTION_CONNECTION_LIMIT, connections, MHD_OPTION_CONNECTION_TIMEOUT,
        (unsigned)SLOW_SECONDS, MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)CONNECTION_BYTES,
        MHD_OPTION_NOTIFY_CONNECTION, hear_connection, s, MHD_OPTION_END);
    if (daemon)
        s->listener[s->listeners++] = (Listener){daemon, listener, connections};
    else
        close(listener);
    return daemon != NULL;
}

/* Of the connections, those of paired devices. Each has one that waits for news all the while, and
 * needs another to say something. */
static unsigned share_of_devices(const Server *s)
{
    const unsigned two_each = 2 * (unsigned)s->service->devices;
    return two_each > CONNECTIONS / 4 ? two_each : CONNECTIONS / 4;
}

/* The port of 127.0.0.1 is the one that counts; ::1 is listened on too where it can be. */
static bool listen_all(Server *s, unsigned *port)
{
    struct sockaddr_in four = {.sin_family = AF_INET,
                               .sin_port = htons((uint16_t)*port),
                               .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    struct sockaddr_in6 six = {.sin6_family = AF_INET6, .sin6_addr = IN6ADDR_LOOPBACK_INIT};
    socklen_t length = sizeof four;
    const int listener = listen_at((struct sockaddr *)&four, sizeof four);
    if (listener < 0 || getsockname(listener, (struct sockaddr *)&four, &length)) return false;
    *port = ntohs(four.sin_port);
    six.sin6_port = four.sin_port;
    const int other = listen_at((struct sockaddr *)&six, sizeof six);
    const unsigned ours = CONNECTIONS - share_of_devices(s), share = other < 0 ? 0 : ours / 4;
    if (other >= 0) start_daemon(s, other, share, MHD_USE_IPv6);
    return start_daemon(s, listener, ours - share, 0);
}

/* Whoever writes never waits: a pipe that is full wakes as well. */
static bool open_wake(int wake[2])
{
    if (system_pipe(wake)) {
        wake[0] = wake[1] = -1;
        return false;
    }
    errno = EMFILE; /* of what select can wait for */
    return wake[0] < FD_SETSIZE && !fcntl(wake[0], F_SETFL, O_NONBLOCK) &&
           !fcntl(wake[1], F_SETFL, O_NONBLOCK);
}

Status server_create(Server **server_out, const Service *service, unsigned port, Fault *fault)
{
    Server *s = *server_out = memory_create(1, sizeof *s);
    if (!s) return memory_fault(fault, 1, sizeof *s);
    s->service = service;
    s->patience = SLOW_SECONDS;
    unsigned found = port;
    if (open_wake(s->wake) && listen_all(s, &found)) return entry_init(&s->entry, found, fault);
    return fault_set(fault, STATUS_NO_RESOURCE,
                     "%s: cannot listen on port %u (%s); give another with --port, or 0 for any",
                     service->name, port, strerror(errno));
}

/* Listens at an address as text; -1: it is none, or not this machine's. */
static int listen_at_text(const char *address, unsigned port, unsigned *family_out)
{
    struct sockaddr_in four = {.sin_family = AF_INET, .sin_port = htons((uint16_t)port)};
    struct sockaddr_in6 six = {.sin6_family = AF_INET6, .sin6_port = htons((uint16_t)port)};
    *family_out = 0;
    errno = EINVAL;
    if (inet_pton(AF_INET, address, &four.sin_addr) == 1)
        return four.sin_addr.s_addr == htonl(INADDR_ANY)
                   ? -1
                   : listen_at((struct sockaddr *)&four, sizeof four);
    *family_out = MHD_USE_IPv6;
    if (inet_pton(AF_INET6, address, &six.sin6_addr) != 1 ||
        IN6_IS_ADDR_UNSPECIFIED(&six.sin6_addr))
        return -1;
    return listen_at((struct sockaddr *)&six, sizeof six);
}

Status server_open(Server *s, const char *address, Pairing *pairing, Fault *fault)
{
    unsigned family;
    const int listener = listen_at_text(address, s->entry.port, &family);
    if (listener < 0 || !start_daemon(s, listener, share_of_devices(s), family))
        return fault_set(fault, STATUS_USAGE,
                         "--listen: %.60s: cannot be listened at (%s); give one address of this "
                         "machine, such as 192.168.1.20",
                         address, strerror(errno));
    snprintf(s->entry.host, sizeof s->entry.host, family ? "[%s]" : "%s", address);
    s->entry.pairing = pairing;
    return STATUS_OK;
}

void server_stop(Server *s)
{
    if (!s) return;
    resume_all(s);
    for (int i = 0; i < s->listeners; i++) MHD_stop_daemon(s->listener[i].daemon);
    s->listeners = 0;
}

void server_free(Server *s)
{
    if (!s) return;
    for (int i = 0; i < 2; i++)
        if (s->wake[i] >= 0) close(s->wake[i]);
    memory_free(s);
}

unsigned server_port(const Server *s) { return s->entry.port; }

void server_set_patience(Server *s, double patience) { s->patience = patience; }

void server_link(const Server *s, char link_out[SERVER_LINK])
{
    snprintf(link_out, SERVER_LINK, "http://127.0.0.1:%u/?token=%s", s->entry.port, s->entry.token);
}

void server_open_link(const Server *s, char link_out[SERVER_LINK])
{
    snprintf(link_out, SERVER_LINK, "http://%s:%u/", s->entry.host, s->entry.port);
}

/* ---- the loop ---- */

void server_wake(void *server)
{
    const Server *s = server;
    if (write(s->wake[1], "", 1) != 1) return; /* it is awake already */
}

static bool hear_wake(Server *s)
{
    char heard[64];
    bool woken = false;
    while (read(s->wake[0], heard, sizeof heard) > 0) woken = true;
    return woken;
}

/* Descriptors with something to read, with room to write to, and with an error. */
typedef struct Ready {
    fd_set input, output, special;
} Ready;

/* A listener that has all the connections it may have leaves others waiting: it would close them.
 */
static bool is_full(const Listener *listener)
{
    return MHD_get_daemon_info(listener->daemon, MHD_DAEMON_INFO_CURRENT_CONNECTIONS)
               ->num_connections >= listener->most;
}

/* Waits for anything, or for so many milliseconds. */
static void wait_for_any(Server *s, int most, Ready *ready)
{
    int last = s->wake[0];
    FD_ZERO(&ready->input);
    FD_ZERO(&ready->output);
    FD_ZERO(&ready->special);
    FD_SET((unsigned)s->wake[0], &ready->input);
    for (int i = 0; i < s->listeners; i++) {
        const Listener *listener = &s->listener[i];
        MHD_UNSIGNED_LONG_LONG due;
        MHD_get_fdset(listener->daemon, &ready->input, &ready->output, &ready->special, &last);
        if (is_full(listener)) FD_CLR((unsigned)listener->socket, &ready->input);
        if (MHD_get_timeout(listener->daemon, &due) == MHD_YES && due < (unsigned)most)
            most = (int)due;
    }
    struct timeval time = {.tv_sec = most / 1000, .tv_usec = most % 1000 * 1000};
    if (select(last + 1, &ready->input, &ready->output, &ready->special, &time) >= 0) return;
    FD_ZERO(&ready->input); /* interrupted: they are as they were */
    FD_ZERO(&ready->output);
    FD_ZERO(&ready->special);
}

void server_run(Server *s, bool (*stopped)(void *self), void *self)
{
    const Service *service = s->service;
    double ticked = clock_seconds();
    Ready ready;
    while (!stopped(self)) {
        const bool crowded = is_crowded(s);
        wait_for_any(s, crowded ? CROWD_MS : TICK_MS, &ready);
        const bool woken = hear_wake(s);
        const bool tick = clock_seconds() - ticked >= TICK_MS / 1000.0;
        if (woken) service->refresh(service->self);
        if (woken || tick) resume_all(s);
        if (crowded || tick) cut_off_the_slow(s, crowded);
        if (tick) ticked = clock_seconds();
        const unsigned long before = service->serial(service->self);
        for (int i = 0; i < s->listeners; i++)
            MHD_run_from_select(s->listener[i].daemon, &ready.input, &ready.output, &ready.special);
        if (service->serial(service->self) != before) server_wake(s); /* a request made news */
    }
}
