/* Tables, against the list of their columns: each has the columns of the list in their order, and
 * each field is of its column's type and empty only where it may be. The manual tells every column.
 *
 * CSV: RFC 4180. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/table_list.h"
#include "support/command.h"

#include <ctype.h>

static int setup(void **state)
{
    if (command_setup(state)) return -1;
    return speckle(in_room("ref.ppm"), 12, 8);
}

/* The next field, without its quotes; *ends_out: its line ends with it. */
static char *next_field(char **at, bool *ends_out)
{
    char *c = *at, *field = c, *to = c;
    const bool quoted = *c == '"';
    for (c += quoted; *c; *to++ = *c++)
        if (quoted ? *c == '"' && *++c != '"' : *c == ',' || *c == '\r') break;
    *ends_out = *c != ',';
    if (*ends_out) {
        assert_int_equal(c[0], '\r');
        assert_int_equal(c[1], '\n');
    }
    *at = c + 1 + *ends_out;
    *to = 0;
    return field;
}

static bool is_of(const Column *column, const char *field)
{
    if (!*field) return column->empty;
    if (column->type == COLUMN_TEXT) return true;
    field += *field == '-';
    if (!isdigit((unsigned char)*field)) return false;
    field += strspn(field, "0123456789");
    if (column->type == COLUMN_NUMBER && *field == '.')
        field += 1 + strspn(field + 1, "0123456789");
    return !*field;
}

/* With the sets of columns that this one has besides. */
static void holds(const char *path, TableId id, unsigned more)
{
    const Table *table = &table_list[id];
    char *bytes = slurp(in_room(path), NULL), *at = bytes;
    if (!bytes) fail_msg("%s: is not there", path);
    int lines = 0;
    for (; *at; lines++) {
        bool ends = false;
        for (size_t i = 0; i < table->columns; i++) {
            const Column *column = &table->column[i];
            if (column->of && !(column->of & more)) continue;
            if (ends) fail_msg("%s: line %d ends before %s", path, lines + 1, column->name);
            const char *field = next_field(&at, &ends);
            if (lines ? !is_of(column, field) : strcmp(field, column->name) != 0)
                fail_msg("%s:%d: %s: '%s'", path, lines + 1, column->name, field);
        }
        if (!ends) fail_msg("%s:%d: has a column more", path, lines + 1);
    }
    assert_true(lines > 1);
    free(bytes);
}

static void tables_of_plans_are_as_the_list_says(void **state)
{
    (void)state;
    assert_int_equal(
        shell("o='--columns 12 --book no --quote no --quiet'; "
              "printf 'colour,size,quantity,price,pack\\nN1,1x1,5,0.1,10\\n' > shelf.csv && "
              "printf 'size,price,pack,supplier,from\\n1x1,0.1,10,\"a, b\",1\\n1x1,0.08,10,c,200\\n"
              "1x2,0.2,,c,1\\n2x2,0.3,,c,1\\n' > offers.csv && "
              "rowlock plan ref.ppm $o --relief luminance --stock shelf.csv --out raised && "
              "rowlock plan ref.ppm $o --build wall --thickness 2 --out wall; [ $? -lt 2 ] && "
              "rowlock plan ref.ppm $o --bricks offers.csv --out offered && "
              "rowlock replan offered --built 1-2 --book no --quiet --out again"),
        0);
    static const char *const plans[] = {"raised", "wall"};
    for (size_t i = 0; i < sizeof plans / sizeof *plans; i++) {
        static const struct {
            const char *file;
            TableId id;
        } files[] = {{"bricks", TABLE_BRICKS},
                     {"rows", TABLE_ROWS},
                     {"parts", TABLE_PARTS},
                     {"order", TABLE_ORDER},
                     {"panels", TABLE_PANELS}};
        for (size_t k = 0; k < sizeof files / sizeof *files; k++) {
            char path[64];
            snprintf(path, sizeof path, "%s/%s.csv", plans[i], files[k].file);
            holds(path, files[k].id, 0);
        }
    }
    holds("raised/left.csv", TABLE_LEFT, 0);
    holds("offered/order.csv", TABLE_ORDER, COLUMNS_OF_SUPPLIERS);
    holds("again/difference.csv", TABLE_DIFFERENCE, 0);
}

static void tables_of_studies_and_shows_are_as_the_list_says(void **state)
{
    (void)state;
    assert_int_equal(
        shell("rowlock compare ref.ppm --columns 9 --columns 10 --quiet --out compared && "
              "rowlock pick ref.ppm --columns 12 --colours 3 --quiet --out few.cgats"),
        0);
    holds("compared/compare.csv", TABLE_COMPARE, 0);
    holds("few-curve.csv", TABLE_CURVE, 0);
    const char *show = "printf '[show]\\nbook = no\\nstart = 2027-03-01\\ninstalment = 5\\n"
                       "[mural a]\\nreference = ref.ppm\\ncolumns = 12\\n"
                       "[mural b]\\nreference = ref.ppm\\ncolumns = %d\\n' > show.ini && "
                       "rowlock exhibition show.ini --quiet --out show";
    assert_int_equal(shell(show, 9), 0);
    assert_int_equal(shell(show, 10), 0);
    holds("show/parts.csv", TABLE_SHOW_PARTS, 0);
    holds("show/order.csv", TABLE_ORDER, COLUMNS_OF_INSTALMENTS);
    holds("show/crates.csv", TABLE_SHOW_CRATES, 0);
    holds("show/difference.csv", TABLE_SHOW_DIFFERENCE, 0);
}

static void the_manual_tells_every_column(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock --manual=formats > page"), 0);
    char *page = slurp(in_room("page"), NULL), *at = strstr(page, ".SH TABLES");
    for (const Table *t = table_list; t < table_list + TABLES; t++)
        for (size_t i = 0; i < t->columns; i++) {
            char head[64];
            snprintf(head, sizeof head, "\\fB%s\\fR\n%s", t->column[i].name,
                     column_type_name[t->column[i].type]);
            at = at ? strstr(at, head) : NULL;
            if (!at) fail_msg("%s: %s: not in the manual, or too early", t->name, head);
            at++;
        }
    free(page);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tables_of_plans_are_as_the_list_says),
        cmocka_unit_test(tables_of_studies_and_shows_are_as_the_list_says),
        cmocka_unit_test(the_manual_tells_every_column),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
