/* An event is told to the disk first and to the memory after, both by the same function that reads
 * the journal: so what is read back is what was.
 *
 * Source: one JSON text (RFC 8259) a line. */
#include "desk/trail.h"

#include "base/file_format.h"
#include "base/folder.h"
#include "base/memory.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct Trail {
    const WorkingFolder *folder;
    Version *version;
    size_t capacity;
    int count, now;
    unsigned long serial;
    long gesture; /* of the version that was made last */
};

int trail_count(const Trail *t) { return t->count; }
int trail_now(const Trail *t) { return t->now; }
unsigned long trail_serial(const Trail *t) { return t->serial; }
const Version *trail_version(const Trail *t, int number)
{
    return number >= 0 && number < t->count ? &t->version[number] : NULL;
}

/* ---- events ---- */

static void replace(json_t **held, json_t *value)
{
    json_incref(value);
    json_decref(*held);
    *held = value;
}

static void move_to(Trail *t, int number)
{
    const int from = t->now >= 0 ? t->version[t->now].from : -1;
    if (from == number && from >= 0) t->version[from].onward = t->now;
    t->now = number;
}

/* {"version": n, "settings": {}, "what": ""}: a new one after the present, or the last anew. */
static bool take_version(Trail *t, int number, const json_t *event)
{
    json_t *settings = json_object_get(event, "settings"), *what = json_object_get(event, "what");
    Fault fault;
    if (number > t->count || !json_is_object(settings) || !json_is_string(what)) return false;
    if (number == t->count) {
        if (memory_grow(&t->version, &t->capacity, (size_t)t->count + 1, sizeof *t->version,
                        &fault))
            return false;
        t->version[number] = (Version){.from = t->now, .onward = -1};
        if (t->now >= 0) t->version[t->now].onward = number;
        t->count++;
        t->now = number;
    }
    replace(&t->version[number].settings, settings);
    replace(&t->version[number].what, what);
    replace(&t->version[number].figures, NULL);
    return true;
}

/* Whether the event makes sense. */
static bool take_event(Trail *t, const json_t *event)
{
    const json_t *version = json_object_get(event, "version");
    const int number = (int)json_integer_value(version);
    if (!json_is_integer(version) || number < 0) return false;
    if (json_object_get(event, "settings")) return take_version(t, number, event);
    if (number >= t->count) return false;
    json_t *name = json_object_get(event, "name"), *figures = json_object_get(event, "figures");
    if (name) {
        replace(&t->version[number].name, *json_string_value(name) ? name : NULL);
        t->version[number].kept = json_is_true(json_object_get(event, "kept"));
    } else if (figures)
        replace(&t->version[number].figures, figures);
    else
        move_to(t, number);
    return true;
}

/* Tells the disk and the memory; takes the event over. */
static Status tell_event(Trail *t, json_t *event, Fault *fault)
{
    char *line = event ? json_dumps(event, JSON_COMPACT) : NULL;
    Status status = STATUS_OK;
    if (line) {
        const size_t length = strlen(line);
        line[length] = '\n'; /* in the place of the end */
        status = working_folder_append(t->folder, TRAIL_FILE, line, length + 1, fault);
    }
    if (!line || (!status && !take_event(t, event))) status = memory_fault(fault, 1, sizeof *t);
    free(line);
    json_decref(event);
    t->serial++;
    return status;
}

/* ---- the journal ---- */

/* Reads line by line; *length_out is how far they made sense. The first tells the format; in
 * journals that are older than it there is none. Fault: a newer version. */
