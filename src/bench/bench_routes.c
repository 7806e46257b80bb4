/* A plan's build book is served as it lies in its folder, with the scripts of the bench at its end.
 * A request with a photograph waits until nobody else's is looked at, and then for what is seen.
 * Events are confirmed when they are on the disk: a request that brings some is put off until the
 * batch that they are in is written, which is once for all that came in at a time. */
#include "bench/bench_routes.h"

#include "base/bytes.h"
#include "base/folder.h"
#include "base/json_file.h"
#include "base/memory.h"
#include "bench/labels.h"
#include "bench/page_parts.h"
#include "serve/panel_photo.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { EVENTS_BODY = 256 * 1024, EVENTS_MOST = 1000, COPIES_MOST = 50 };

/* The plan that a request is about; -1: there is none of this number. */
static int plan_of(const Board *b, const char *text)
{
    char *end;
    const long plan = strtol(text, &end, 10);
    return *text && !*end && plan >= 0 && plan < b->plans ? (int)plan : -1;
}

/* ---- pages ---- */

static Answer give_page(void *self, const Ask *ask)
{
    const Board *b = self;
    if (!*ask_text(ask, "token") && b->plans == 1) return answer_onward("/book?plan=0");
    return answer_page(ask, bench_html);
}

static Answer give_style(void *self, const Ask *ask)
{
    (void)self, (void)ask;
    return answer_fixed("text/css; charset=utf-8", bench_css);
}

static Answer give_script(void *self, const Ask *ask)
{
    (void)self, (void)ask;
    return answer_fixed("text/javascript; charset=utf-8", bench_js);
}

/* The book's own rule lets nothing in, and is blanked out; the bench sends another. */
static void blank_rule(char *page)
{
    char *rule = strstr(page, "<meta http-equiv=\"Content-Security-Policy\"");
    const char *end = rule ? strchr(rule, '>') : NULL;
    if (end) memset(rule, ' ', (size_t)(end + 1 - rule));
}

static Answer give_book(void *self, const Ask *ask)
{
    static const char tail[] = "<script type=\"module\" src=\"/bench.js\"></script>\n";
    const Board *b = self;
    const int plan = plan_of(b, ask_text(ask, "plan"));
    char *bytes = NULL;
    size_t length = 0;
    Fault fault = {0};
    if (plan < 0) return answer_refusal(404);
    Status status = folder_read(b->plan[plan].folder, "book.html", &bytes, &length, &fault);
    char *joined = status ? NULL : memory_create(length + sizeof tail, 1);
    if (!status && !joined) status = memory_fault(&fault, length, 1);
    if (!status) {
        memcpy(joined, bytes, length);
        memcpy(joined + length, tail, sizeof tail);
        blank_rule(joined);
    }
    memory_free(bytes);
    if (status) return answer_fault(status, fault.text);
    return (Answer){.status = 200,
                    .type = "text/html; charset=utf-8",
                    .bytes = joined,
                    .length = length + sizeof tail - 1,
                    .rules = RULES_LIVE_BOOK};
}

static Answer give_labels(void *self, const Ask *ask)
{
    const Board *b = self;
    char host[ENTRY_HOST + 8], *html;
    size_t length = 0;
    Fault fault = {0};
    const Entry *e = ask->entry;
    const int plan = plan_of(b, ask_text(ask, "plan"));
    const double copies = fmin(fmax(ask_number(ask, "copies"), 1), COPIES_MOST);
    if (plan < 0) return answer_refusal(404);
    snprintf(host, sizeof host, "%s:%u", *e->host ? e->host : "127.0.0.1", e->port);
    const Status status =
        labels_write(&html, &length, &b->plan[plan], plan, host, (int)copies, &fault);
    if (status) return answer_fault(status, fault.text);
    return (Answer){.status = 200,
                    .type = "text/html; charset=utf-8",
                    .bytes = html,
                    .release = free,
                    .length = length};
}

/* ---- news ---- */

static Answer give_plans(void *self, const Ask *ask)
{
    const Board *b = self;
    Making m = {0};
    json_t *list = json_array();
    for (int i = 0; i < b->plans; i++) {
        const WorkState *s = tally_state(b->tally[i]);
        json_append(&m, list,
                    json_pack("{s:o, s:i, s:i, s:f, s:f}", "name", json_text(b->plan[i].name),
                              "bricks", b->plan[i].bricks, "laid", s->total, "pace",
                              work_state_pace(s), "end", work_state_end(s, b->now())));
    }
    json_t *all = json_pack("{s:o, s:o}", "plans", list, "pairing", tell_pairing(ask->entry));
    if (!m.failed) return answer_json(200, all);
    json_decref(all);
    return answer_refusal(503);
}

