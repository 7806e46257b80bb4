/* A table of routes, and a function for each. */
#include "desk/routes.h"

#include "base/memory.h"
#include "desk/brick_photo.h"
#include "desk/held_plans.h"
#include "desk/page_parts.h"
#include "desk/setting_list.h"
#include "serve/panel_photo.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define JSON "application/json"

enum {
    VIEW_MOST = 4096, /* pixels */
    JSON_BODY = 64 * 1024,
    FILE_BODY = 1 << 30
};

/* ---- the page ---- */

static Answer give_page(void *self, const Ask *ask)
{
    (void)self;
    return answer_page(ask, desk_html);
}

static Answer give_style(void *self, const Ask *ask)
{
    (void)self, (void)ask;
    return answer_fixed("text/css; charset=utf-8", desk_css);
}

static Answer give_script(void *self, const Ask *ask)
{
    (void)self, (void)ask;
    return answer_fixed("text/javascript; charset=utf-8", desk_js);
}

static Answer give_settings(void *self, const Ask *ask)
{
    (void)self, (void)ask;
    return answer_json(200, setting_list_table());
}

/* ---- news ---- */

static Answer give_state(void *self, const Ask *ask)
{
    Commission *c = self;
    const unsigned long known = strtoul(ask_text(ask, "after"), NULL, 10);
    if (known == commission_serial(c) && ask->waited < NEWS_WAIT)
        return (Answer){.status = ANSWER_LATER};
    json_t *state = commission_state(c, strtoul(ask_text(ask, "face"), NULL, 10));
    if (state) json_object_set_new(state, "pairing", tell_pairing(ask->entry));
    if (state) json_object_set_new(state, "held", held_plans_tell(c));
    return answer_json(200, state);
}

static Answer give_versions(void *self, const Ask *ask)
{
    Commission *c = self;
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
    const double pixels = ask_number(ask, "pixels"), distance = ask_number(ask, "distance");
    *viewing = (RowlockViewing){.pixels = (int)fmin(fmax(pixels, 0), VIEW_MOST),
                                .distance_mm = fmin(fmax(distance, 0), 1e6),
                                .light_angle = fmin(fmax(ask_number(ask, "angle"), 0), 360),
                                .light_height = fmin(fmax(ask_number(ask, "lamp"), 0), 90)};
    for (size_t i = 0; i < sizeof view_names / sizeof *view_names; i++)
        if (!strcmp(ask_text(ask, "view"), view_names[i].name)) {
            viewing->view = view_names[i].view;
            return true;
        }
    return false;
}

static void free_png(void *bytes)
{
    RowlockBytes png = {.byte = bytes};
    rowlock_bytes_free(&png);
}

/* Asks the viewer for what the request names: a view of the open plan, or of the face of a version.
 */
static Status ask_viewer(const Commission *c, const Ask *ask, const RowlockViewing *viewing,
                         Fault *fault)
{
    RowlockJob *job = NULL;
    if (*ask_text(ask, "version")) {
        const double version = fmin(fmax(ask_number(ask, "version"), -1), 1 << 30);
        const Status status = commission_face_job(&job, c, (int)version, fault);
        if (status) return status;
    }
    *ask->held = viewer_ask(c->viewer, viewing, job);
    return STATUS_OK;
}

static Answer give_view(void *self, const Ask *ask)
{
    Commission *c = self;
    RowlockViewing viewing;
    RowlockBytes png = {0};
    RowlockFault fault = {0};
    Fault own = {0};
    if (!read_viewing(&viewing, ask)) return answer_refusal(404);
    if (!*ask->held && ask_viewer(c, ask, &viewing, &own))
        return answer_fault(own.status, own.text);
    if (!*ask->held) return answer_refusal(503);
    if (!viewer_is_done(c->viewer, *ask->held)) return (Answer){.status = ANSWER_LATER};
    const RowlockStatus status = viewer_take(c->viewer, *ask->held, &png, &fault);
    if (!status)
        return (Answer){.status = 200,
                        .type = "image/png",
                        .bytes = png.byte,
                        .release = free_png,
                        .length = png.length};
    rowlock_bytes_free(&png);
    return answer_fault((Status)status, fault.text);
}

