/* Clock: seconds that run on, whatever the time of day is set to. */
#ifndef ROWLOCK_BASE_CLOCK_H
#define ROWLOCK_BASE_CLOCK_H

/* From an instant that stays the same while the machine is up. */
double clock_seconds(void);

#endif
