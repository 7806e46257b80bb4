/* Each mural's plan is checked as any other, so its own tables may be taken for true here: what the
 * show says is added up anew from these. A colour and size is one account over all tables; a panel
 * is in one crate and no other. Sums of money and mass may be off by the rounding of their lines.
 */
#include "check/check_show.h"

#include "base/csv_stream.h"
#include "base/digest.h"
#include "base/file_format.h"
#include "base/folder.h"
#include "base/memory.h"
#include "base/name_table.h"
#include "check/check.h"
#include "check/check_binding.h"
#include "check/plan_facts.h"
#include "check/verdict.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { ACCOUNTS_MOST = 16384, KEY = 48, LOT_KEY = 160, FIGURES_MOST = 5 };

/* A colour in a size. */
typedef struct SizeAccount {
    char key[KEY];
    long count, built, spare, in_stock, to_buy; /* of the show's parts.csv */
    long own, own_built;  /* bricks of a mural, and those that stand, less what the show counts */
    long ordered, bought; /* of order.csv */
    bool left;            /* has a line in left.csv */
} SizeAccount;

/* What is bought of an account in one way: from a supplier, at a price that holds from a least
 * quantity on, in packs. An order that comes in parts has several lines of it. */
typedef struct Lot {
    char key[LOT_KEY];
    const SizeAccount *account;
    long to_buy, bought, pack, from;
    double price, off, each; /* sum of the lines, their rounding; of one brick, NAN: not told */
    char supplier[49];
} Lot;

typedef struct Tour {
    const char *folder;
    const Voice *voice;
    void (*broken)(void *self, const char *line);
    void *self;
    Verdict verdict;
    const char *name; /* of the mural in hand, before its lines */
    size_t places;    /* that are broken in the murals */
    json_t *show;
    SizeAccount *account;
    size_t accounts;
    NameTable index;
    Lot *lot; /* as many as accounts at most */
    size_t lots;
    NameTable lot_index;
    double outlay, off;  /* price of what order.csv buys, and by how much lines may round it */
    long panels, bought; /* of all murals; of order.csv */
    double whole_kg;
} Tour;

/* ---- show.json ---- */

static Status open_show(Tour *t, Fault *fault)
{
    char *bytes;
    size_t length;
    Status status = folder_read(t->folder, "show.json", &bytes, &length, fault);
    if (status) return status;
    status = json_parse(&t->show, bytes, length, JSON_REJECT_DUPLICATES, NULL, fault);
    memory_free(bytes);
    if (status) return status;
    const FormatFit fit = file_format_fit(FORMAT_SHOW, t->show);
    if (fit == FORMAT_NEWER) {
        char where[FOLDER_PATH];
        snprintf(where, sizeof where, "%.400s/show.json", t->folder);
        return file_format_fault(FORMAT_SHOW, t->show, where, fault);
    }
    if (fit == FORMAT_KNOWN && json_array_size(json_object_get(t->show, "murals")) > 0)
        return STATUS_OK;
    return fault_set(fault, STATUS_DATA, "%s/show.json: tells of no show; run the exhibition again",
                     t->folder);
}

static void check_told_digest(Tour *t, const char *where, const char *path, const char *told)
{
    char sha256[DIGEST_TEXT];
    if (digest_file(path, sha256, NULL))
        verdict_broken(&t->verdict, PROMISE_LISTED, "show.json: %s: not there", where);
    else if (!told || strcmp(told, sha256) != 0)
        verdict_broken(&t->verdict, PROMISE_DIGESTS, "show.json: %s: its digest differs", where);
}

static void check_digests(Tour *t)
{
    const char *name;
    json_t *told;
    char path[FOLDER_PATH];
    json_object_foreach(json_object_get(t->show, "files"), name,
                        told) if (!strchr(name, '/') && folder_join(path, t->folder, name))
        check_told_digest(t, name, path, json_string_value(told));
}