static Answer give_version(void *self, const Ask *ask)
{
    Commission *c = self;
    char name[WORKING_NAME], path[WORKING_PATH];
    const int version = (int)ask_number(ask, "version");
    if (!trail_version(c->trail, version)) return answer_refusal(404);
    commission_small_name(version, name);
    working_folder_path(&c->folder, name, path);
    return answer_file("image/png", path);
}

static Answer give_brought(void *self, const Ask *ask)
{
    Commission *c = self;
    char path[ROWLOCK_SETTING_TEXT];
    if (!commission_brought_path(c, ask_text(ask, "setting"), path)) return answer_refusal(404);
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

static Answer give_made(void *self, const Ask *ask)
{
    Commission *c = self;
    char path[ROWLOCK_SETTING_TEXT];
    const char *name = ask_text(ask, "file");
    if (!commission_made_path(c, name, path)) return answer_refusal(404);
    Answer answer = answer_file(type_of(name), path);
    if (!strcmp(name, "book.html")) answer.rules = RULES_BOOK;
    return answer;
}

/* The bench of the plan: a link of the page, which leads on to it. */
static Answer give_bench(void *self, const Ask *ask)
{
    Commission *c = self;
    const char *link;
    Fault fault = {0};
    (void)ask;
    if (commission_bench(c, &link, &fault)) return answer_fault_page(&fault);
    return link ? answer_onward(link) : (Answer){.status = ANSWER_LATER};
}

/* ---- photographs ---- */

/* The plan that a request is about. */
static bool plan_of(const Commission *c, const Ask *ask, char path_out[ROWLOCK_SETTING_TEXT])
{
    const double plan = ask_number(ask, "plan");
    return plan >= 0 && plan < HELD_PLANS && held_plan_folder(c, (int)plan, path_out);
}

static Answer give_held(void *self, const Ask *ask)
{
    static const char *const files[] = {"plan.json", "cells.png"};
    char folder[ROWLOCK_SETTING_TEXT], path[ROWLOCK_SETTING_TEXT + 16];
    if (!plan_of(self, ask, folder)) return answer_refusal(404);
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        if (strcmp(ask_text(ask, "file"), files[i]) != 0) continue;
        snprintf(path, sizeof path, "%s/%s", folder, files[i]);
        return answer_file(type_of(files[i]), path);
    }
    return answer_refusal(404);
}

static LookTask *make_panel_task(void *self, const Ask *ask, Fault *fault)
{
    return panel_photo_create(self, ask, fault);
}

static Answer take_photo(void *self, const Ask *ask)
{
    const Commission *c = self;
    char folder[ROWLOCK_SETTING_TEXT];
    if (!plan_of(c, ask, folder)) return answer_refusal(404);
    return looker_answer(c->looker, ask, make_panel_task, folder);
}

static LookTask *make_brick_task(void *self, const Ask *ask, Fault *fault)
{
    return brick_photo_create(self, ask, fault);
}

static Answer take_bricks(void *self, const Ask *ask)
{
    const Commission *c = self;
    return looker_answer(c->looker, ask, make_brick_task, self);
}

/* ---- what is to be done ---- */

/* A change as the page tells it; it borrows. */
static Change change_of(const json_t *told)
{
    enum { WHAT_MOST = 120 };
    const char *what = json_string_value(json_object_get(told, "what"));
    return (Change){.settings = json_object_get(told, "settings"),
                    .what = what && strlen(what) <= WHAT_MOST ? what : NULL,
                    .gesture = (long)json_integer_value(json_object_get(told, "gesture"))};
}

