/* A change goes through the setting table, to the worker, into the job file and into the trail, in
 * this order: planning does not wait for the disk. Where the disk refuses a change, the worker is
 * told the version before it again: so what stays on the wall is a version that the trail has, and
 * the job file is that version's. What the trail has makes the job file again when the desk is
 * opened. */
#include "desk/commission.h"

#include "base/base64.h"
#include "base/json_file.h"
#include "base/memory.h"
#include "desk/colour_list.h"
#include "desk/operand.h"
#include "desk/setting_list.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PLAN_FOLDER "plan" /* in the working folder, whatever a job file from elsewhere says */

/* ---- opening ---- */

static void set_title(Commission *c, const char *path)
{
    const char *slash = strrchr(path, '/');
    snprintf(c->title, sizeof c->title, "%.120s", slash && slash[1] ? slash + 1 : path);
    char *ending = strstr(c->title, WORKING_ENDING);
    if (ending) *ending = 0;
}

static Status order_plan(Commission *c, const json_t *settings, int version, Fault *fault)
{
    RowlockJob *job;
    if (!json_object_get(settings, "reference")) return STATUS_OK;
    const Status status = setting_list_job(&job, settings, &c->folder, fault);
    if (!status) worker_order(c->worker, job, version);
    return status;
}

/* Of the version that is on the wall. */
static Status plan_version(Commission *c, Fault *fault)
{
    const int now = trail_now(c->trail);
    return order_plan(c, trail_version(c->trail, now)->settings, now, fault);
}

/* The job file is that of the version on the wall. */
static Status save_version(Commission *c, Fault *fault)
{
    const Version *v = trail_version(c->trail, trail_now(c->trail));
    return setting_list_save(v->settings, &c->folder, fault);
}

static Status begin_trail(Commission *c, const char *operand, Fault *fault)
{
    RowlockJob *job = NULL;
    RowlockFault other;
    json_t *list = NULL;
    Status status = rowlock_job_create(&job, &other) ? told(fault, &other) : STATUS_OK;
    if (!status) status = operand_read(job, operand, fault);
    if (!status) status = setting_list_of_job(&list, job, &c->folder, fault);
    if (!status && json_object_set_new(list, "out", json_string(PLAN_FOLDER)))
        status = memory_fault(fault, 1, sizeof list);
    if (!status) status = setting_list_save(list, &c->folder, fault);
    if (!status)
        status = trail_add(c->trail, list, operand ? "as it was brought" : "new", 0, fault);
    json_decref(list);
    rowlock_job_free(job);
    return status;
}

Status commission_open(Commission *c, const char *operand, void (*wake)(void *self), void *self,
                       Fault *fault)
{
    char path[WORKING_PATH];
    *c = (Commission){.wake = wake, .self = self};
    Status status = operand_folder(operand, path, fault);
    if (!status) status = working_folder_open(&c->folder, path, fault);
    if (status) {
        *c->folder.path = 0;
        return status;
    }
    set_title(c, path);
    status = trail_open(&c->trail, &c->folder, fault);
    const bool anew = !status && !trail_count(c->trail);
    if (anew) status = begin_trail(c, operand, fault);
    if (anew && status) working_folder_abandon(&c->folder);
    if (!anew && !status) status = save_version(c, fault);
    if (!status) status = worker_create(&c->worker, wake, self, fault);
    if (!status) status = viewer_create(&c->viewer, worker_live(c->worker), wake, self, fault);
    if (!status) status = looker_create(&c->looker, fault);
    if (!status) looker_set_wake(c->looker, wake, self);
    if (!status) status = plan_version(c, fault);
    return status;
}

void commission_close(Commission *c)
{
    bench_beside_free(c->bench);
    looker_free(c->looker);
    viewer_free(c->viewer);
    worker_free(c->worker);
    trail_free(c->trail);
    if (*c->folder.path) working_folder_close(&c->folder);
}