static void expect_near(Tour *t, const char *what, double told, double found, double off)
{
    if (fabs(told - found) <= off + 1e-9 * fabs(found)) return;
    verdict_broken(&t->verdict, PROMISE_TOGETHER, "show.json: %s: %.10g, must be %.10g", what, told,
                   found);
}

static double number_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

/* ---- the murals ---- */

static void hand_on_line(void *self, const char *line)
{
    const Tour *t = self;
    char text[700];
    snprintf(text, sizeof text, "%s/%s", t->name, line);
    if (t->broken) t->broken(t->self, text);
}

static bool is_name(const char *name)
{
    return name && *name && *name != '.' && !strchr(name, '/');
}

/* What show.json tells of a mural is what its plan.json does. */
static Status check_facts(Tour *t, const json_t *mural, const char *folder, Fault *fault)
{
    static const char *const keys[] = {"columns", "rows"};
    static const char *const measures[] = {"bricks", "mass_kg", "whole_kg", "hours",
                                           "perceived_de00"};
    char *bytes, what[120];
    size_t length;
    json_t *plan = NULL;
    Status status = folder_read(folder, "plan.json", &bytes, &length, fault);
    if (status) return status;
    status = json_parse(&plan, bytes, length, 0, NULL, fault);
    memory_free(bytes);
    for (size_t i = 0; !status && i < sizeof keys / sizeof *keys; i++) {
        snprintf(what, sizeof what, "murals: %s: %s", t->name, keys[i]);
        expect_near(t, what, number_of(mural, keys[i]), number_of(plan, keys[i]), 0);
    }
    const json_t *from = json_object_get(plan, "measures");
    for (size_t i = 0; !status && i < sizeof measures / sizeof *measures; i++) {
        snprintf(what, sizeof what, "murals: %s: %s", t->name, measures[i]);
        expect_near(t, what, number_of(mural, measures[i]), number_of(from, measures[i]), 0);
    }
    t->panels += (long)json_array_size(json_object_get(plan, "panels"));
    t->whole_kg += number_of(from, "whole_kg");
    json_decref(plan);
    return status;
}

static Status check_mural(Tour *t, const json_t *mural, Fault *fault)
{
    char folder[FOLDER_PATH], path[FOLDER_PATH], told[120];
    t->name = json_string_value(json_object_get(mural, "name"));
    if (!is_name(t->name) || !folder_join(folder, t->folder, t->name))
        return fault_set(fault, STATUS_DATA,
                         "%s/show.json: a mural has no name; run the exhibition again", t->folder);
    Fault own = {0};
    Status status = check_run(folder, t->voice, hand_on_line, t, &own);
    if (status == STATUS_UNHELD) t->places++;
    if (status && status != STATUS_UNHELD)
        return fault_set(fault, status, "%s: %s", t->name, own.text);
    snprintf(told, sizeof told, "murals: %s: plan.json", t->name);
    if (folder_join(path, folder, "plan.json"))
        check_told_digest(t, told, path, json_string_value(json_object_get(mural, "plan_sha256")));
    return check_facts(t, mural, folder, fault);
}

/* ---- tables ---- */

/* A line of a table: the account of its colour and size, and its numbers. */
typedef struct Line {
    const CsvStream *stream;
    SizeAccount *account;
    long figure[FIGURES_MOST];
    double price;
} Line;

/* What is read of a table: whole numbers, then whether it has a price. */
typedef struct TableKind {
    const char *name;
    const char *figure[FIGURES_MOST + 1];
    bool priced;
    void (*take)(Tour *t, const Line *line);
} TableKind;

static SizeAccount *find_account(Tour *t, const char *colour, const char *size)
{
    char key[KEY];
    snprintf(key, sizeof key, "%.20s\n%.20s", colour, size);
    const long at = name_table_find(&t->index, key);
    if (at >= 0) return &t->account[at];
    if (t->accounts == ACCOUNTS_MOST) return NULL;
    SizeAccount *a = &t->account[t->accounts];
    memcpy(a->key, key, sizeof key);
    name_table_enter(&t->index, a->key, (uint32_t)t->accounts++);
    return a;
}

