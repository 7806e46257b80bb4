/* Day: a day of the Gregorian calendar as a whole number, so that days are counted by subtraction.
 */
#ifndef ROWLOCK_SHOW_DAY_H
#define ROWLOCK_SHOW_DAY_H

#include <stdbool.h>

/* Days from 1970-01-01. */
typedef long Day;

enum { DAY_TEXT = 16 };

/* "2027-03-31", a day that there is, of the years 1970 to 9999 (ISO 8601-1, 5.2.2, extended). */
bool day_parse(const char *text, Day *day_out);

/* The same back. */
void day_print(Day day, char text_out[DAY_TEXT]);

/* 0 is Monday, 6 Sunday. */
int day_of_week(Day day);

#endif
