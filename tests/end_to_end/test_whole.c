/* Conservation: whatever a plan says in several places it says alike. Each cell lies under
 * one brick, and bricks.csv, rows.csv, parts.csv, panels.csv, plan.json and the text of
 * book.pdf (by poppler's pdftotext) count the same bricks. On both open pictures and on
 * random cells. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/csv.h"
#include "support/chance.h"
#include "support/command.h"

#include <png.h>

static Csv *take(const char *name)
{
    Csv *csv = NULL;
    Fault fault;
    if (csv_read(&csv, in_room(name), &fault)) fail_msg("%s", fault.text);
    return csv;
}

static long whole(const Csv *csv, size_t row, const char *column)
{
    const int c = csv_column(csv, column);
    if (c < 0) fail_msg("%s: no column %s", csv_place(csv), column);
    return strtol(csv_field(csv, row, c), NULL, 10);
}

static long sum(const Csv *csv, const char *column)
{
    long total = 0;
    for (size_t row = 0; row < csv_rows(csv); row++) total += whole(csv, row, column);
    return total;
}

static int same(const Csv *a, size_t row_a, const Csv *b, size_t row_b, const char *column)
{
    return !strcmp(csv_field(a, row_a, csv_column(a, column)),
                   csv_field(b, row_b, csv_column(b, column)));
}

/* Every cell of a flat plaque under exactly one brick. */
static void cells_are_covered_once(const Csv *bricks, long columns, long rows)
{
    char *seen = calloc((size_t)(columns * rows), 1);
    for (size_t i = 0; i < csv_rows(bricks); i++)
        for (long r = 0; r < whole(bricks, i, "rows"); r++)
            for (long c = 0; c < whole(bricks, i, "columns"); c++) {
                const long column = whole(bricks, i, "column") - 1 + c;
                const long row = whole(bricks, i, "row") - 1 + r;
                assert_true(column >= 0 && column < columns && row >= 0 && row < rows);
                assert_int_equal(seen[row * columns + column]++, 0);
            }
    for (long i = 0; i < columns * rows; i++) assert_int_equal(seen[i], 1);
    free(seen);
}

static void parts_are_the_bricks(const Csv *bricks, const Csv *parts)
{
    for (size_t p = 0; p < csv_rows(parts); p++) {
        long count = 0;
        for (size_t b = 0; b < csv_rows(bricks); b++)
            count += same(bricks, b, parts, p, "colour") && same(bricks, b, parts, p, "size");
        assert_int_equal(count, whole(parts, p, "count"));
    }
    assert_int_equal(sum(parts, "count"), csv_rows(bricks));
}

static void rows_are_the_bricks(const Csv *bricks, const Csv *rows)
{
    assert_int_equal(csv_rows(rows), csv_rows(bricks));
    for (size_t i = 0; i < csv_rows(rows); i++) {
        static const char *const columns[] = {"panel", "row", "tier", "column", "size", "colour"};
        for (size_t c = 0; c < sizeof columns / sizeof *columns; c++)
            assert_true(same(rows, i, bricks, i, columns[c]));
        const int follows = i && same(rows, i, rows, i - 1, "panel") &&
                            same(rows, i, rows, i - 1, "row") && same(rows, i, rows, i - 1, "tier");
        assert_int_equal(whole(rows, i, "nth"), follows ? whole(rows, i - 1, "nth") + 1 : 1);
    }
}