static void bad_line(Tour *t, const CsvStream *s, const char *what)
{
    verdict_broken(&t->verdict, PROMISE_FIELDS, "%s:%d: %s", s->name, s->line, what);
}

/* False, with a line that says why, where a column or a value is not there. */
static bool read_line(Tour *t, const TableKind *kind, Line *line)
{
    const CsvStream *s = line->stream;
    const int colour = csv_stream_column(s, "colour"), size = csv_stream_column(s, "size"),
              price = csv_stream_column(s, "price");
    int places;
    if (colour < 0 || size < 0 || (kind->priced && price < 0)) {
        bad_line(t, s, "a column is missing");
        return false;
    }
    line->account = find_account(t, s->field[colour], s->field[size]);
    bool sound = line->account != NULL;
    for (int i = 0; kind->figure[i] && sound; i++) {
        const int column = csv_stream_column(s, kind->figure[i]);
        sound = column >= 0 && field_whole(s->field[column], 0, COUNT_MOST, &line->figure[i]);
    }
    if (sound && kind->priced) sound = field_decimal(s->field[price], &line->price, &places);
    if (!sound) bad_line(t, s, "a value is not what its column wants");
    return sound;
}

static Status read_table(Tour *t, const TableKind *kind, const char *folder, Fault *fault)
{
    CsvStream stream;
    bool more = true;
    Status status = csv_stream_open(&stream, folder, kind->name, fault);
    if (status == STATUS_NO_INPUT) return STATUS_OK; /* told by its digest */
    while (!status && more) {
        status = csv_stream_next(&stream, &more, fault);
        Line line = {.stream = &stream};
        if (!status && more && read_line(t, kind, &line)) kind->take(t, &line);
    }
    csv_stream_close(&stream);
    return status;
}

/* Of count, spare and order: what stands is not ordered. */
static long built_of(const Line *line)
{
    return line->figure[0] + line->figure[1] - line->figure[2];
}

static void take_own(Tour *t, const Line *line)
{
    (void)t;
    line->account->own += line->figure[0];
    line->account->own_built += built_of(line);
}

/* Of the mural in hand what its own table counts is taken off again. */
static void take_counted(Tour *t, const Line *line)
{
    const int mural = csv_stream_column(line->stream, "mural");
    if (mural < 0)
        bad_line(t, line->stream, "the column mural is missing");
    else if (!strcmp(line->stream->field[mural], t->name)) {
        line->account->own -= line->figure[0];
        line->account->own_built -= built_of(line);
    }
}

static void take_part(Tour *t, const Line *line)
{
    SizeAccount *a = line->account;
    const long *f = line->figure; /* count, spare, order, in_stock, to_buy */
    a->count += f[0];
    a->built += built_of(line);
    a->spare += f[1];
    a->in_stock += f[3];
    a->to_buy += f[4];
    if (built_of(line) < 0 || built_of(line) > f[0] || f[4] != f[2] - f[3])
        verdict_broken(&t->verdict, PROMISE_TOGETHER, "parts.csv:%d: does not add up",
                       line->stream->line);
}

static const char *field_at(const Line *line, const char *name)
{
    const int column = csv_stream_column(line->stream, name);
    return column < 0 ? "" : line->stream->field[column];
}

/* The lot of a line, a new one where it is the first; NULL where there is no room. */
static Lot *find_lot(Tour *t, const Line *line)
{
    char key[LOT_KEY];
    int places;
    snprintf(key, sizeof key, "%s\n%.48s\n%.20s\n%ld\n%.20s", line->account->key,
             field_at(line, "supplier"), field_at(line, "from"), line->figure[1],
             field_at(line, "unit_price"));
    const long at = name_table_find(&t->lot_index, key);
    if (at >= 0) return &t->lot[at];
    if (t->lots == ACCOUNTS_MOST) return NULL;
    Lot *lot = &t->lot[t->lots];
    memcpy(lot->key, key, sizeof key);
    lot->account = line->account;
    snprintf(lot->supplier, sizeof lot->supplier, "%.48s", field_at(line, "supplier"));
    lot->pack = line->figure[1];
    if (!field_whole(field_at(line, "from"), 1, COUNT_MOST, &lot->from)) lot->from = 1;
    if (!field_decimal(field_at(line, "unit_price"), &lot->each, &places)) lot->each = (double)NAN;
    name_table_enter(&t->lot_index, lot->key, (uint32_t)t->lots++);
    return lot;
}