static Answer give_state(void *self, const Ask *ask)
{
    const Board *b = self;
    const int plan = plan_of(b, ask_text(ask, "plan"));
    const char *after = ask_text(ask, "after");
    const long serial = strtol(after, NULL, 10);
    if (plan < 0) return answer_refusal(404);
    if (*after && serial >= tally_serial(b->tally[plan]) && ask->waited < NEWS_WAIT)
        return (Answer){.status = ANSWER_LATER};
    return answer_json(200, board_tell(b, plan, serial));
}

/* ---- events ---- */

/* All of them come into one batch, or those before the first that is refused. */
static Status take_body(Board *b, int plan, const json_t *body, unsigned long *batch, Fault *fault)
{
    const char *device = json_string_value(json_object_get(body, "device"));
    const json_t *list = json_object_get(body, "events");
    const double now = b->now();
    if (!json_array_size(list) || json_array_size(list) > EVENTS_MOST)
        return fault_set(fault, STATUS_USAGE, "events: give 1 to %d", EVENTS_MOST);
    for (size_t i = 0; i < json_array_size(list); i++) {
        Event event;
        Status status = event_read(&event, json_array_get(list, i), device ? device : "", now,
                                   &b->plan[plan], fault);
        if (!status) status = tally_take(b->tally[plan], &event, batch, fault);
        if (status) return status;
    }
    return STATUS_OK;
}

static Answer take_events(void *self, const Ask *ask)
{
    Board *b = self;
    Fault fault = {0};
    const int plan = plan_of(b, ask_text(ask, "plan"));
    unsigned long batch = (unsigned long)(uintptr_t)*ask->held;
    Status status = STATUS_OK;
    if (plan < 0) return answer_refusal(404);
    if (!batch) {
        json_t *body;
        status = ask_object(&body, ask, &fault);
        if (!status) status = take_body(b, plan, body, &batch, &fault);
        json_decref(body);
        if (status) return answer_done(status, &fault);
        *ask->held = (void *)(uintptr_t)batch;
        return (Answer){.status = ANSWER_LATER};
    }
    if (!tally_outcome(b->tally[plan], batch, &status, &fault))
        return (Answer){.status = ANSWER_LATER};
    return answer_done(status, &fault);
}

/* ---- photographs ---- */

static const char *photo_room(void *self)
{
    (void)self;
    return temporary_folder();
}

static LookTask *make_task(void *self, const Ask *ask, Fault *fault)
{
    const WorkPlan *plan = self;
    return panel_photo_create(plan->folder, ask, fault);
}

static Answer take_photo(void *self, const Ask *ask)
{
    Board *b = self;
    const int plan = plan_of(b, ask_text(ask, "plan"));
    if (plan < 0 || work_plan_panel(&b->plan[plan], ask_text(ask, "panel")) < 0)
        return answer_refusal(404);
    return looker_answer(b->looker, ask, make_task, &b->plan[plan]);
}

/* Of what requests hold, batches of events need no care. */
static void drop(void *self, void *held)
{
    const Board *b = self;
    if (held == b->looker) looker_stop(b->looker);
}

#define GET(name)                                                                                  \
    {                                                                                              \
        .method = "GET", .path = (name)                                                            \
    }

static const Route routes[] = {
    {{.method = "GET", .path = "/", .link = true}, false, give_page},
    {{.method = "GET", .path = "/style.css", .open = true}, false, give_style},
    ROUTES_OF_PAIRING,
    {GET("/bench.js"), false, give_script},
    {GET("/book"), false, give_book},
    {GET("/labels"), false, give_labels},
    {GET("/plans"), false, give_plans},
    {GET("/state"), false, give_state},
    {{.method = "POST", .path = "/events", .type = "application/json", .most = EVENTS_BODY},
     false,
     take_events},
    {{.method = "POST", .path = "/photo", .type = "image/*", .most = PHOTO_BODY}, true, take_photo},
};

/* ---- the service ---- */

static void refresh(void *self) { board_commit(self); }
static unsigned long serial_of(const void *self) { return board_serial(self); }

Service bench_service(Board *b)
{
    return (Service){.name = "bench",
                     .route = routes,
                     .routes = sizeof routes / sizeof *routes,
                     .devices = PAIRING_DEVICES,
                     .self = b,
                     .room = photo_room,
                     .refresh = refresh,
                     .serial = serial_of,
                     .drop = drop};
}