static Status read_lines(Trail *t, const char *bytes, size_t length, size_t *length_out,
                         Fault *fault)
{
    *length_out = 0;
    for (const char *from = bytes, *end; (end = memchr(from, '\n', length - *length_out));) {
        json_t *line = json_loadb(from, (size_t)(end - from), 0, NULL);
        const FormatFit fit = from == bytes ? file_format_fit(FORMAT_TRAIL, line) : FORMAT_FOREIGN;
        const bool taken = fit == FORMAT_KNOWN || (line && take_event(t, line));
        const Status status = fit == FORMAT_NEWER
                                  ? file_format_fault(FORMAT_TRAIL, line, TRAIL_FILE, fault)
                                  : STATUS_OK;
        json_decref(line);
        if (status || !taken) return status;
        *length_out = (size_t)(end + 1 - bytes);
        from = end + 1;
    }
    return STATUS_OK;
}

static Status begin_journal(const WorkingFolder *folder, Fault *fault)
{
    char line[80];
    const FileFormat *f = &file_formats[FORMAT_TRAIL];
    const int length =
        snprintf(line, sizeof line, "{\"format\":\"%s\",\"version\":%d}\n", f->name, f->version);
    return working_folder_write(folder, TRAIL_FILE, line, (size_t)length, fault);
}

Status trail_open(Trail **trail_out, const WorkingFolder *folder, Fault *fault)
{
    Trail *t = *trail_out = memory_create(1, sizeof *t);
    char *bytes = NULL;
    size_t length = 0, good = 0;
    if (!t) return memory_fault(fault, 1, sizeof *t);
    t->folder = folder;
    t->now = -1;
    t->serial = 1;
    if (!working_folder_has(folder, TRAIL_FILE)) return begin_journal(folder, fault);
    Status status = folder_read(folder->path, TRAIL_FILE, &bytes, &length, fault);
    if (!status) status = read_lines(t, bytes, length, &good, fault);
    if (!status && good < length) working_folder_cut(folder, TRAIL_FILE, good);
    memory_free(bytes);
    return status;
}

void trail_free(Trail *t)
{
    if (!t) return;
    for (int i = 0; i < t->count; i++) {
        json_decref(t->version[i].settings);
        json_decref(t->version[i].what);
        json_decref(t->version[i].name);
        json_decref(t->version[i].figures);
    }
    memory_free(t->version);
    memory_free(t);
}

/* ---- what the desk does ---- */

int trail_next(const Trail *t, long gesture)
{
    const bool same = gesture && gesture == t->gesture && t->now == t->count - 1;
    return same ? t->now : t->count;
}

Status trail_add(Trail *t, const json_t *settings, const char *what, long gesture, Fault *fault)
{
    const int number = trail_next(t, gesture);
    t->gesture = gesture;
    return tell_event(
        t, json_pack("{s:i, s:O, s:s}", "version", number, "settings", settings, "what", what),
        fault);
}

static Status need_version(const Trail *t, int number, Fault *fault)
{
    if (trail_version(t, number)) return STATUS_OK;
    return fault_set(fault, STATUS_USAGE, "version %d: there is none; choose one of the strip",
                     number);
}

Status trail_go(Trail *t, int number, Fault *fault)
{
    const Status status = need_version(t, number, fault);
    if (status || number == t->now) return status;
    t->gesture = 0;
    return tell_event(t, json_pack("{s:i}", "version", number), fault);
}

Status trail_name(Trail *t, int number, const char *name, bool kept, Fault *fault)
{
    const Status status = need_version(t, number, fault);
    if (status) return status;
    if (strlen(name) >= TRAIL_NAME)
        return fault_set(fault, STATUS_USAGE, "name: longer than %d bytes; use a shorter one",
                         TRAIL_NAME - 1);
    t->gesture = 0;
    return tell_event(
        t, json_pack("{s:i, s:s, s:b}", "version", number, "name", name, "kept", kept), fault);
}

Status trail_note_figures(Trail *t, int number, const json_t *figures, Fault *fault)
{
    const Status status = need_version(t, number, fault);
    if (status || json_equal(t->version[number].figures, figures)) return status;
    return tell_event(t, json_pack("{s:i, s:O}", "version", number, "figures", figures), fault);
}
