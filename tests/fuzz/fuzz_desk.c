/* Fuzz entry for the desk's handlers: any query and any body get an answer, and none of them writes
 * but in the desk's folder. The first byte chooses the route; a line end parts query and body. It
 * is never told a picture, so that nothing is planned. */
#include "base/memory.h"
#include "desk/routes.h"
#include "support/scratch.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static Commission commission;
static Entry entry;
static Pairing pairing;
static char room[SCRATCH_MOST], folder[SCRATCH_MOST + 16];

static void remove_room(void)
{
    if (!chdir("/")) scratch_clear(room);
}

static void wake(void *self) { (void)self; }

static void open_once(void)
{
    Fault fault;
    if (*room) return;
    if (!scratch_folder(room)) abort();
    atexit(remove_room);
    snprintf(folder, sizeof folder, "%s/mural.desk", room);
    if (chdir(room) || commission_open(&commission, NULL, wake, NULL, &fault) ||
        entry_init(&entry, 4711, &fault) || pairing_init(&pairing, 1, &fault))
        abort();
    entry.pairing = &pairing;
}

/* "a=b&c" as MHD hands it on, without its percent signs. */
static void split_query(Ask *ask, char *query)
{
    char *end = NULL;
    for (char *part = strtok_r(query, "&", &end); part && ask->fields < ASK_FIELDS;
         part = strtok_r(NULL, "&", &end)) {
        char *equals = strchr(part, '=');
        if (equals) *equals++ = 0;
        ask->field[ask->fields][0] = part;
        ask->field[ask->fields++][1] = equals;
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    enum { MOST = 4096, VERSIONS = 400 };
    char text[MOST + 1];
    if (length < 1 || length > MOST) return 0;
    open_once();
    memcpy(text, bytes + 1, length - 1);
    text[length - 1] = 0;
    char *body = memchr(text, '\n', length - 1);
    if (body) *body++ = 0;
    Sight *sight = NULL;
    Incoming upload = {0};
    const Route *route = &routes[bytes[0] % routes_count];
    if (trail_count(commission.trail) > VERSIONS && *route->door.method == 'P') return 0;
    Ask ask = {.sight = &sight, .waited = NEWS_WAIT, .entry = &entry};
    split_query(&ask, text);
    if (body) {
        Fault fault;
        ask.body = body;
        ask.length = (size_t)(text + length - 1 - body);
        if (route->upload && !incoming_begin(&upload, &commission.folder, &fault)) {
            incoming_add(&upload, body, ask.length, &fault);
            ask.upload = &upload;
        }
    }
    Answer answer = route->answer(&commission, &ask);
    const bool elsewhere = answer.path && strncmp(answer.path, "mural.desk/", 11) != 0;
    if (elsewhere || strstr(answer.path ? answer.path : "", "..")) abort();
    memory_free(answer.bytes);
    memory_free(answer.path);
    rowlock_bytes_free(&answer.png);
    viewer_drop(commission.viewer, sight);
    incoming_drop(&upload);
    return 0;
}
