/* The files that the program writes, against one list of them: what lies in the folders after every
 * command, README's table, the manual's FILES, and the checks. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/output_list.h"
#include "check/file_checks.h"
#include "support/chance.h"
#include "support/command.h"

#include <dirent.h>
#include <stdbool.h>

/* How many files a folder of the test's room holds. */
static int files_in(const char *folder)
{
    DIR *open = opendir(in_room(folder));
    assert_non_null(open);
    int files = 0;
    for (const struct dirent *entry; (entry = readdir(open));) files += *entry->d_name != '.';
    closedir(open);
    return files;
}

static bool is_in(const char *folder, const char *name)
{
    char path[128];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return access(in_room(path), R_OK) == 0;
}

/* The folder holds the files of these occasions, a set of 1 << OutputWhen, and no others. */
static void assert_holds(const char *folder, unsigned occasions)
{
    int files = 0;
    for (const OutputFile *f = output_list; f < output_list + OUTPUTS; f++) {
        const bool due = occasions >> f->when & 1;
        if (is_in(folder, f->name) != due)
            fail_msg("%s: %s %s", folder, f->name, due ? "is not there" : "is there");
        files += due;
    }
    assert_int_equal(files_in(folder), files);
}

enum {
    ALWAYS = 1 << OUTPUT_ALWAYS,
    RELIEF = 1 << OUTPUT_IN_RELIEF | 1 << OUTPUT_TOUCHED,
    REPLANNED = 1 << OUTPUT_REPLANNED,
    QUOTE = 1 << OUTPUT_WITH_QUOTE,
    BOOK = 1 << OUTPUT_WITH_BOOK,
    PANELS = 1 << OUTPUT_WITH_PANEL_BOOKS,
    KIT = 1 << OUTPUT_WITH_KIT
};

static void each_file_is_written_when_the_list_says(void **state)
{
    (void)state;
    assert_int_equal(
        shell("rowlock plan ref.ppm --columns 12 --out flat && "
              "rowlock plan ref.ppm --columns 12 --book no --quote no --out bare && "
              "rowlock plan ref.ppm --columns 12 --kit 6x6 --out kit && "
              "rowlock plan ref.ppm --columns 12 --relief luminance --out raised && "
              "rowlock plan ref.ppm --columns 12 --panel 6x4 --book panels --out panels && "
              "rowlock replan flat --built 1-2 --out again && "
              "for d in flat bare kit raised again panels; do rowlock check $d || exit; done"),
        0);
    assert_holds("flat", ALWAYS | QUOTE | BOOK);
    assert_holds("bare", ALWAYS);
    assert_holds("kit", ALWAYS | QUOTE | BOOK | KIT);
    assert_holds("raised", ALWAYS | QUOTE | BOOK | RELIEF);
    assert_holds("panels", ALWAYS | QUOTE | BOOK | PANELS);
    assert_holds("again", ALWAYS | QUOTE | BOOK | REPLANNED);
    assert_int_equal(shell("rowlock compare ref.ppm --columns 12 --columns 14 --out compared"), 0);
    assert_holds("compared", 1 << OUTPUT_COMPARED);
    /* pick's FILE is named FILE here, and STEM is the same. */
    assert_int_equal(
        shell("mkdir picked && cd picked && rowlock pick ../ref.ppm --columns 12 "
              "--colours 3 --out FILE && for f in FILE-*; do mv $f STEM-${f#*-}; done"),
        0);
    assert_holds("picked", 1 << OUTPUT_PICKED);
}

/* A picture of cells by chance, PNM. */
static void draw_by_chance(const char *path, int columns, int rows)
{
    uint32_t seed = 5;
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fprintf(file, "P6 %d %d 255\n", columns, rows);
    for (int i = 0; i < columns * rows * 3; i++) putc((int)(chance(&seed) & 255), file);
    assert_int_equal(fclose(file), 0);
}

/* The face with its joints serves as a photograph of the whole. */
static void an_inspection_is_written_when_asked_for(void **state)
{
    (void)state;
    draw_by_chance(in_room("chance.ppm"), 20, 20);
    assert_int_equal(
        shell("rowlock plan chance.ppm --columns 20 --book no --quote no --out chance && "
              "rowlock inspect chance chance/preview.png --panel r1c1 --out seen && "
              "cmp seen/photo.png chance/preview.png && ! grep r1c1 seen/inspection.csv | "
              "grep -v right,"),
        0);
    assert_int_equal(files_in("seen"), OUTPUT_INSPECT_PHOTO - OUTPUT_INSPECT_CSV + 1);
    for (int id = OUTPUT_INSPECT_CSV; id < OUTPUT_INSPECT_PHOTO; id++)
        assert_true(is_in("seen", strrchr(output_list[id].name, '/') + 1));
}

/* Books of panels: the short book has their pages no more, `check` knows each of them, a plan
 * without them takes their place, and what is the user's own in their folder is not lost. */