static void take_order(Tour *t, const Line *line)
{
    SizeAccount *a = line->account;
    const long *f = line->figure; /* to_buy, pack, packs, order */
    Lot *lot = find_lot(t, line);
    a->ordered += f[0];
    a->bought += f[3];
    t->bought += f[3];
    t->outlay += line->price;
    t->off += 0.5e-4;
    if (f[1] < 1 || f[1] * f[2] != f[3] || !lot) {
        verdict_broken(&t->verdict, PROMISE_TOGETHER, "order.csv:%d: packs do not make the order",
                       line->stream->line);
        return;
    }
    lot->to_buy += f[0];
    lot->bought += f[3];
    lot->price += line->price;
    lot->off += 0.5e-4;
}

/* The shelf itself is in no table: where something is bought, all of it was taken. */
static void take_left(Tour *t, const Line *line)
{
    SizeAccount *a = line->account;
    const long least = a->in_stock + a->bought - (a->count - a->built);
    a->left = true;
    if (a->to_buy ? line->figure[0] != least : line->figure[0] < least)
        verdict_broken(&t->verdict, PROMISE_TOGETHER, "left.csv:%d: %ld, must be %s%ld",
                       line->stream->line, line->figure[0], a->to_buy ? "" : "at least ", least);
}

static const TableKind own_kind = {"parts.csv", {"count", "spare", "order"}, false, take_own};
static const TableKind counted_kind = {
    "parts.csv", {"count", "spare", "order"}, false, take_counted};
static const TableKind whole_kinds[] = {
    {"parts.csv", {"count", "spare", "order", "in_stock", "to_buy"}, false, take_part},
    {"order.csv", {"to_buy", "pack", "packs", "order"}, true, take_order},
    {"left.csv", {"quantity"}, false, take_left},
};

static const char *account_name(const SizeAccount *a, char text[KEY])
{
    snprintf(text, KEY, "%s", a->key);
    char *end = strchr(text, '\n');
    if (end) *end = ' ';
    return text;
}

/* The show counts of each mural the bricks that its own table counts. */
static Status compare_counts(Tour *t, Fault *fault)
{
    size_t i;
    json_t *mural;
    char folder[FOLDER_PATH], text[KEY];
    json_array_foreach(json_object_get(t->show, "murals"), i, mural)
    {
        t->name = json_string_value(json_object_get(mural, "name"));
        if (!folder_join(folder, t->folder, t->name)) continue;
        Status status = read_table(t, &own_kind, folder, fault);
        if (!status) status = read_table(t, &counted_kind, t->folder, fault);
        if (status) return status;
        for (size_t k = 0; k < t->accounts; k++) {
            if (t->account[k].own || t->account[k].own_built)
                verdict_broken(&t->verdict, PROMISE_TOGETHER,
                               "parts.csv: mural %s, %s: off by %ld bricks from its plan", t->name,
                               account_name(&t->account[k], text),
                               t->account[k].own ? t->account[k].own : t->account[k].own_built);
            t->account[k].own = t->account[k].own_built = 0;
        }
    }
    return STATUS_OK;
}

