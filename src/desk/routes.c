/* A table of routes. Bodies are JSON with a few members; anything else is answered with a fault of
 * one line, as {"fault": text}, which the page shows.
 *
 * Source: RFC 9110 for the status codes. */
#include "desk/routes.h"

#include "base/csv.h"
#include "base/memory.h"
#include "desk/page_parts.h"
#include "desk/setting_list.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define JSON "application/json"

enum {
    VIEW_MOST = 4096, /* pixels */
    JSON_BODY = 64 * 1024,
    FILE_BODY = 1 << 30,
    PAIRING_BODY = 64
};

/* ---- answers ---- */

static Answer answer_fixed(const char *type, const char *text)
{
    return (Answer){.status = 200, .type = type, .fixed = text, .length = strlen(text)};
}

/* Takes the value over; NULL is a lack of memory. */
static Answer answer_json(unsigned status, json_t *value)
{
    char *text = value ? json_dumps(value, JSON_COMPACT | JSON_REAL_PRECISION(12)) : NULL;
    Answer answer = {.status = 503};
    json_decref(value);
    if (!text) return answer;
    answer.length = strlen(text);
    answer.bytes = memory_create(answer.length + 1, 1);
    if (answer.bytes) {
        memcpy(answer.bytes, text, answer.length);
        answer.status = status;
        answer.type = JSON;
    }
    free(text);
    return answer;
}

static unsigned status_of(Status status)
{
    if (status == STATUS_USAGE || status == STATUS_DATA) return 422;
    if (status == STATUS_NO_INPUT) return 404;
    return 503;
}

static Answer answer_fault(Status status, const char *text)
{
    return answer_json(status_of(status), json_pack("{s:s}", "fault", text));
}

static Answer answer_done(Status status, const Fault *fault)
{
    return status ? answer_fault(status, fault->text) : answer_json(200, json_object());
}

Answer answer_refusal(unsigned status) { return (Answer){.status = status}; }

Answer answer_onward(const char *path) { return (Answer){.status = 303, .onward = path}; }

/* ---- what a request says ---- */

static const char *field_of(const Ask *ask, const char *name)
{
    for (int i = 0; i < ask->fields; i++)
        if (!strcmp(ask->field[i][0], name)) return ask->field[i][1] ? ask->field[i][1] : "";
    return "";
}

static double number_of(const Ask *ask, const char *name)
{
    double value = 0;
    number_parse(field_of(ask, name), &value); /* leaves it where there is none */
    return value;
}

/* The body's object, which the caller lets go; a fault where it is none. */
static Status read_body(json_t **body_out, const Ask *ask, Fault *fault)
{
    json_error_t error;
    *body_out = json_loadb(ask->body ? ask->body : "", ask->length, JSON_REJECT_DUPLICATES, &error);
    if (json_is_object(*body_out)) return STATUS_OK;
    json_decref(*body_out);
    *body_out = NULL;
    return fault_set(fault, STATUS_USAGE, "request:%d:%d: is no JSON object; load the page again",
                     error.line, error.column);
}

/* ---- the page ---- */

static Answer give_page(Commission *c, const Ask *ask)
{
    (void)c;
    if (!*field_of(ask, "token")) return answer_fixed("text/html; charset=utf-8", desk_html);
    /* The link's token becomes a cookie, and leaves the address bar. */
    Answer answer = answer_onward("/");
    answer.cookie = ask->entry->token;
    return answer;
}

static Answer give_style(Commission *c, const Ask *ask)
{
    (void)c, (void)ask;
    return answer_fixed("text/css; charset=utf-8", desk_css);
}

static Answer give_script(Commission *c, const Ask *ask)
{
    (void)c, (void)ask;
    return answer_fixed("text/javascript; charset=utf-8", desk_js);
}

static Answer give_settings(Commission *c, const Ask *ask)
{
    (void)c, (void)ask;
    return answer_json(200, setting_list_table());
}

/* ---- other devices ---- */

static Answer give_pairing(Commission *c, const Ask *ask)
{
    (void)c;
    if (!ask->entry->pairing) return answer_refusal(404);
    Answer answer = answer_fixed("text/html; charset=utf-8", desk_pair);
    answer.asks = true;
    return answer;
}

static Answer take_pairing(Commission *c, const Ask *ask)
{
    static const char field[] = "code=";
    const char *code = ask->body ? ask->body : "", *token = NULL;
    char typed[PAIRING_BODY + 1];
    (void)c;
    if (!ask->entry->pairing) return answer_refusal(404);
    snprintf(typed, sizeof typed, "%.*s", (int)ask->length, code);
    const bool named = !strncmp(typed, field, sizeof field - 1);
    switch (
        pairing_try(ask->entry->pairing, named ? typed + sizeof field - 1 : "", ask->now, &token)) {
    case PAIRING_WRONG:
        return answer_onward("/pair#wrong");
    case PAIRING_DEAF:
        return answer_onward("/pair#wait");
    case PAIRING_MADE:
        break;
    }
    Answer answer = answer_onward("/");
    answer.cookie = token;
    return answer;
}

