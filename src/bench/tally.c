/* SQLite keeps it: a table of events and nothing else that could say something else. The journal is
 * written ahead and synced with each batch, so a batch that is told to be kept outlasts a kill and
 * a loss of power. A device numbers its events; the pair is unique, so what is sent again is one
 * event.
 *
 * Source: SQLite's documentation of PRAGMA journal_mode, synchronous, user_version. */
#include "bench/tally.h"

#include "base/memory.h"

#include <sqlite3.h>

#include <stdio.h>
#include <string.h>

enum {
    VERSION = 2,
    APPLICATION = 0x726f77 /* "row" */
};

static const char schema[] =
    "CREATE TABLE plan(digest TEXT NOT NULL, bricks INTEGER NOT NULL, id TEXT NOT NULL, "
    "port INTEGER NOT NULL);"
    "CREATE TABLE event(serial INTEGER PRIMARY KEY, device TEXT NOT NULL, number INTEGER NOT NULL, "
    "at REAL NOT NULL, kind TEXT NOT NULL, panel TEXT NOT NULL, first INTEGER NOT NULL, "
    "count INTEGER NOT NULL, laid INTEGER NOT NULL, text TEXT NOT NULL, UNIQUE(device, number));";

/* Version 1 knew no port, and what is there again by its serial alone. */
static const char upgrade_1[] =
    "BEGIN; ALTER TABLE plan ADD COLUMN port INTEGER NOT NULL DEFAULT 0;"
    "UPDATE event SET text = (SELECT s.device FROM event s WHERE s.serial = event.first), "
    "first = (SELECT s.number FROM event s WHERE s.serial = event.first) "
    "WHERE kind = 'found' AND EXISTS (SELECT 1 FROM event s WHERE s.serial = event.first);"
    "PRAGMA user_version = 2; COMMIT";

#define COLUMNS "serial, device, number, at, kind, panel, first, count, laid, text"

struct Tally {
    const WorkPlan *plan;
    char path[WORK_PATH];
    sqlite3 *base;
    sqlite3_stmt *insert;
    WorkState state;
    Event *pending; /* of the batch */
    size_t pendings, pending_room;
    bool begun;                  /* a batch is open */
    unsigned long batch, failed; /* the open one, and the last that was not written */
    Fault why;
    long serial;
    unsigned long stirred;
    char id[TALLY_ID];
    unsigned port;
};

const WorkState *tally_state(const Tally *t) { return &t->state; }
long tally_serial(const Tally *t) { return t->serial; }
unsigned long tally_stirred(const Tally *t) { return t->stirred; }
const char *tally_id(const Tally *t) { return t->id; }
unsigned tally_port(const Tally *t) { return t->port; }

static Status base_fault(const Tally *t, Fault *fault)
{
    const int code = sqlite3_errcode(t->base);
    if (code == SQLITE_BUSY || code == SQLITE_LOCKED)
        return fault_set(fault, STATUS_NO_CREATE, "%s: another bench has it; end that first",
                         t->path);
    if (code == SQLITE_NOTADB || code == SQLITE_CORRUPT)
        return fault_set(fault, STATUS_DATA,
                         "%s: is no bench of ours or is damaged; move it away, or read back what "
                         "was exported",
                         t->path);
    return fault_set(fault, STATUS_IO, "%s: cannot be written (%s); free some space", t->path,
                     sqlite3_errmsg(t->base));
}

static Status run(const Tally *t, const char *sql, Fault *fault)
{
    return sqlite3_exec(t->base, sql, NULL, NULL, NULL) ? base_fault(t, fault) : STATUS_OK;
}

static Status prepare(const Tally *t, const char *sql, sqlite3_stmt **statement_out, Fault *fault)
{
    return sqlite3_prepare_v2(t->base, sql, -1, statement_out, NULL) ? base_fault(t, fault)
                                                                     : STATUS_OK;
}

/* ---- rows ---- */

static void copy_text(char *to, size_t room, sqlite3_stmt *row, int column)
{
    const unsigned char *text = sqlite3_column_text(row, column);
    snprintf(to, room, "%s", text ? (const char *)text : "");
}

