/* Voice: how the library speaks while it works, and how it is told to stop.
 * The command fills it in; a NULL member is silence. */
#ifndef ROWLOCK_BASE_VOICE_H
#define ROWLOCK_BASE_VOICE_H

#include <stdbool.h>

typedef struct Voice {
    void *self;
    /* One line that the user should read: an assumption, a column left out. */
    void (*note)(void *self, const char *text);
    /* A stage's name and how much of it is done, 0 to 1. */
    void (*progress)(void *self, const char *stage, double done);
    /* True once the user wants out; long loops ask between rows. Any thread. */
    bool (*stopped)(void *self);
} Voice;

/* All three accept a NULL voice. */
void voice_note(const Voice *voice, const char *format, ...) __attribute__((format(printf, 2, 3)));
void voice_progress(const Voice *voice, const char *stage, double done);
bool voice_stopped(const Voice *voice);

#endif