/* ---- what the other threads found ---- */

void commission_small_name(int version, char name_out[WORKING_NAME])
{
    snprintf(name_out, WORKING_NAME, "version-%d.png", version);
}

void commission_refresh(Commission *c)
{
    Result result;
    Fault fault;
    if (!worker_take_result(c->worker, &result)) return;
    char name[WORKING_NAME];
    commission_small_name(result.version, name);
    json_t *figures = json_loadb((const char *)result.figures.byte, result.figures.length, 0, NULL);
    /* A version without its small picture or figures gets them when it is gone to again. */
    if (figures &&
        !working_folder_write(&c->folder, name, result.small.byte, result.small.length, &fault))
        trail_note_figures(c->trail, result.version, figures, &fault);
    json_decref(figures);
    result_clear(&result);
}

unsigned long commission_serial(const Commission *c)
{
    News news;
    Fault fault;
    unsigned long turns;
    worker_news(c->worker, &news);
    settler_state(c->folder.settler, &turns, &fault);
    return news.serial + trail_serial(c->trail) + turns;
}

/* ---- what the page is told ---- */

static json_t *lines(const char *text)
{
    json_t *list = json_array();
    while (list && *text) {
        const size_t length = strcspn(text, "\n");
        char line[ROWLOCK_FAULT_TEXT];
        snprintf(line, sizeof line, "%.*s", (int)length, text);
        if (json_array_append_new(list, json_text(line))) break;
        text += length + (text[length] == '\n');
    }
    return list;
}

static json_t *tell_work(const News *n, const Fault *disk)
{
    return json_pack("{s:b, s:b, s:s, s:f, s:i, s:I, s:I, s:o, s:o, s:I, s:i, s:o, s:i}", "busy",
                     n->busy, "making", n->making, "stage", n->stage, "done", n->done, "version",
                     n->version, "face", (json_int_t)n->face, "laid", (json_int_t)n->laid, "fault",
                     json_text(*n->fault ? n->fault : disk->text), "notes", lines(n->notes), "made",
                     (json_int_t)n->made, "madeStatus", n->made_status, "madeFault",
                     json_text(n->made_fault), "madeVersion", n->made_version);
}

/* The text of every setting that the page may set. */
static json_t *tell_settings(const Commission *c, const Version *v)
{
    RowlockJob *job = NULL;
    RowlockSetting s;
    Fault fault;
    char text[ROWLOCK_SETTING_TEXT];
    json_t *all = json_object();
    if (setting_list_job(&job, v->settings, &c->folder, &fault)) return all;
    for (size_t i = 0; all && rowlock_setting_at(i, &s); i++) {
        if (!setting_is_open(&s)) continue;
        rowlock_job_show(job, s.name, text, NULL);
        /* Of a file the name is told, not where it lies. */
        const char *slash = s.type == ROWLOCK_FILE ? strrchr(text, '/') : NULL;
        json_object_set_new(all, s.name, json_text(slash ? slash + 1 : text));
    }
    rowlock_job_free(job);
    return all;
}

bool commission_made_folder(const Commission *c, char path_out[ROWLOCK_SETTING_TEXT])
{
    const Version *v = trail_version(c->trail, trail_now(c->trail));
    RowlockJob *job;
    Fault fault;
    if (setting_list_job(&job, v->settings, &c->folder, &fault)) return false;
    rowlock_job_show(job, "out", path_out, NULL);
    rowlock_job_free(job);
    return true;
}

/* The files of the written plan that are there. */
static json_t *tell_made(const Commission *c)
{
    json_t *files = json_array();
    RowlockOutput output;
    char folder[ROWLOCK_SETTING_TEXT], path[2 * ROWLOCK_SETTING_TEXT];
    if (!commission_made_folder(c, folder)) return files;
    for (size_t i = 0; files && rowlock_output_at(i, &output); i++) {
        snprintf(path, sizeof path, "%s/%s", folder, output.name);
        if (!access(path, R_OK))
            json_array_append_new(
                files, json_pack("{s:s, s:s}", "name", output.name, "what", output.what));
    }
    return files;
}