static Answer take_change(void *self, const Ask *ask)
{
    Commission *c = self;
    json_t *body;
    Fault fault = {0};
    Status status = ask_object(&body, ask, &fault);
    const Change change = change_of(body);
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

static Answer take_go(void *self, const Ask *ask)
{
    Commission *c = self;
    json_t *body;
    Fault fault = {0};
    Status status = ask_object(&body, ask, &fault);
    if (!status) status = commission_go(c, version_of(body), &fault);
    json_decref(body);
    return answer_done(status, &fault);
}

static Answer take_name(void *self, const Ask *ask)
{
    Commission *c = self;
    json_t *body;
    Fault fault = {0};
    Status status = ask_object(&body, ask, &fault);
    if (!status) {
        const char *name = json_string_value(json_object_get(body, "name"));
        status = trail_name(c->trail, version_of(body), name ? name : "",
                            json_is_true(json_object_get(body, "kept")), &fault);
    }
    json_decref(body);
    return answer_done(status, &fault);
}

static Answer take_file(void *self, const Ask *ask)
{
    Commission *c = self;
    json_t *beside;
    Fault fault = {0};
    if (!ask->upload)
        return answer_fault(STATUS_USAGE, "file: it is empty; bring one that has something in it");
    const char *setting = ask_text(ask, "setting");
    char name[WORKING_NAME];
    Status status = ask_field_object(&beside, ask, "change", &fault);
    const Change change = change_of(beside);
    if (!status) status = commission_keep(c, setting, ask->upload, name, &fault);
    /* What belongs to other files is kept for a change that names them all. */
    if (!status && !*ask_text(ask, "hold"))
        status = commission_bring(c, setting, name, &change, &fault);
    json_decref(beside);
    if (status) return answer_done(status, &fault);
    return answer_json(200, json_pack("{s:s}", "name", name));
}

static Answer take_make(void *self, const Ask *ask)
{
    Commission *c = self;
    (void)ask;
    Fault fault = {0};
    const Status status = commission_make(c, &fault);
    return answer_done(status, &fault);
}

static Answer take_stop(void *self, const Ask *ask)
{
    Commission *c = self;
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

static const Route routes[] = {
    {{.method = "GET", .path = "/", .link = true}, false, give_page},
    {{.method = "GET", .path = "/style.css", .open = true}, false, give_style},
    ROUTES_OF_PAIRING,
    {GET("/desk.js"), false, give_script},
    {GET("/settings"), false, give_settings},
    {GET("/state"), false, give_state},
    {GET("/versions"), false, give_versions},
    {GET("/view"), false, give_view},
    {GET("/version"), false, give_version},
    {GET("/brought"), false, give_brought},
    {GET("/made"), false, give_made},
    {GET("/bench"), false, give_bench},
    {GET("/held"), false, give_held},
    {POST("/change"), false, take_change},
    {POST("/go"), false, take_go},
    {POST("/name"), false, take_name},
    {POST("/make"), false, take_make},
    {POST("/stop"), false, take_stop},
    {{.method = "POST", .path = "/file", .type = "application/octet-stream", .most = FILE_BODY},
     true,
     take_file},
    {{.method = "POST", .path = "/photo", .type = "image/*", .most = PHOTO_BODY}, true, take_photo},
    {{.method = "POST", .path = "/bricks", .type = "image/*", .most = PHOTO_BODY},
     true,
     take_bricks},
};

/* ---- the service ---- */

static const char *room_of(void *self)
{
    const Commission *c = self;
    return c->folder.path;
}

static void refresh(void *self) { commission_refresh(self); }
static unsigned long serial_of(const void *self) { return commission_serial(self); }

static void drop(void *self, void *held)
{
    const Commission *c = self;
    if (held == c->looker)
        looker_stop(c->looker);
    else
        viewer_drop(c->viewer, held);
}

Service desk_service(Commission *c)
{
    return (Service){.name = "desk",
                     .route = routes,
                     .routes = sizeof routes / sizeof *routes,
                     .devices = 1,
                     .self = c,
                     .room = room_of,
                     .refresh = refresh,
                     .serial = serial_of,
                     .drop = drop};
}
