/* order.csv must buy what parts.csv lacks, in whole packs and not one pack more than that or than
 * the price asks for, and left.csv must be what is then on the shelf and not built in: an account
 * for each colour and size is opened from parts.csv and must come out even. */
#include "check/check_orders.h"

#include "base/csv_stream.h"
#include "base/memory.h"

#include <math.h>
#include <string.h>

enum { WHOLES_MOST = 4 };

/* What parts.csv says of a colour in a size, and what the other tables say. */
typedef struct Account {
    long to_come, in_stock, to_buy; /* to_come: count, less what stands */
    long asked, order;              /* of order.csv, over all its lines: what for, and how many */
    long left;
    bool part, ordered, shelved; /* it has a line in parts.csv, order.csv, left.csv */
} Account;

typedef struct Books {
    PlanFacts *e;
    Account *account; /* shades x FORMATS_MOST */
    bool offered;     /* order.csv tells suppliers, and a part may have several lines */
} Books;

/* A line of a table: its account, and its numbers in the order of `column`. */
typedef void Enter(Books *k, const CsvStream *s, Account *account, const long *number);

static void broken_order(Books *k, const CsvStream *s, const char *what, long said, long found)
{
    verdict_broken(k->e->verdict, PROMISE_ORDERS, "%s:%d: %s is %ld, must be %ld", s->name, s->line,
                   what, said, found);
}

static void enter_part(Books *k, const CsvStream *s, Account *a, const long *number)
{
    (void)s;
    a->part = true;
    a->to_come = number[0] - k->e->built[a - k->account];
    a->in_stock = number[1];
    a->to_buy = number[2];
}

/* What is bought costs its unit price, to the rounding of the line. */
static void check_price(Books *k, const CsvStream *s, long order)
{
    const int price = csv_stream_column(s, "price"), unit = csv_stream_column(s, "unit_price");
    double whole = 0, each = 0;
    int places = 0, digits;
    if (price < 0 || unit < 0 || !field_decimal(s->field[price], &whole, &places) ||
        !field_decimal(s->field[unit], &each, &digits))
        verdict_broken(k->e->verdict, PROMISE_FIELDS, "%s:%d: a price is no number", s->name,
                       s->line);
    else if (fabs(whole - (double)order * each) > 0.5 * pow(10, -places) + 1e-9 * whole)
        verdict_broken(k->e->verdict, PROMISE_ORDERS, "%s:%d: price is %s, must be %ld of %s",
                       s->name, s->line, s->field[price], order, s->field[unit]);
}

/* From how many bricks the line's price holds; 1 where the table does not tell. */
static long least_order(Books *k, const CsvStream *s)
{
    const int from = csv_stream_column(s, "from");
    long least = 1;
    if (from >= 0 && !field_whole(s->field[from], 1, COUNT_MOST, &least))
        plan_facts_bad_field(k->e, s, from, "a whole number from 1");
    return least;
}

static void enter_order(Books *k, const CsvStream *s, Account *a, const long *number)
{
    const long to_buy = number[0], pack = number[1], packs = number[2], order = number[3];
    const long from = least_order(k, s), least = to_buy > from ? to_buy : from;
    k->offered = csv_stream_column(s, "supplier") >= 0;
    if (a->ordered && !k->offered)
        verdict_broken(k->e->verdict, PROMISE_ORDERS, "%s:%d: stands there twice", s->name,
                       s->line);
    if (to_buy != a->to_buy && !k->offered) broken_order(k, s, "to_buy", to_buy, a->to_buy);
    if (order != packs * pack) broken_order(k, s, "order", order, packs * pack);
    if (order < least || order - least >= pack)
        verdict_broken(k->e->verdict, PROMISE_ORDERS,
                       "%s:%d: order is %ld, must be %ld in packs of %ld", s->name, s->line, order,
                       least, pack);
    if (k->offered) check_price(k, s, order);
    a->ordered = true;
    a->asked += to_buy;
    a->order += order;
}

static void enter_left(Books *k, const CsvStream *s, Account *a, const long *number)
{
    if (a->shelved)
        verdict_broken(k->e->verdict, PROMISE_ORDERS, "%s:%d: stands there twice", s->name,
                       s->line);
    a->shelved = true;
    a->left = number[0];
    const long left = a->in_stock + a->order - a->to_come;
    if (a->part && a->left != left) broken_order(k, s, "quantity", a->left, left);
}

static const struct Table {
    const char *name;
    const char *column[WHOLES_MOST]; /* whole numbers */
    Enter *enter;
} tables[] = {
    {"parts.csv", {"count", "in_stock", "to_buy"}, enter_part},
    {"order.csv", {"to_buy", "pack", "packs", "order"}, enter_order},
    {"left.csv", {"quantity"}, enter_left},
};
enum { TABLES = sizeof tables / sizeof *tables };