/* Bytes as text that JSON takes; NULL: no memory. */
static json_t *base64(const unsigned char *bytes, size_t length)
{
    const size_t room = (length + 2) / 3 * 4;
    char *text = memory_create(room + 1, 1), *out = text;
    if (!text) return NULL;
    for (size_t i = 0; i < length; i += 3, out += 4) base64_group(bytes + i, length - i, out);
    json_t *value = json_stringn_nocheck(text, room);
    memory_free(text);
    return value;
}

/* What of the picture is shown; null where that is not known yet. */
static json_t *tell_frame(const Commission *c)
{
    RowlockFrame f;
    if (rowlock_live_frame(worker_live(c->worker), &f, NULL)) return json_null();
    return json_pack("{s:I, s:I, s:f, s:f, s:f, s:f}", "pictureWidth", (json_int_t)f.picture_width,
                     "pictureHeight", (json_int_t)f.picture_height, "left", f.left, "top", f.top,
                     "width", f.width, "height", f.height);
}

/* The cells of the face, and the colours; NULL: there is none yet. */
static json_t *tell_face(const Commission *c)
{
    RowlockFace *face;
    if (rowlock_live_face(worker_live(c->worker), &face, NULL)) return NULL;
    const size_t cells = (size_t)face->columns * (size_t)face->rows;
    json_t *told = json_pack(
        "{s:i, s:i, s:f, s:f, s:b, s:o, s:o, s:o, s:o?, s:o?}", "columns", face->columns, "rows",
        face->rows, "cellWidth", face->cell_width_mm, "cellHeight", face->cell_height_mm, "sketch",
        face->sketch, "frame", tell_frame(c), "colours",
        colour_list_tell(face->colour, face->colours), "cells", base64(face->index, cells), "steps",
        face->steps ? base64(face->steps, cells) : NULL, "regions",
        face->region ? base64(face->region, cells) : NULL);
    rowlock_face_free(face);
    return told;
}

/* What a version takes, in the few figures that stand above the wall, on the shelf and side by side
 * where two versions are compared; null until it is known. */
static json_t *tell_cost(const json_t *figures)
{
    const json_t *plan = json_object_get(figures, "plan"),
                 *quote = json_object_get(figures, "quote");
    const json_t *m = json_object_get(plan, "measures"), *size = json_object_get(quote, "size_mm");
    const json_t *bricks = json_object_get(quote, "bricks");
    if (!figures) return json_null();
    return json_pack("{s:O?, s:O?, s:O?, s:I, s:I, s:O?, s:O?, s:O?, s:O?, s:I, s:O?, s:O?, s:O?}",
                     "width", json_array_get(size, 0), "height", json_array_get(size, 1), "bricks",
                     json_object_get(m, "bricks"), "colours",
                     (json_int_t)json_array_size(json_object_get(bricks, "by_colour")), "sizes",
                     (json_int_t)json_array_size(json_object_get(bricks, "by_size")), "mass",
                     json_object_get(m, "whole_kg"), "price",
                     json_object_get(json_object_get(quote, "total"), "expected"), "priced",
                     json_object_get(bricks, "priced"), "hours", json_object_get(m, "hours"),
                     "panels", (json_int_t)json_array_size(json_object_get(plan, "panels")),
                     "crates", json_object_get(quote, "crates"), "error",
                     json_object_get(m, "perceived_de00"), "unrest",
                     json_object_get(m, "unrest_2"));
}