/* Where and with what code another device may be paired; null: nowhere. */
static json_t *tell_pairing(const Entry *entry)
{
    if (!entry || !entry->pairing) return json_null();
    return json_pack("{s:s, s:i, s:s}", "host", entry->host, "port", (int)entry->port, "code",
                     entry->pairing->code);
}

/* ---- news ---- */

static Answer give_state(Commission *c, const Ask *ask)
{
    const unsigned long known = strtoul(field_of(ask, "after"), NULL, 10);
    if (known == commission_serial(c) && ask->waited < NEWS_WAIT)
        return (Answer){.status = ANSWER_LATER};
    json_t *state = commission_state(c, strtoul(field_of(ask, "face"), NULL, 10));
    if (state) json_object_set_new(state, "pairing", tell_pairing(ask->entry));
    return answer_json(200, state);
}

static Answer give_versions(Commission *c, const Ask *ask)
{
    (void)ask;
    return answer_json(200, commission_versions(c));
}

/* ---- pictures ---- */

static const struct ViewName {
    const char *name;
    RowlockView view;
} view_names[] = {{"whole", ROWLOCK_VIEW_WHOLE},
                  {"reference", ROWLOCK_VIEW_REFERENCE},
                  {"reference-seen", ROWLOCK_VIEW_REFERENCE_SEEN},
                  {"fitted", ROWLOCK_VIEW_FITTED},
                  {"cells", ROWLOCK_VIEW_CELLS},
                  {"seen", ROWLOCK_VIEW_FACE_SEEN},
                  {"bricks", ROWLOCK_VIEW_BRICKS},
                  {"relief", ROWLOCK_VIEW_RELIEF},
                  {"steps", ROWLOCK_VIEW_STEPS},
                  {"layers", ROWLOCK_VIEW_LAYERS}};

static bool read_viewing(RowlockViewing *viewing, const Ask *ask)
{
    const double pixels = number_of(ask, "pixels"), distance = number_of(ask, "distance");
    *viewing = (RowlockViewing){.pixels = (int)fmin(fmax(pixels, 0), VIEW_MOST),
                                .distance_mm = fmin(fmax(distance, 0), 1e6),
                                .light_angle = fmin(fmax(number_of(ask, "angle"), 0), 360),
                                .light_height = fmin(fmax(number_of(ask, "lamp"), 0), 90)};
    for (size_t i = 0; i < sizeof view_names / sizeof *view_names; i++)
        if (!strcmp(field_of(ask, "view"), view_names[i].name)) {
            viewing->view = view_names[i].view;
            return true;
        }
    return false;
}

static Answer give_view(Commission *c, const Ask *ask)
{
    RowlockViewing viewing;
    RowlockFault fault = {0};
    Answer answer = {.status = 200, .type = "image/png"};
    if (!read_viewing(&viewing, ask)) return answer_refusal(404);
    if (!*ask->sight) *ask->sight = viewer_ask(c->viewer, &viewing);
    if (!*ask->sight) return answer_refusal(503);
    if (!viewer_is_done(c->viewer, *ask->sight)) return (Answer){.status = ANSWER_LATER};
    const RowlockStatus status = viewer_take(c->viewer, *ask->sight, &answer.png, &fault);
    if (!status) return answer;
    rowlock_bytes_free(&answer.png);
    return answer_fault((Status)status, fault.text);
}

/* A path's copy for an answer. */
static Answer answer_file(const char *type, const char *path)
{
    Answer answer = {.status = 200, .type = type, .path = memory_create(strlen(path) + 1, 1)};
    if (!answer.path) return answer_refusal(503);
    strcpy(answer.path, path);
    return answer;
}

static Answer give_version(Commission *c, const Ask *ask)
{
    char name[WORKING_NAME], path[WORKING_PATH];
    const int version = (int)number_of(ask, "version");
    if (!trail_version(c->trail, version)) return answer_refusal(404);
    commission_small_name(version, name);
    working_folder_path(&c->folder, name, path);
    return answer_file("image/png", path);
}

static Answer give_brought(Commission *c, const Ask *ask)
{
    char path[ROWLOCK_SETTING_TEXT];
    if (!commission_brought_path(c, field_of(ask, "setting"), path)) return answer_refusal(404);
    return answer_file("application/octet-stream", path);
}

