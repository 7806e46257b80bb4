/* Calendar ics: calendar.ics, the show's dates for other calendars. Source: RFC 5545. */
#ifndef ROWLOCK_SHOW_CALENDAR_ICS_H
#define ROWLOCK_SHOW_CALENDAR_ICS_H

#include "show/calendar.h"

/* The show has dates. */
Status calendar_write(const Calendar *calendar, const Planned *planned, const char *path,
                      Fault *fault);

#endif