/* Each is bought in whole packs and not one pack more than is needed or its price asks for. */
static void check_lots(Tour *t)
{
    char text[KEY];
    for (size_t i = 0; i < t->lots; i++) {
        const Lot *lot = &t->lot[i];
        const long least = lot->to_buy > lot->from ? lot->to_buy : lot->from;
        const char *name = account_name(lot->account, text);
        if (lot->bought < least || lot->bought - least >= lot->pack)
            verdict_broken(&t->verdict, PROMISE_TOGETHER,
                           "order.csv: %s: %ld bought, must be %ld in packs of %ld", name,
                           lot->bought, least, lot->pack);
        if (fabs(lot->price - (double)lot->bought * lot->each) > lot->off + 1e-9 * lot->price)
            verdict_broken(&t->verdict, PROMISE_TOGETHER,
                           "order.csv: %s: costs %.4f, must be %ld of %.10g", name, lot->price,
                           lot->bought, lot->each);
    }
}

static void check_accounts(Tour *t)
{
    char text[KEY];
    const double spare = number_of(t->show, "spare");
    for (size_t i = 0; i < t->accounts; i++) {
        const SizeAccount *a = &t->account[i];
        const char *name = account_name(a, text);
        const long to_come = a->count - a->built;
        const long due =
            spare > 0 && to_come ? (long)fmax(1, ceil((double)to_come * spare / 100 - 1e-9)) : 0;
        if (a->spare != due)
            verdict_broken(&t->verdict, PROMISE_TOGETHER, "parts.csv: %s: %ld spares, must be %ld",
                           name, a->spare, due);
        if (a->ordered != a->to_buy)
            verdict_broken(&t->verdict, PROMISE_TOGETHER,
                           "order.csv: %s: %ld bought for %ld, parts.csv buys %ld", name, a->bought,
                           a->ordered, a->to_buy);
        if (!a->left && a->in_stock + a->bought != a->count - a->built)
            verdict_broken(&t->verdict, PROMISE_TOGETHER, "left.csv: %s: missing", name);
    }
}

static Status check_tables(Tour *t, Fault *fault)
{
    Status status = compare_counts(t, fault);
    for (size_t i = 0; !status && i < sizeof whole_kinds / sizeof *whole_kinds; i++)
        status = read_table(t, &whole_kinds[i], t->folder, fault);
    if (!status) check_lots(t);
    if (!status) check_accounts(t);
    return status;
}

/* ---- crates ---- */

/* Where a crate stands; all 0: it goes into no vehicle. */
typedef struct Stowed {
    long vehicle, load, pallet, level, on; /* pallet, on: number of one; 0: the floor */
    double width, depth, gross_kg, carried_kg;
    int line;
} Stowed;

/* Panels that crates.csv names: "3 panels of plastic bricks: cup r1c1, r1c2; pilot r1c1". */
typedef struct Aboard {
    NameTable panels; /* "cup r1c1"; number: whether it was met */
    char *name;       /* room for all names */
    bool *met;
    long count, entered;
    double net_kg;
    Stowed *crate; /* as many as panels at most */
    long crates;
} Aboard;

enum { PANEL_KEY = 80 };

static Status enter_panels(Tour *t, Aboard *a, Fault *fault)
{
    const size_t most = (size_t)t->panels;
    size_t i;
    json_t *mural;
    a->name = memory_create(most, PANEL_KEY);
    a->met = memory_create(most, sizeof *a->met);
    a->crate = memory_create(most, sizeof *a->crate);
    Status status = name_table_init(&a->panels, most, fault);
    if (!status && !(a->name && a->met && a->crate)) status = memory_fault(fault, most, PANEL_KEY);
    json_array_foreach(json_object_get(t->show, "murals"), i, mural)
    {
        CsvStream s;
        char folder[FOLDER_PATH];
        bool more = true;
        const char *name = json_string_value(json_object_get(mural, "name"));
        if (status || !folder_join(folder, t->folder, name)) break;
        status = csv_stream_open(&s, folder, "panels.csv", fault);
        const int column = status ? -1 : csv_stream_column(&s, "panel");
        while (!status && !(status = csv_stream_next(&s, &more, fault)) && more && column >= 0 &&
               a->entered < t->panels) {
            char *key = a->name + PANEL_KEY * (size_t)a->entered;
            snprintf(key, PANEL_KEY, "%.40s %.30s", name, s.field[column]);
            name_table_enter(&a->panels, key, (uint32_t)a->entered++);
        }
        csv_stream_close(&s);
    }
    return status;
}