/* The event of a row; false where it fits no plan of ours. */
static bool read_row(Event *e, sqlite3_stmt *row, const WorkPlan *plan)
{
    char kind[16], panel[PANEL_NAME];
    *e = (Event){.serial = (long)sqlite3_column_int64(row, 0),
                 .number = (long)sqlite3_column_int64(row, 2),
                 .at = sqlite3_column_double(row, 3),
                 .first = (long)sqlite3_column_int64(row, 6),
                 .count = sqlite3_column_int(row, 7),
                 .laid = sqlite3_column_int(row, 8) != 0};
    copy_text(e->device, sizeof e->device, row, 1);
    copy_text(kind, sizeof kind, row, 4);
    copy_text(panel, sizeof panel, row, 5);
    copy_text(e->text, sizeof e->text, row, 9);
    e->kind = event_kind_named(kind);
    e->panel = work_plan_panel(plan, panel);
    if (e->kind == EVENT_KINDS) return false;
    const bool needs_panel =
        e->kind == EVENT_MARK || e->kind == EVENT_TAKE || e->kind == EVENT_GIVE;
    if (needs_panel && e->panel < 0) return false;
    return e->kind != EVENT_MARK ||
           (e->first >= 0 && e->count > 0 && e->count <= plan->panel[e->panel].bricks - e->first);
}

static bool bind_event(sqlite3_stmt *s, const Event *e, const WorkPlan *plan)
{
    const char *panel = e->panel < 0 ? "" : plan->panel[e->panel].name;
    return !sqlite3_reset(s) && !sqlite3_bind_text(s, 1, e->device, -1, SQLITE_STATIC) &&
           !sqlite3_bind_int64(s, 2, e->number) && !sqlite3_bind_double(s, 3, e->at) &&
           !sqlite3_bind_text(s, 4, event_kind_name(e->kind), -1, SQLITE_STATIC) &&
           !sqlite3_bind_text(s, 5, panel, -1, SQLITE_STATIC) &&
           !sqlite3_bind_int64(s, 6, e->first) && !sqlite3_bind_int(s, 7, e->count) &&
           !sqlite3_bind_int(s, 8, e->laid) && !sqlite3_bind_text(s, 9, e->text, -1, SQLITE_STATIC);
}

/* ---- opening ---- */

static Status open_base(Tally *t, Fault *fault)
{
    const int flags =
        SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_NOFOLLOW;
    if (sqlite3_open_v2(t->path, &t->base, flags, NULL)) return base_fault(t, fault);
    sqlite3_busy_timeout(t->base, 2000);
    /* One process at a time has it, which is who answers the devices. */
    return run(t,
               "PRAGMA locking_mode = EXCLUSIVE; PRAGMA journal_mode = WAL; "
               "PRAGMA synchronous = FULL; BEGIN IMMEDIATE; COMMIT",
               fault);
}

static Status read_number(const Tally *t, const char *sql, int *number_out, Fault *fault)
{
    sqlite3_stmt *s = NULL;
    Status status = prepare(t, sql, &s, fault);
    if (!status && sqlite3_step(s) != SQLITE_ROW) status = base_fault(t, fault);
    if (!status) *number_out = sqlite3_column_int(s, 0);
    sqlite3_finalize(s);
    return status;
}

static Status make_tables(const Tally *t, Fault *fault)
{
    char sql[sizeof schema + 512];
    snprintf(sql, sizeof sql,
             "BEGIN; %s INSERT INTO plan VALUES('%s', %d, lower(hex(randomblob(16))), 0); "
             "PRAGMA application_id = %d; PRAGMA user_version = %d; COMMIT",
             schema, t->plan->digest, t->plan->bricks, APPLICATION, VERSION);
    return run(t, sql, fault);
}

/* Makes the tables where there are none, brings older ones up, and refuses what is not ours. */
static Status check_base(const Tally *t, Fault *fault)
{
    int version = 0, application = 0;
    Status status = read_number(t, "PRAGMA user_version", &version, fault);
    if (!status) status = read_number(t, "PRAGMA application_id", &application, fault);
    if (status) return status;
    if (!version && !application) return make_tables(t, fault);
    if (application != APPLICATION)
        return fault_set(fault, STATUS_DATA, "%s: is no bench of ours; move it away", t->path);
    if (version > VERSION)
        return fault_set(fault, STATUS_DATA,
                         "%s: was kept by a newer version of this program; use that", t->path);
    return version < 2 ? run(t, upgrade_1, fault) : STATUS_OK;
}