json_t *commission_state(const Commission *c, unsigned long known_face)
{
    News news;
    const int now = trail_now(c->trail);
    const Version *v = trail_version(c->trail, now);
    Fault disk;
    unsigned long turns;
    worker_news(c->worker, &news);
    settler_state(c->folder.settler, &turns, &disk);
    return json_pack("{s:I, s:I, s:o, s:i, s:i, s:i, s:o, s:O?, s:o, s:o, s:o, s:o, s:o*}",
                     "serial", (json_int_t)(news.serial + trail_serial(c->trail) + turns), "trail",
                     (json_int_t)trail_serial(c->trail), "title", json_text(c->title), "now", now,
                     "from", v->from, "onward", v->onward, "settings", tell_settings(c, v),
                     "figures", v->figures, "cost", tell_cost(v->figures), "bench",
                     c->bench ? bench_beside_note(c->bench) : json_null(), "work",
                     tell_work(&news, &disk), "files", tell_made(c), "face",
                     news.face != known_face ? tell_face(c) : NULL);
}

json_t *commission_versions(const Commission *c)
{
    json_t *list = json_array();
    for (int i = 0; list && i < trail_count(c->trail); i++) {
        const Version *v = trail_version(c->trail, i);
        json_t *one =
            json_pack("{s:i, s:i, s:b, s:O, s:O?, s:o}", "version", i, "from", v->from, "kept",
                      v->kept, "what", v->what, "name", v->name, "figures", tell_cost(v->figures));
        if (json_array_append_new(list, one)) break;
    }
    return list;
}

/* ---- what the page asks for ---- */

/* The list, which the change made, becomes a version; it is planned meanwhile. */
static Status add_version(Commission *c, const json_t *list, const Change *change, Fault *fault)
{
    Fault other;
    Status status = order_plan(c, list, trail_next(c->trail, change->gesture), fault);
    if (!status) status = setting_list_save(list, &c->folder, fault);
    if (!status) status = trail_add(c->trail, list, change->what, change->gesture, fault);
    if (status) plan_version(c, &other); /* the fault to be told is the first */
    return status;
}

/* What was made for the earlier picture and fits no other. */
static bool drop_drawn(json_t *changes)
{
    static const char *const drawn[] = {"crop",      "cells",          "depth-map",    "mask",
                                        "steps-map", "strokes",        "labels",       "pins",
                                        "care",      "region-strokes", "region-labels"};
    RowlockSetting s;
    bool failed = false;
    for (size_t i = 0; i < sizeof drawn / sizeof *drawn; i++)
        if (setting_named(drawn[i], &s))
            failed |= json_object_set_new(changes, drawn[i], json_string("")) != 0;
    return !failed;
}

/* Whether the picture stands otherwise after the changes. */
static bool is_turned(const json_t *settings, const json_t *changes)
{
    static const char *const names[] = {"turn", "mirror"};
    RowlockSetting s;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const char *text = json_string_value(json_object_get(changes, names[i]));
        const char *before = json_string_value(json_object_get(settings, names[i]));
        if (!text || !setting_named(names[i], &s)) continue;
        if (strcmp(text, before ? before : s.fallback) != 0) return true;
    }
    return false;
}

/* Plans what the change makes of the version on the wall. */
static Status change_version(Commission *c, const Change *change, Fault *fault)
{
    const Version *v = trail_version(c->trail, trail_now(c->trail));
    Change told = *change;
    json_t *list;
    char *what;
    Status status =
        setting_list_change(&list, &what, v->settings, change->settings, &c->folder, fault);
    if (status) return status;
    if (!told.what) told.what = what;
    if (!json_equal(list, v->settings)) status = add_version(c, list, &told, fault);
    json_decref(list);
    memory_free(what);
    return status;
}

Status commission_change(Commission *c, const Change *change, Fault *fault)
{
    const Version *v = trail_version(c->trail, trail_now(c->trail));
    if (!is_turned(v->settings, change->settings)) return change_version(c, change, fault);
    /* What was drawn on the picture as it stood is given up. */
    json_t *all = json_object();
    Change turn = *change;
    turn.settings = all;
    if (!all || !drop_drawn(all) || json_object_update(all, (json_t *)change->settings)) {
        json_decref(all);
        return memory_fault(fault, 1, sizeof all);
    }
    if (!turn.what) turn.what = "picture turned";
    const Status status = change_version(c, &turn, fault);
    json_decref(all);
    return status;
}