static void take_panel(Tour *t, Aboard *a, const char *mural, const char *panel, int line)
{
    char key[PANEL_KEY];
    snprintf(key, sizeof key, "%.40s %.30s", mural, panel);
    const long at = name_table_find(&a->panels, key);
    if (at < 0 || a->met[at])
        verdict_broken(&t->verdict, PROMISE_TOGETHER, "crates.csv:%d: panel %s %s", line, key,
                       at < 0 ? "is in no plan" : "is in two crates");
    else
        a->met[at] = true;
    a->count++;
}

static void take_content(Tour *t, Aboard *a, char *content, int line)
{
    char *list = strchr(content, ':'), *groups = NULL;
    for (char *group = list ? strtok_r(list + 1, ";", &groups) : NULL; group;
         group = strtok_r(NULL, ";", &groups)) {
        char *words = NULL;
        const char *mural = strtok_r(group, " ,", &words);
        for (char *panel; mural && (panel = strtok_r(NULL, " ,", &words));)
            take_panel(t, a, mural, panel, line);
    }
}

/* How the line in hand says that its crate stands. */
static void take_stowed(Tour *t, Aboard *a, const CsvStream *s)
{
    static const char *const whole[] = {"vehicle", "load", "pallet", "level", "on"};
    static const char *const decimal[] = {"width_mm", "depth_mm", "gross_kg"};
    Stowed c = {.line = s->line};
    long *const number[] = {&c.vehicle, &c.load, &c.pallet, &c.level, &c.on};
    double *const size[] = {&c.width, &c.depth, &c.gross_kg};
    bool sound = a->crates < t->panels;
    int places;
    for (int i = 0; i < 5 && sound; i++) {
        const int column = csv_stream_column(s, whole[i]);
        const char *text = column < 0 ? "" : s->field[column];
        sound = (column >= 0 && !*text) || field_whole(text, 1, COUNT_MOST, number[i]);
    }
    for (int i = 0; i < 3 && sound; i++) {
        const int column = csv_stream_column(s, decimal[i]);
        sound = column >= 0 && field_decimal(s->field[column], size[i], &places);
    }
    if (sound)
        a->crate[a->crates++] = c;
    else
        bad_line(t, s, "where the crate stands is not told");
}

/* A crate after the one that was loaded before it, NULL: none was, in vehicles that are loaded one
 * after another, on pallets likewise, which stay together. */
static bool follows(const Stowed *c, const Stowed *before, long pallets)
{
    const bool next = before && c->vehicle == before->vehicle;
    const bool same = next && c->pallet == before->pallet;
    const long load = next ? before->load : 0, vehicle = before ? before->vehicle : 0;
    return c->load == load + 1 && c->vehicle == vehicle + !next &&
           (!c->pallet || same || c->pallet == pallets + 1);
}

/* On the floor, or on one that was loaded before it, with it, and is as large. */
static bool stands(const Aboard *a, const Stowed *c)
{
    const long own = (long)(c - a->crate) + 1;
    if (!c->on) return c->level == 1;
    const Stowed *below = c->on > own && c->on <= a->crates ? &a->crate[c->on - 1] : NULL;
    return below && below->vehicle == c->vehicle && below->pallet == c->pallet &&
           c->level == below->level + 1 && c->width <= below->width && c->depth <= below->depth;
}

/* What is opened first is loaded last, and the first line is the first to be opened. None is
 * overloaded. */