/* Each row's list ends "N bricks  M cells": M is a panel's width, all N are the bricks. */
static void the_books_rows_are_the_bricks(const Csv *bricks, const Csv *panels)
{
    assert_int_equal(shell("pdftotext -layout o/book.pdf text"), 0);
    char *text = slurp(in_room("text"), NULL);
    assert_non_null(text);
    long count = 0, lists = 0;
    /* The worked row on the page that explains charts is the mural's own, said twice. */
    const char *from = strstr(text, "Panels and their order");
    assert_non_null(from);
    for (const char *end = from; (end = strstr(end, " cells\n")) != NULL; end++) {
        const char *line = end;
        while (line > from && line[-1] != '\n') line--;
        const char *word = strstr(line, " brick");
        if (!word || word > end) continue;
        const char *digits = word;
        while (digits > line && digits[-1] >= '0' && digits[-1] <= '9') digits--;
        if (digits == word) continue;
        const char *width = end;
        while (width[-1] >= '0' && width[-1] <= '9') width--;
        int found = 0;
        for (size_t p = 0; p < csv_rows(panels); p++)
            found |= whole(panels, p, "columns") == strtol(width, NULL, 10);
        assert_true(found);
        count += strtol(digits, NULL, 10);
        lists++;
    }
    assert_int_equal(count, csv_rows(bricks));
    long rows = 0;
    for (size_t p = 0; p < csv_rows(panels); p++) rows += whole(panels, p, "rows");
    assert_int_equal(lists, rows);
    free(text);
}

static void everything_agrees(long columns, long rows)
{
    Csv *bricks = take("o/bricks.csv"), *lists = take("o/rows.csv"), *parts = take("o/parts.csv"),
        *panels = take("o/panels.csv");
    cells_are_covered_once(bricks, columns, rows);
    rows_are_the_bricks(bricks, lists);
    parts_are_the_bricks(bricks, parts);
    assert_int_equal(sum(panels, "bricks"), csv_rows(bricks));
    the_books_rows_are_the_bricks(bricks, panels);
    assert_int_equal(
        shell("grep -q '\"bricks\": %zu,' o/plan.json && rowlock check o", csv_rows(bricks)), 0);
    csv_free(bricks);
    csv_free(lists);
    csv_free(parts);
    csv_free(panels);
}

static char pictures[PATH_MAX];

static void the_open_pictures(void **state)
{
    (void)state;
    assert_int_equal(
        shell("rowlock plan %s/astronaut.png --columns 60 --lists yes --out o", pictures), 0);
    everything_agrees(60, 60);
    assert_int_equal(shell("rowlock plan %s/coffee.png --columns 75 --panel 30x21 --dither none "
                           "--lists yes --out o",
                           pictures),
                     0);
    everything_agrees(75, 50);
}

/* Cells in no order at all, of a few colours or of many. */
static void random_cells(void **state)
{
    (void)state;
    uint32_t seed = 7;
    for (int round = 0; round < 3; round++) {
        const int columns = 20 + round * 17, rows = 33 - round * 9, colours = 2 << (2 * round);
        assert_int_equal(shell("rowlock plan %s/coffee.png --columns %d --rows %d --out c",
                               pictures, columns, rows),
                         0);
        /* cells.png of that plan lends its palette. */
        png_image image = {.version = PNG_IMAGE_VERSION};
        assert_true(png_image_begin_read_from_file(&image, in_room("c/cells.png")));
        image.format = PNG_FORMAT_RGB_COLORMAP;
        png_byte map[3 * 256];
        png_byte *pixel = malloc(PNG_IMAGE_SIZE(image));
        assert_true(png_image_finish_read(&image, NULL, pixel, 0, map));
        for (int i = 0; i < columns * rows; i++) {
            pixel[i] =
                (png_byte)((chance(&seed) >> 8) % (uint32_t)(colours < (int)image.colormap_entries
                                                                 ? colours
                                                                 : (int)image.colormap_entries));
        }
        assert_true(png_image_write_to_file(&image, in_room("r.png"), 0, pixel, 0, map));
        free(pixel);
        assert_int_equal(
            shell("rowlock plan %s/coffee.png --cells r.png --lists yes --out o", pictures), 0);
        everything_agrees(columns, rows);
    }
}

static int setup(void **state)
{
    return realpath("tests/data/pictures", pictures) ? command_setup(state) : -1;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_open_pictures),
        cmocka_unit_test(random_cells),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
