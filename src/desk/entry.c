/* The checks go from what costs nothing and says least to what tells the paths: whoever has no
 * token learns only that.
 *
 * Sources: RFC 9110 (status 405, 411, 413, 415, 421; field Host, 7.2), RFC 6454 (Origin), RFC
 * 6265bis (SameSite), getrandom(2). */
#include "desk/entry.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/random.h>

Status entry_init(Entry *entry, unsigned port, Fault *fault)
{
    unsigned char bits[(ENTRY_TOKEN - 1) / 2];
    if (getrandom(bits, sizeof bits, 0) != (ssize_t)sizeof bits)
        return fault_set(fault, STATUS_NO_RESOURCE,
                         "desk: no random bits for the link (%s); try again", strerror(errno));
    for (size_t i = 0; i < sizeof bits; i++) sprintf(entry->token + 2 * i, "%02x", bits[i]);
    entry->port = port;
    snprintf(entry->cookie, sizeof entry->cookie, "rowlock-%u", port);
    return STATUS_OK;
}

/* "127.0.0.1:8080" and the like; browsers leave the port out only where it is 80. */
static bool is_ours(const Entry *entry, const char *host)
{
    static const char *const names[] = {"127.0.0.1", "[::1]", "localhost"};
    for (size_t i = 0; host && i < sizeof names / sizeof *names; i++) {
        char ours[32];
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

/* Takes as long for a token that is wrong at its end as at its beginning. */
static bool is_token(const Entry *entry, const char *given)
{
    unsigned differs = 0;
    if (!given || strlen(given) != ENTRY_TOKEN - 1) return false;
    for (int i = 0; i < ENTRY_TOKEN - 1; i++)
        differs |= (unsigned char)(given[i] ^ entry->token[i]);
    return !differs;
}

/* The type without its parameters, "application/json; charset=utf-8". */
static bool is_type(const char *type, const char *wanted)
{
    if (!strcmp(wanted, "*")) return true;
    const size_t length = strlen(wanted);
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
    const bool known = is_token(entry, head->cookie);
    for (int i = 0; i < count; i++) {
        if (strcmp(door[i].path, head->path) != 0) continue;
        if (strcmp(door[i].method, head->method) != 0) {
            status = 405;
            continue;
        }
        *door_out = i;
        if (!known && !(door[i].link && is_token(entry, head->token))) return 403;
        return check_body(&door[i], head);
    }
    return known ? status : 403;
}