static void each_panel_has_a_book(void **state)
{
    (void)state;
    assert_int_equal(files_in("panels/book"), 4);
    assert_int_equal(shell("cd panels && for p in r1c1 r1c2 r2c1 r2c2; do "
                           "pdftotext book/$p.pdf - | grep -q \"Panel $p\" || exit; done; "
                           "pdftotext book.pdf - | grep -q 'Pick before' && exit 1; "
                           "grep -q '\"book/r2c2.pdf\"' plan.json"),
                     0);
    assert_int_equal(shell("cp -r panels spoilt && echo >> spoilt/book/r1c2.pdf && "
                           "cp spoilt/book/r1c1.pdf spoilt/book/r9c9.pdf && "
                           "rm spoilt/book/r2c1.pdf; rowlock check spoilt > told"),
                     1);
    assert_int_equal(shell("grep -q 'book/r1c2.pdf: its SHA-256' told && "
                           "grep -q 'book/r9c9.pdf: is there but not listed' told && "
                           "grep -q 'book/r2c1.pdf: listed in plan.json but not there' told"),
                     0);
    assert_int_equal(shell("cp -r panels own && echo mine > own/book/note && "
                           "rowlock plan ref.ppm --columns 12 --book no --out own 2> told"),
                     73);
    assert_int_equal(shell("grep -q \"holds 'book/note'\" told && rm own/book/note && "
                           "rowlock plan ref.ppm --columns 12 --book no --out own && "
                           "[ ! -e own/book ] && rowlock check own"),
                     0);
}

/* A plan's list of files is in the order of the table. */
static void plan_json_lists_them_in_order(void **state)
{
    (void)state;
    char *plan = slurp(in_room("raised/plan.json"), NULL);
    assert_non_null(plan);
    const char *at = strstr(plan, "\"files\"");
    for (int id = OUTPUT_PLAN_JSON + 1; id < OUTPUTS_OF_PLAN; id++) {
        char quoted[64];
        if (!is_in("raised", output_list[id].name)) continue;
        snprintf(quoted, sizeof quoted, "\"%s\"", output_list[id].name);
        assert_non_null(at);
        at = strstr(at, quoted);
        if (!at) fail_msg("%s is not listed, or too early", quoted);
    }
    free(plan);
}

/* Every file has a row of checks, once, and a check in it. */
static void each_file_of_a_plan_is_checked(void **state)
{
    (void)state;
    bool checked[OUTPUTS_OF_PLAN] = {false};
    for (int i = 0; i < OUTPUTS_OF_PLAN; i++) {
        assert_false(checked[file_checks[i].file]);
        checked[file_checks[i].file] = true;
        assert_true(file_checks[i].content || file_checks[i].facts);
    }
    assert_int_equal(file_checks[0].file, OUTPUT_PLAN_JSON);
}

/* Drops a character wherever it stands. */
static void drop(char *text, char dropped)
{
    char *to = text;
    for (; *text; text++)
        if (*text != dropped) *to++ = *text;
    *to = '\0';
}

/* README may order the rows and mark code; else it has the list's words. */
static void readme_has_the_list(void **state)
{
    (void)state;
    static const char head[] = "| file | what it is | when |\n| --- | --- | --- |\n";
    char *readme = slurp("README.md", NULL);
    assert_non_null(readme);
    char *table = strstr(readme, head);
    assert_non_null(table);
    table += sizeof head - 1;
    char *end = strstr(table, "\n\n");
    assert_non_null(end);
    end[1] = '\0';
    drop(table, '`');
    int rows = 0;
    for (const char *c = table; *c; c++) rows += *c == '\n';
    assert_int_equal(rows, OUTPUTS);
    for (const OutputFile *f = output_list; f < output_list + OUTPUTS; f++) {
        char row[300];
        snprintf(row, sizeof row, "| %s | %s | %s |\n", f->name, f->what,
                 output_when_text[f->when]);
        if (!strstr(table, row)) fail_msg("README.md lacks the row %s", row);
    }
    free(readme);
}

/* The manual's lines, without what marks minus signs for the man macros. */
static void manual_has_the_list(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock --manual > manual"), 0);
    char *manual = slurp(in_room("manual"), NULL);
    assert_non_null(manual);
    char *files = strstr(manual, ".SH FILES\n");
    assert_non_null(files);
    *strstr(files, ".SH EXIT") = '\0';
    drop(files, '\\');
    for (char *c = files; *c; c++)
        if (*c == '\n') *c = ' '; /* lines are cut as it suits the page */
    int entries = 0;
    for (const char *c = files; (c = strstr(c, ".TP ")); c++) entries++;
    assert_int_equal(entries, OUTPUTS);
    for (const OutputFile *f = output_list; f < output_list + OUTPUTS; f++) {
        char entry[300];
        snprintf(entry, sizeof entry, ".TP fB%sfR fI(%s)fR %s ", f->name, output_when_text[f->when],
                 f->what);
        if (!strstr(files, entry)) fail_msg("the manual lacks %s", entry);
    }
    free(manual);
}

static int setup(void **state)
{
    if (command_setup(state)) return -1;
    return speckle(in_room("ref.ppm"), 12, 8);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_file_is_written_when_the_list_says),
        cmocka_unit_test(an_inspection_is_written_when_asked_for),
        cmocka_unit_test(each_panel_has_a_book),
        cmocka_unit_test(plan_json_lists_them_in_order),
        cmocka_unit_test(each_file_of_a_plan_is_checked),
        cmocka_unit_test(readme_has_the_list),
        cmocka_unit_test(manual_has_the_list),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
