/* The checks go from what costs nothing and says least to what tells the paths: whoever has no
 * token learns only that.
 *
 * Sources: RFC 9110 (status 405, 411, 413, 415, 421; field Host, 7.2), RFC 6454 (Origin), RFC
 * 6265bis (SameSite). */
#include "serve/entry.h"

#include <stdio.h>
#include <string.h>

Status entry_init(Entry *entry, unsigned port, Fault *fault)
{
    *entry = (Entry){.port = port};
    snprintf(entry->cookie, sizeof entry->cookie, "rowlock-%u", port);
    return token_draw(entry->token, fault);
}

/* "127.0.0.1:8080" and the like; browsers leave the port out only where it is 80. */
static bool is_ours(const Entry *entry, const char *host)
{
    const char *const names[] = {"127.0.0.1", "[::1]", "localhost", entry->host};
    for (size_t i = 0; host && i < sizeof names / sizeof *names; i++) {
        char ours[ENTRY_HOST + 8];
        if (!*names[i]) continue;
        snprintf(ours, sizeof ours, "%s:%u", names[i], entry->port);
        if (!strcmp(host, ours) || (entry->port == 80 && !strcmp(host, names[i]))) return true;
    }
    return false;
}

/* An origin is the scheme and the host that the page came from: the one asked now. */
static bool is_home(const char *origin, const char *host)
{
    static const char scheme[] = "http://";
    const size_t length = sizeof scheme - 1;
    return !strncmp(origin, scheme, length) && !strcmp(origin + length, host);
}

/* The type without its parameters, "application/json; charset=utf-8". */
static bool is_type(const char *type, const char *wanted)
{
    if (!strcmp(wanted, "*")) return true;
    const size_t length = strlen(wanted);
    if (wanted[length - 1] == '*') return type && !strncmp(type, wanted, length - 1);
    return type && !strncmp(type, wanted, length) && (!type[length] || strchr("; ", type[length]));
}

static unsigned check_body(const Door *door, const Head *head)
{
    if (head->chunked) return 411;
    if (!door->type) return head->length ? 413 : 200;
    if (!is_type(head->type, door->type)) return 415;
    return head->length > door->most ? 413 : 200;
}

unsigned entry_check(const Entry *entry, const Door *door, int count, const Head *head,
                     int *door_out)
{
    if (!is_ours(entry, head->host)) return 421;
    if (head->origin && !is_home(head->origin, head->host)) return 403;
    unsigned status = 404;
    const Pairing *pairing = entry->pairing;
    const bool known =
        secret_is(entry->token, head->cookie) || (pairing && pairing_knows(pairing, head->cookie));
    for (int i = 0; i < count; i++) {
        if (strcmp(door[i].path, head->path) != 0) continue;
        if (strcmp(door[i].method, head->method) != 0) {
            status = 405;
            continue;
        }
        *door_out = i;
        const bool enters =
            (door[i].link && secret_is(entry->token, head->token)) || (door[i].open && pairing);
        if (!known && !enters) return 403;
        return check_body(&door[i], head);
    }
    return known ? status : 403;
}