/* The digest of the plan that the events are of; besides the file's own id and port. */
static Status read_head(Tally *t, char digest_out[PLAN_DIGEST], Fault *fault)
{
    sqlite3_stmt *s = NULL;
    Status status = prepare(t, "SELECT digest, id, port FROM plan", &s, fault);
    if (!status && sqlite3_step(s) != SQLITE_ROW) status = base_fault(t, fault);
    if (!status) {
        copy_text(digest_out, PLAN_DIGEST, s, 0);
        copy_text(t->id, sizeof t->id, s, 1);
        t->port = (unsigned)sqlite3_column_int(s, 2);
    }
    sqlite3_finalize(s);
    return status;
}

static Status begin_base(Tally *t, char digest_out[PLAN_DIGEST], Fault *fault)
{
    Status status = open_base(t, fault);
    if (!status) status = check_base(t, fault);
    return status ? status : read_head(t, digest_out, fault);
}

/* Puts the file of another plan aside and begins anew. */
static Status put_aside(Tally *t, char digest[PLAN_DIGEST], char kept_out[64], Fault *fault)
{
    char aside[WORK_PATH];
    snprintf(kept_out, 64, "bench-%.8s.db", digest);
    Status status = work_plan_path(t->plan, kept_out, aside, fault);
    if (!status) status = run(t, "PRAGMA journal_mode = DELETE", fault);
    if (status) return status;
    sqlite3_close(t->base);
    t->base = NULL;
    if (rename(t->path, aside))
        return fault_set(fault, STATUS_IO, "%s: cannot be renamed; move it away", t->path);
    return begin_base(t, digest, fault);
}

/* Takes in what is there. */
static Status read_events(Tally *t, Fault *fault)
{
    sqlite3_stmt *s = NULL;
    Event e;
    int step = SQLITE_DONE;
    Status status = prepare(t, "SELECT " COLUMNS " FROM event ORDER BY serial", &s, fault);
    while (!status && (step = sqlite3_step(s)) == SQLITE_ROW) {
        status = work_state_reserve(&t->state, 1, fault);
        if (!status && read_row(&e, s, t->plan)) work_state_apply(&t->state, &e);
        t->serial = (long)sqlite3_column_int64(s, 0);
    }
    if (!status && step != SQLITE_DONE) status = base_fault(t, fault);
    sqlite3_finalize(s);
    return status;
}

Status tally_open(Tally **tally_out, const WorkPlan *plan, char kept_out[64], Fault *fault)
{
    char digest[PLAN_DIGEST];
    Tally *t = *tally_out = memory_create(1, sizeof *t);
    *kept_out = 0;
    if (!t) return memory_fault(fault, 1, sizeof *t);
    t->plan = plan;
    t->batch = 1;
    Status status = work_state_init(&t->state, plan, fault);
    if (!status) status = work_plan_path(plan, TALLY_FILE, t->path, fault);
    if (!status) status = begin_base(t, digest, fault);
    if (!status && strcmp(digest, plan->digest) != 0)
        status = put_aside(t, digest, kept_out, fault);
    if (!status) status = read_events(t, fault);
    if (!status)
        status = prepare(t,
                         "INSERT OR IGNORE INTO event(device, number, at, kind, panel, first, "
                         "count, laid, text) VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?)",
                         &t->insert, fault);
    return status;
}

void tally_close(Tally *t)
{
    if (!t) return;
    if (t->begun) tally_commit(t);
    sqlite3_finalize(t->insert);
    sqlite3_close(t->base);
    work_state_clear(&t->state);
    memory_free(t->pending);
    memory_free(t);
}

/* ---- batches ---- */