/* The ending that others expect of a file, by how it begins; readers go by that too. */
static const char *ending_of(const char *setting, const char *path)
{
    static const struct Kind {
        const char *begins, *ending;
        size_t length;
    } kinds[] = {{"\x89PNG", "png", 4}, {"\xff\xd8\xff", "jpg", 3}, {"II*", "tif", 3},
                 {"MM", "tif", 2},      {"GIF8", "gif", 4},         {"BM", "bmp", 2},
                 {"P", "pnm", 1}};
    char head[4] = "";
    FILE *file = fopen(path, "rb");
    const size_t got = file ? fread(head, 1, sizeof head, file) : 0;
    if (file) fclose(file);
    if (!strcmp(setting, "layers") || !strcmp(setting, "regions")) return "ini";
    if (!strcmp(setting, "bricks") || !strcmp(setting, "stock")) return "csv";
    if (!strcmp(setting, "palette")) return got >= 3 && !strncmp(head, "id,", 3) ? "csv" : "cgats";
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (got >= kinds[i].length && !memcmp(head, kinds[i].begins, kinds[i].length))
            return kinds[i].ending;
    return "tga";
}

Status commission_keep(Commission *c, const char *setting, Incoming *incoming,
                       char name_out[WORKING_NAME], Fault *fault)
{
    RowlockSetting s;
    if (!setting_named(setting, &s) || s.type != ROWLOCK_FILE || !setting_is_open(&s))
        return fault_set(fault, STATUS_USAGE, "%.60s: takes no file; see the form", setting);
    if (fflush(incoming->file))
        return fault_set(fault, STATUS_IO, "%s: cannot be written; free some space",
                         c->folder.path);
    return working_folder_keep(&c->folder, incoming, setting_stem(&s),
                               ending_of(setting, incoming->path), name_out, fault);
}

/* The settings of the change, with a file. */
static Status add_file(json_t **settings_out, const char *setting, const char *name,
                       const Change *change, Fault *fault)
{
    json_t *all = *settings_out = json_object();
    bool failed = !all || (!strcmp(setting, "reference") && !drop_drawn(all));
    if (change->settings && !json_is_object(change->settings))
        return fault_set(fault, STATUS_USAGE, "change: no settings are given; give an object");
    if (change->settings) failed = failed || json_object_update(all, (json_t *)change->settings);
    failed = failed || json_object_set_new(all, setting, json_string(name));
    return failed ? memory_fault(fault, 1, sizeof all) : STATUS_OK;
}

Status commission_bring(Commission *c, const char *setting, const char *name, const Change *change,
                        Fault *fault)
{
    json_t *settings;
    Change whole = *change;
    Status status = add_file(&settings, setting, name, change, fault);
    whole.settings = settings;
    if (!status) status = commission_change(c, &whole, fault);
    json_decref(settings);
    return status;
}

bool commission_brought_path(const Commission *c, const char *setting,
                             char path_out[ROWLOCK_SETTING_TEXT])
{
    const Version *v = trail_version(c->trail, trail_now(c->trail));
    RowlockSetting s;
    RowlockJob *job;
    Fault fault;
    if (!setting_named(setting, &s) || s.type != ROWLOCK_FILE || !setting_is_open(&s)) return false;
    if (setting_list_job(&job, v->settings, &c->folder, &fault)) return false;
    rowlock_job_show(job, setting, path_out, NULL);
    rowlock_job_free(job);
    return *path_out && strcmp(path_out, "-") != 0;
}

Status commission_go(Commission *c, int version, Fault *fault)
{
    const int before = trail_now(c->trail);
    Status status = trail_go(c->trail, version, fault);
    if (status || version == before) return status;
    status = save_version(c, fault);
    if (!status) status = plan_version(c, fault);
    return status;
}