static const char *type_of(const char *name)
{
    static const char *const types[][2] = {{".pdf", "application/pdf"},
                                           {".html", "text/html; charset=utf-8"},
                                           {".png", "image/png"},
                                           {".jpg", "image/jpeg"},
                                           {".json", JSON},
                                           {".csv", "text/csv; charset=utf-8"}};
    const char *ending = strrchr(name, '.');
    for (size_t i = 0; ending && i < sizeof types / sizeof *types; i++)
        if (!strcmp(ending, types[i][0])) return types[i][1];
    return "application/octet-stream";
}

static Answer give_made(Commission *c, const Ask *ask)
{
    char path[ROWLOCK_SETTING_TEXT];
    const char *name = field_of(ask, "file");
    if (!commission_made_path(c, name, path)) return answer_refusal(404);
    Answer answer = answer_file(type_of(name), path);
    answer.drawn = !strcmp(name, "book.html");
    return answer;
}

/* ---- what is to be done ---- */

static Answer take_change(Commission *c, const Ask *ask)
{
    enum { WHAT_MOST = 120 };
    json_t *body;
    Fault fault = {0};
    Status status = read_body(&body, ask, &fault);
    Change change = {.settings = json_object_get(body, "settings"),
                     .what = json_string_value(json_object_get(body, "what")),
                     .gesture = (long)json_integer_value(json_object_get(body, "gesture"))};
    if (change.what && strlen(change.what) > WHAT_MOST) change.what = NULL;
    if (!status) status = commission_change(c, &change, &fault);
    json_decref(body);
    return answer_done(status, &fault);
}

/* The number of the version that the body names; -1, which no version has, where it names none. */
static int version_of(const json_t *body)
{
    const json_t *version = json_object_get(body, "version");
    const json_int_t number = json_integer_value(version);
    return json_is_integer(version) && number >= 0 && number < 1 << 30 ? (int)number : -1;
}

static Answer take_go(Commission *c, const Ask *ask)
{
    json_t *body;
    Fault fault = {0};
    Status status = read_body(&body, ask, &fault);
    if (!status) status = commission_go(c, version_of(body), &fault);
    json_decref(body);
    return answer_done(status, &fault);
}

static Answer take_name(Commission *c, const Ask *ask)
{
    json_t *body;
    Fault fault = {0};
    Status status = read_body(&body, ask, &fault);
    if (!status) {
        const char *name = json_string_value(json_object_get(body, "name"));
        status = trail_name(c->trail, version_of(body), name ? name : "",
                            json_is_true(json_object_get(body, "kept")), &fault);
    }
    json_decref(body);
    return answer_done(status, &fault);
}

static Answer take_file(Commission *c, const Ask *ask)
{
    Fault fault = {0};
    if (!ask->upload)
        return answer_fault(STATUS_USAGE, "file: it is empty; bring one that has something in it");
    const char *setting = field_of(ask, "setting");
    char name[WORKING_NAME];
    Status status = commission_keep(c, setting, ask->upload, name, &fault);
    /* What belongs to other files is kept for a change that names them all. */
    if (!status && !*field_of(ask, "hold")) status = commission_bring(c, setting, name, &fault);
    if (status) return answer_done(status, &fault);
    return answer_json(200, json_pack("{s:s}", "name", name));
}

static Answer take_make(Commission *c, const Ask *ask)
{
    (void)ask;
    Fault fault = {0};
    const Status status = commission_make(c, &fault);
    return answer_done(status, &fault);
}

static Answer take_stop(Commission *c, const Ask *ask)
{
    (void)ask;
    worker_stop_making(c->worker);
    return answer_json(200, json_object());
}

#define GET(name)                                                                                  \
    {                                                                                              \
        .method = "GET", .path = (name)                                                            \
    }
#define POST(name)                                                                                 \
    {                                                                                              \
        .method = "POST", .path = (name), .type = JSON, .most = JSON_BODY                          \
    }

const Route routes[] = {
    {{.method = "GET", .path = "/", .link = true}, false, give_page},
    {{.method = "GET", .path = "/desk.css", .open = true}, false, give_style},
    {{.method = "GET", .path = "/pair", .open = true}, false, give_pairing},
    {{.method = "POST",
      .path = "/pair",
      .type = "application/x-www-form-urlencoded",
      .most = PAIRING_BODY,
      .open = true},
     false,
     take_pairing},
    {GET("/desk.js"), false, give_script},
    {GET("/settings"), false, give_settings},
    {GET("/state"), false, give_state},
    {GET("/versions"), false, give_versions},
    {GET("/view"), false, give_view},
    {GET("/version"), false, give_version},
    {GET("/brought"), false, give_brought},
    {GET("/made"), false, give_made},
    {POST("/change"), false, take_change},
    {POST("/go"), false, take_go},
    {POST("/name"), false, take_name},
    {POST("/make"), false, take_make},
    {POST("/stop"), false, take_stop},
    {{.method = "POST", .path = "/file", .type = "application/octet-stream", .most = FILE_BODY},
     true,
     take_file},
};
const int routes_count = sizeof routes / sizeof *routes;
