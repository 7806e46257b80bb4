/* Days against the C library's timegm (POSIX.1-2024), and a calendar worked out by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "show/calendar_ics.h"
#include "support/scratch.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

static void days_are_those_of_the_c_library(void **state)
{
    (void)state;
    for (Day day = 0; day < 200000; day += 13) {
        const time_t seconds = (time_t)day * 86400;
        struct tm tm;
        char text[DAY_TEXT], want[DAY_TEXT];
        Day back = -1;
        gmtime_r(&seconds, &tm);
        strftime(want, sizeof want, "%Y-%m-%d", &tm);
        day_print(day, text);
        assert_string_equal(text, want);
        assert_true(day_parse(text, &back) && back == day);
        assert_int_equal(day_of_week(day), (tm.tm_wday + 6) % 7);
    }
    static const char *const wrong[] = {"2027-02-29", "2100-02-29", "2027-13-01",  "2027-00-10",
                                        "2027-1-01",  "27-01-01",   "2027-01-01x", "",
                                        "1969-12-31", "2027-04-31", "20270101",    "2027/01/01"};
    Day day;
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        assert_false(day_parse(wrong[i], &day));
    assert_true(day_parse("2028-02-29", &day) && day_parse("2000-02-29", &day));
}

static Show show;
static ShowMural murals[2];
static PlannedPanel panels[2][3];
static int building[3] = {0, 1, 2};
static Planned planned[2];

static Day on(const char *text)
{
    Day day = 0;
    assert_true(day_parse(text, &day));
    return day;
}

/* Two builders of 8 hours a day lay 100 bricks an hour: the panels of one take 16, 8 and 8 hours,
 * those of two 24, 8 and 4. From a Thursday, with the Monday after free. */
static void set_up(void)
{
    static const long bricks[2][3] = {{1600, 800, 800}, {2400, 800, 400}};
    show = (Show){.name = "Ärger; mit, Zeichen",
                  .dated = true,
                  .week = 5,
                  .lead = 14,
                  .travel = 2,
                  .count = 2,
                  .mural = murals,
                  .free_days = 1};
    job_init(&show.shared);
    show.shared.builders = 2;
    show.shared.hanging = 4;
    show.start = show.stamp = on("2027-03-04");
    show.free[0] = on("2027-03-08");
    for (int m = 0; m < 2; m++) {
        murals[m] = (ShowMural){.job = show.shared, .hang = 2 - m};
        strcpy(murals[m].name, m ? "two" : "one");
        strcpy(murals[m].job.title,
               m ? "Eine sehr lange Überschrift, die länger ist als eine Zeile "
                   "eines Kalenders sein darf"
                 : "");
        murals[m].job.pace = 100;
        for (int p = 0; p < 3; p++) panels[m][p].bricks = panels[m][p].to_build = bricks[m][p];
        planned[m] =
            (Planned){.mural = &murals[m], .panels = 3, .panel = panels[m], .building = building};
    }
}

static void work_is_handed_out_and_dated(void **state)
{
    (void)state;
    Calendar c;
    set_up();
    show.instalment = 5;
    assert_int_equal(calendar_init(&c, &show, planned, NULL), 0);
    /* Builder 1: 0-16 (one), 16-40 (two). Builder 2: 0-8, 8-16 (one), 16-24, 24-28 (two). */
    assert_true(c.hours == 68 && c.makespan_h == 40 && c.bound_h == 34);
    assert_int_equal(c.critical, 1);
    assert_true(c.mural[0].begin_h == 0 && c.mural[0].end_h == 16);
    assert_true(c.mural[1].begin_h == 16 && c.mural[1].end_h == 40);
    /* Thursday 4th and Friday 5th; Monday 8th is free; Tuesday 9th to Thursday 11th. */
    assert_true(c.mural[0].building.first == on("2027-03-04"));
    assert_true(c.mural[0].building.last == on("2027-03-05"));
    assert_true(c.mural[1].building.first == on("2027-03-09"));
    assert_true(c.mural[1].building.last == on("2027-03-11"));
    /* Six panels at four a day: Friday 12th and Monday 15th; two days on the way; from Thursday. */
    assert_true(c.packing.first == on("2027-03-12") && c.packing.last == on("2027-03-15"));
    assert_true(c.travel.first == on("2027-03-16") && c.travel.last == on("2027-03-17"));
    assert_true(c.mural[1].hanging.first == on("2027-03-18"));
    assert_true(c.mural[0].hanging.first == on("2027-03-18"));
    assert_true(c.mural[0].hanging.last == on("2027-03-19"));
    /* Two's bricks are needed five days after one's. */
    assert_int_equal(c.instalments, 2);
    assert_true(c.ordered[0] == on("2027-02-18") && c.ordered[1] == on("2027-02-23"));
    calendar_clear(&c);
}

/* One day of work a week, and two hundred of these free: that is nearly four years. */
static void free_days_may_be_years(void **state)
{
    (void)state;
    Calendar c;
    set_up();
    show.week = 1;
    show.start = on("2027-03-01"); /* a Monday */
    show.free_days = SHOW_FREE_MOST;
    for (int i = 0; i < SHOW_FREE_MOST; i++) show.free[i] = show.start + 7 * i;
    assert_int_equal(calendar_init(&c, &show, planned, NULL), 0);
    assert_true(c.mural[0].building.first == on("2027-03-01") + 7 * SHOW_FREE_MOST);
    calendar_clear(&c);
}

/* RFC 5545, 3.1: lines of 75 octets at most, in CRLF, folded within no character; 3.3.11. */
static void lines_are_folded(void **state)
{
    (void)state;
    Calendar c;
    char path[SCRATCH_MOST], bytes[1 << 14] = "";
    set_up();
    assert_true(scratch_file(path));
    assert_int_equal(calendar_init(&c, &show, planned, NULL), 0);
    assert_int_equal(calendar_write(&c, planned, path, NULL), 0);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_true(fread(bytes, 1, sizeof bytes - 1, file) > 0);
    fclose(file);
    remove(path);
    assert_non_null(strstr(bytes, "X-WR-CALNAME:Ärger\\; mit\\, Zeichen\r\n"));
    int events = 0;
    for (const char *line = bytes, *end; *line; line = end + 2) {
        end = strchr(line, '\n') - 1;
        assert_true(*end == '\r' && end - line <= 75);
        assert_true((*line & 0xc0) != 0x80 && (line[1] & 0xc0) != 0x80);
        events += !strncmp(line, "BEGIN:VEVENT", 12);
    }
    assert_int_equal(events, 1 + 2 * 2 + 2);
    calendar_clear(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(days_are_those_of_the_c_library),
        cmocka_unit_test(work_is_handed_out_and_dated),
        cmocka_unit_test(free_days_may_be_years),
        cmocka_unit_test(lines_are_folded),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