/* What the look of given cells follows from. */
static Status copy_settings(RowlockJob *to, const RowlockJob *from, Fault *fault)
{
    static const char *const names[] = {"palette", "build", "pitch", "brick-height"};
    char text[ROWLOCK_SETTING_TEXT];
    RowlockFault other;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (rowlock_job_show(from, names[i], text, &other) ||
            (*text && rowlock_job_set(to, names[i], text, NULL, &other)))
            return told(fault, &other);
    return STATUS_OK;
}

Status commission_face_job(RowlockJob **job_out, const Commission *c, int version, Fault *fault)
{
    const Version *v = trail_version(c->trail, version);
    RowlockJob *job = *job_out = NULL, *planned = NULL;
    char name[WORKING_NAME], path[WORKING_PATH];
    RowlockFault other;
    commission_small_name(version, name);
    if (!v || !working_folder_has(&c->folder, name))
        return fault_set(fault, STATUS_NO_INPUT, "version %d: has no face; choose another",
                         version);
    working_folder_path(&c->folder, name, path);
    Status status = setting_list_job(&planned, v->settings, &c->folder, fault);
    if (!status && rowlock_job_create(&job, &other)) status = told(fault, &other);
    if (!status) status = copy_settings(job, planned, fault);
    if (!status && (rowlock_job_set(job, "reference", path, NULL, &other) ||
                    rowlock_job_set(job, "cells", path, NULL, &other)))
        status = told(fault, &other);
    rowlock_job_free(planned);
    if (!status)
        *job_out = job;
    else
        rowlock_job_free(job);
    return status;
}

static void end_bench(Commission *c)
{
    bench_beside_free(c->bench);
    c->bench = NULL;
}

Status commission_bench(Commission *c, const char **link_out, Fault *fault)
{
    char folder[ROWLOCK_SETTING_TEXT], plan[ROWLOCK_SETTING_TEXT];
    News news;
    *link_out = NULL;
    worker_news(c->worker, &news);
    if (news.making)
        return fault_set(fault, STATUS_USAGE,
                         "bench: its plan is being written; open it when that is done");
    if (!c->bench) {
        if (!commission_made_folder(c, folder) || !commission_made_path(c, "plan.json", plan) ||
            access(plan, R_OK))
            return fault_set(fault, STATUS_USAGE, "bench: there is no plan yet; make it first");
        return bench_beside_open(&c->bench, folder, c->wake, c->self, fault);
    }
    *link_out = bench_beside_link(c->bench, fault);
    if (fault->status) end_bench(c);
    return fault->status;
}

Status commission_make(Commission *c, Fault *fault)
{
    const Version *v = trail_version(c->trail, trail_now(c->trail));
    RowlockJob *job;
    if (!json_object_get(v->settings, "reference"))
        return fault_set(fault, STATUS_USAGE, "plan: there is no picture yet; bring one");
    const Status status = setting_list_job(&job, v->settings, &c->folder, fault);
    if (status) return status;
    end_bench(c);
    if (worker_make(c->worker, job, trail_now(c->trail))) return STATUS_OK;
    rowlock_job_free(job);
    return fault_set(fault, STATUS_USAGE, "plan: one is being written; wait for it, or stop it");
}

bool commission_made_path(const Commission *c, const char *name,
                          char path_out[ROWLOCK_SETTING_TEXT])
{
    RowlockOutput output;
    bool known = false;
    for (size_t i = 0; !known && rowlock_output_at(i, &output); i++)
        known = !strcmp(output.name, name);
    if (!known || !commission_made_folder(c, path_out)) return false;
    const size_t used = strlen(path_out);
    return snprintf(path_out + used, ROWLOCK_SETTING_TEXT - used, "/%s", name) <
           (int)(ROWLOCK_SETTING_TEXT - used);
}