static void check_stowed(Tour *t, Aboard *a)
{
    const double off = 1e-3; /* rounding of masses */
    const Stowed *before = NULL;
    long pallets = 0;
    for (long i = a->crates - 1; i >= 0; i--) {
        const Stowed *c = &a->crate[i];
        const bool left_out = !c->vehicle && !c->load && !c->pallet && !c->level && !c->on;
        if (left_out) continue;
        const bool sound = follows(c, before, pallets) && stands(a, c);
        if (!sound)
            verdict_broken(&t->verdict, PROMISE_TOGETHER,
                           "crates.csv:%d: does not stand as it was loaded", c->line);
        for (long k = sound ? c->on : 0; k; k = a->crate[k - 1].on)
            a->crate[k - 1].carried_kg += c->gross_kg;
        if (c->pallet > pallets) pallets = c->pallet;
        before = c;
    }
    for (long i = 0; i < a->crates; i++)
        if (a->crate[i].carried_kg > a->crate[i].gross_kg + off * (double)a->crates)
            verdict_broken(&t->verdict, PROMISE_TOGETHER,
                           "crates.csv:%d: carries %.3f kg, more than it weighs", a->crate[i].line,
                           a->crate[i].carried_kg);
    const json_t *told = json_object_get(json_object_get(t->show, "journey"), "pallets");
    if (told) expect_near(t, "journey: pallets", json_number_value(told), (double)pallets, 0);
}

static Status read_crates(Tour *t, Aboard *a, Fault *fault)
{
    CsvStream s;
    bool more = true;
    Status status = csv_stream_open(&s, t->folder, "crates.csv", fault);
    if (status) return status == STATUS_NO_INPUT ? STATUS_OK : status;
    const int panels = csv_stream_column(&s, "panels"), content = csv_stream_column(&s, "content"),
              net = csv_stream_column(&s, "net_kg"), gross = csv_stream_column(&s, "gross_kg");
    if (panels < 0 || content < 0 || net < 0 || gross < 0) {
        bad_line(t, &s, "a column is missing");
        more = false;
    }
    while (more && !(status = csv_stream_next(&s, &more, fault)) && more) {
        long told = 0;
        double kg = 0, packed = 0;
        int places;
        const long before = a->count;
        take_stowed(t, a, &s);
        take_content(t, a, s.field[content], s.line);
        if (!field_whole(s.field[panels], 1, COUNT_MOST, &told) || told != a->count - before ||
            !field_decimal(s.field[net], &kg, &places) ||
            !field_decimal(s.field[gross], &packed, &places) || packed < kg)
            bad_line(t, &s, "panels or masses are not those of the content");
        a->net_kg += kg;
    }
    csv_stream_close(&s);
    return status;
}

static Status check_crates(Tour *t, Fault *fault)
{
    Aboard a = {0};
    if (!json_object_get(json_object_get(t->show, "files"), "crates.csv")) return STATUS_OK;
    Status status = enter_panels(t, &a, fault);
    if (!status) status = read_crates(t, &a, fault);
    for (long i = 0; !status && i < a.entered; i++)
        if (!a.met[i])
            verdict_broken(&t->verdict, PROMISE_TOGETHER, "crates.csv: panel %s is in no crate",
                           a.name + PANEL_KEY * (size_t)i);
    const json_t *journey = json_object_get(t->show, "journey");
    if (!status) check_stowed(t, &a);
    if (!status) expect_near(t, "journey: net_kg", number_of(journey, "net_kg"), a.net_kg, 0.01);
    if (!status) expect_near(t, "journey: net_kg", number_of(journey, "net_kg"), t->whole_kg, 1e-3);
    name_table_clear(&a.panels);
    memory_free(a.crate);
    memory_free(a.met);
    memory_free(a.name);
    return status;
}

/* ---- the whole ---- */

static void check_cost(Tour *t)
{
    static const char *const parts[] = {"bricks", "labour", "sheets", "crates", "freight", "site"};
    const json_t *cost = json_object_get(t->show, "cost");
    double sum = 0;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) sum += number_of(cost, parts[i]);
    expect_near(t, "cost: bricks", number_of(cost, "bricks"), t->outlay, t->off);
    expect_near(t, "cost: total", number_of(cost, "total"), sum, 1e-6);
}