static bool has_order_columns(Books *k, const CsvStream *s, const struct Table *t)
{
    const char *absent = csv_stream_column(s, "colour") < 0 ? "colour"
                         : csv_stream_column(s, "size") < 0 ? "size"
                                                            : NULL;
    for (int i = 0; i < WHOLES_MOST && t->column[i]; i++)
        if (csv_stream_column(s, t->column[i]) < 0) absent = t->column[i];
    if (!absent) return true;
    verdict_broken(k->e->verdict, PROMISE_FIELDS, "%s:1: there is no column %s", t->name, absent);
    return false;
}

static void take_order_line(Books *k, const CsvStream *s, const struct Table *t)
{
    const int colour = csv_stream_column(s, "colour"), size = csv_stream_column(s, "size");
    const long shade = name_table_find(&k->e->shade_index, s->field[colour]);
    const int format = plan_facts_format(k->e, s->field[size]);
    long number[WHOLES_MOST] = {0};
    if (shade < 0) {
        plan_facts_bad_field(k->e, s, colour, "a colour of plan.json");
        return;
    }
    if (format < 0) {
        plan_facts_bad_field(k->e, s, size, "a size");
        return;
    }
    for (int i = 0; i < WHOLES_MOST && t->column[i]; i++) {
        const int field = csv_stream_column(s, t->column[i]);
        const long least = strcmp(t->column[i], "pack") == 0;
        if (field_whole(s->field[field], least, COUNT_MOST, &number[i])) continue;
        plan_facts_bad_field(k->e, s, field, least ? "a whole number from 1" : "a whole number");
        return;
    }
    t->enter(k, s, &k->account[(size_t)shade * FORMATS_MOST + (size_t)format], number);
}

/* *whole_out is false where the table is not there or of other columns. */
static Status read_order_table(Books *k, const struct Table *t, bool *whole_out, Fault *fault)
{
    CsvStream stream;
    *whole_out = false;
    Status status = csv_stream_open(&stream, k->e->folder, t->name, fault);
    if (status == STATUS_NO_INPUT) return STATUS_OK; /* check_files has said so */
    if (status) return status;
    bool more = *whole_out = has_order_columns(k, &stream, t);
    while (more && !(status = csv_stream_next(&stream, &more, fault)) && more)
        take_order_line(k, &stream, t);
    csv_stream_close(&stream);
    return status;
}

/* Says what has no line in order.csv or left.csv but should have one. */
static void check_absent(Books *k)
{
    for (int shade = 0; shade < k->e->shades; shade++)
        for (int format = 0; format < k->e->formats; format++) {
            const Account *a = &k->account[(size_t)shade * FORMATS_MOST + (size_t)format];
            if (a->to_buy && !a->ordered)
                verdict_broken(k->e->verdict, PROMISE_ORDERS,
                               "order.csv: '%s' %s: missing, parts.csv buys %ld",
                               k->e->shade[shade].id, k->e->format[format].name, a->to_buy);
            if (k->offered && a->ordered && a->asked != a->to_buy)
                verdict_broken(k->e->verdict, PROMISE_ORDERS,
                               "order.csv: '%s' %s: bought for %ld, parts.csv buys %ld",
                               k->e->shade[shade].id, k->e->format[format].name, a->asked,
                               a->to_buy);
            const long left = a->in_stock + a->order - a->to_come;
            if (a->part && left != 0 && !a->shelved)
                verdict_broken(k->e->verdict, PROMISE_ORDERS,
                               "left.csv: '%s' %s: missing, must be %ld", k->e->shade[shade].id,
                               k->e->format[format].name, left);
        }
}

Status check_orders(PlanFacts *e, Fault *fault)
{
    const json_t *files = json_object_get(e->plan, "files");
    if (!e->shades || !json_object_get(files, "order.csv") || !json_object_get(files, "left.csv"))
        return STATUS_OK;
    const size_t accounts = (size_t)e->shades * FORMATS_MOST;
    Books books = {e, memory_create(accounts, sizeof(Account)), false};
    if (!books.account) return memory_fault(fault, accounts, sizeof(Account));
    Status status = STATUS_OK;
    bool all = true;
    for (size_t i = 0; i < TABLES && !status; i++) {
        bool whole;
        status = read_order_table(&books, &tables[i], &whole, fault);
        all &= whole;
    }
    if (!status && all) check_absent(&books);
    memory_free(books.account);
    return status;
}