/* Who has the panel once the batch is kept; NULL: nobody. */
static const char *holder_of(const Tally *t, int panel)
{
    const int device = t->state.holder[panel];
    const char *holder = device < 0 ? NULL : t->state.device[device].id;
    for (size_t i = 0; i < t->pendings; i++) {
        const Event *e = &t->pending[i];
        if (e->panel != panel) continue;
        if (e->kind == EVENT_TAKE) holder = e->device;
        if (e->kind == EVENT_GIVE && holder && !strcmp(holder, e->device)) holder = NULL;
    }
    return holder;
}

static Status check_holder(const Tally *t, const Event *e, Fault *fault)
{
    if (e->kind != EVENT_TAKE || e->over) return STATUS_OK;
    const char *holder = holder_of(t, e->panel);
    if (!holder || !strcmp(holder, e->device)) return STATUS_OK;
    const int device = work_state_device(&t->state, holder);
    return fault_set(fault, STATUS_USAGE, "%s: %s has it; ask for it, or take it over",
                     t->plan->panel[e->panel].name,
                     device < 0 ? "another device" : work_state_name(&t->state, device));
}

static Status begin(Tally *t, Fault *fault)
{
    if (t->begun) return STATUS_OK;
    const Status status = run(t, "BEGIN IMMEDIATE", fault);
    t->begun = !status;
    return status;
}

Status tally_take(Tally *t, const Event *event, unsigned long *batch_out, Fault *fault)
{
    Status status = check_holder(t, event, fault);
    if (!status) status = begin(t, fault);
    if (!status) status = work_state_reserve(&t->state, t->pendings + 1, fault);
    if (!status)
        status =
            memory_grow(&t->pending, &t->pending_room, t->pendings + 1, sizeof *t->pending, fault);
    if (status) return status;
    if (!bind_event(t->insert, event, t->plan) || sqlite3_step(t->insert) != SQLITE_DONE)
        return base_fault(t, fault);
    *batch_out = t->batch;
    t->stirred++;
    if (!sqlite3_changes(t->base)) return STATUS_OK; /* it is there already */
    t->pending[t->pendings] = *event;
    t->pending[t->pendings++].serial = (long)sqlite3_last_insert_rowid(t->base);
    return STATUS_OK;
}

static void end_batch(Tally *t)
{
    t->pendings = 0;
    t->begun = false;
    t->batch++;
    t->stirred++;
}

void tally_drop(Tally *t)
{
    sqlite3_reset(t->insert);
    sqlite3_exec(t->base, "ROLLBACK", NULL, NULL, NULL);
    end_batch(t);
}

void tally_commit(Tally *t)
{
    if (!t->begun) return;
    sqlite3_reset(t->insert);
    if (run(t, "COMMIT", &t->why)) {
        t->failed = t->batch;
        tally_drop(t);
        return;
    }
    for (size_t i = 0; i < t->pendings; i++) {
        work_state_apply(&t->state, &t->pending[i]);
        t->serial = t->pending[i].serial;
    }
    end_batch(t);
}

bool tally_outcome(const Tally *t, unsigned long batch, Status *status_out, Fault *fault)
{
    if (batch >= t->batch) return false;
    *status_out = STATUS_OK;
    /* Of what is asked late the earlier outcome is not known: to be sent again harms nothing. */
    if (batch <= t->failed) {
        *fault = t->why;
        *status_out = t->why.status;
    }
    return true;
}

Status tally_keep_port(Tally *t, unsigned port, Fault *fault)
{
    char sql[64];
    if (port == t->port) return STATUS_OK;
    snprintf(sql, sizeof sql, "UPDATE plan SET port = %u", port);
    t->port = port;
    return run(t, sql, fault);
}

Status tally_each(const Tally *t, EventVisit *visit, void *self, Fault *fault)
{
    sqlite3_stmt *s = NULL;
    Event e;
    int step = SQLITE_DONE;
    Status status = prepare(t, "SELECT " COLUMNS " FROM event ORDER BY serial", &s, fault);
    while (!status && (step = sqlite3_step(s)) == SQLITE_ROW)
        if (read_row(&e, s, t->plan)) visit(self, &e);
    if (!status && step != SQLITE_DONE) status = base_fault(t, fault);
    sqlite3_finalize(s);
    return status;
}