/* Of each supplier show.json tells what order.csv buys of it. */
static void check_suppliers(Tour *t)
{
    size_t i;
    json_t *told;
    char what[100];
    double all = 0;
    const json_t *list = json_object_get(t->show, "suppliers");
    json_array_foreach(list, i, told)
    {
        const char *name = json_string_value(json_object_get(told, "supplier"));
        double bricks = 0, outlay = 0, off = 0;
        for (size_t k = 0; k < t->lots; k++) {
            const Lot *lot = &t->lot[k];
            if (!name || strcmp(lot->supplier, name) != 0) continue;
            bricks += (double)lot->bought;
            outlay += lot->price;
            off += lot->off;
        }
        snprintf(what, sizeof what, "suppliers: %.48s: bricks", name ? name : "");
        expect_near(t, what, number_of(told, "bricks"), bricks, 0);
        snprintf(what, sizeof what, "suppliers: %.48s: outlay", name ? name : "");
        expect_near(t, what, number_of(told, "outlay"), outlay, off);
        all += bricks;
    }
    if (list) expect_near(t, "suppliers: bricks of all", all, (double)t->bought, 0);
}

static void check_totals(Tour *t)
{
    static const char *const sums[] = {"panels", "bricks", "mass_kg", "whole_kg", "hours"};
    const json_t *totals = json_object_get(t->show, "totals"),
                 *murals = json_object_get(t->show, "murals");
    char what[60];
    for (size_t k = 0; k < sizeof sums / sizeof *sums; k++) {
        double sum = 0;
        for (size_t i = 0; i < json_array_size(murals); i++)
            sum += number_of(json_array_get(murals, i), sums[k]);
        snprintf(what, sizeof what, "totals: %s", sums[k]);
        expect_near(t, what, number_of(totals, sums[k]), sum, 1e-6);
    }
    expect_near(t, "totals: murals", number_of(totals, "murals"), (double)json_array_size(murals),
                0);
    expect_near(t, "totals: panels", number_of(totals, "panels"), (double)t->panels, 0);
    expect_near(t, "totals: bought", number_of(totals, "bought"), (double)t->bought, 0);
    expect_near(t, "totals: outlay", number_of(totals, "outlay"), t->outlay, t->off);
    check_suppliers(t);
    check_cost(t);
}

static Status check_tour(Tour *t, Fault *fault)
{
    size_t i;
    json_t *mural;
    t->account = memory_create(ACCOUNTS_MOST, sizeof *t->account);
    t->lot = memory_create(ACCOUNTS_MOST, sizeof *t->lot);
    Status status = open_show(t, fault);
    if (!status && !(t->account && t->lot))
        status = memory_fault(fault, ACCOUNTS_MOST, sizeof *t->lot);
    if (!status) status = name_table_init(&t->index, ACCOUNTS_MOST, fault);
    if (!status) status = name_table_init(&t->lot_index, ACCOUNTS_MOST, fault);
    if (status) return status;
    check_digests(t);
    json_array_foreach(json_object_get(t->show, "murals"), i, mural)
    {
        status = check_mural(t, mural, fault);
        if (status) return status;
    }
    status = check_tables(t, fault);
    if (!status) status = check_crates(t, fault);
    if (!status) status = check_binding(&t->verdict, t->folder, t->show, fault);
    if (!status) check_totals(t);
    return status;
}

bool check_show_is(const char *folder)
{
    char path[FOLDER_PATH];
    return folder_join(path, folder, "show.json") && !access(path, F_OK);
}

Status check_show_run(const char *folder, const Voice *voice,
                      void (*broken)(void *self, const char *line), void *self, Fault *fault)
{
    Tour t = {.folder = folder,
              .voice = voice,
              .broken = broken,
              .self = self,
              .verdict = {.broken = broken, .self = self}};
    const Status status = check_tour(&t, fault);
    const size_t places = verdict_close(&t.verdict) + t.places;
    name_table_clear(&t.index);
    name_table_clear(&t.lot_index);
    memory_free(t.lot);
    memory_free(t.account);
    json_decref(t.show);
    if (status || !places) return status;
    return fault_set(fault, STATUS_UNHELD,
                     "%s: promises are broken in %zu places; run the exhibition again", folder,
                     places);
}
