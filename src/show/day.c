/* Years begin in March here, so that a leap day is the last of its year, and 400 of them are
 * always 146097 days.
 *
 * Source: the rule of leap years of ISO 8601-1, 4.2.1; 1970-01-01 was a Thursday. */
#include "show/day.h"

#include <stdio.h>
#include <string.h>

enum { YEARS = 400, DAYS = 146097, FIRST_YEAR = 1970, LAST_YEAR = 9999, EPOCH = 719468 };

static Day day_of(int year, int month, int day)
{
    const int y = month > 2 ? year : year - 1, m = month > 2 ? month - 3 : month + 9;
    const int era = y / YEARS, of_era = y % YEARS;
    return (Day)era * DAYS + of_era * 365L + of_era / 4 - of_era / 100 + (153 * m + 2) / 5 + day -
           1 - EPOCH;
}

static void civil_of(Day when, int *year, int *month, int *day)
{
    const long n = when + EPOCH, era = n / DAYS, of_era = n % DAYS;
    const long y = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    const long of_year = of_era - (365 * y + y / 4 - y / 100), m = (5 * of_year + 2) / 153;
    *day = (int)(of_year - (153 * m + 2) / 5 + 1);
    *month = (int)(m < 10 ? m + 3 : m - 9);
    *year = (int)(y + era * YEARS + (*month <= 2));
}

bool day_parse(const char *text, Day *day_out)
{
    int year, month, day, end = 0;
    if (strspn(text, "0123456789-") != 10 || text[10] ||
        sscanf(text, "%4d-%2d-%2d%n", &year, &month, &day, &end) != 3 || end != 10 ||
        year < FIRST_YEAR || year > LAST_YEAR || month < 1 || month > 12 || day < 1 || day > 31)
        return false;
    const Day when = day_of(year, month, day);
    char back[DAY_TEXT];
    day_print(when, back);
    if (strcmp(back, text) != 0) return false; /* the 31st of a month that has 30 */
    *day_out = when;
    return true;
}

void day_print(Day when, char text[DAY_TEXT])
{
    int year, month, day;
    civil_of(when, &year, &month, &day);
    snprintf(text, DAY_TEXT, "%04d-%02d-%02d", year % 10000, month % 100, day % 100);
}

int day_of_week(Day day) { return (int)((day % 7 + 7 + 3) % 7); }
