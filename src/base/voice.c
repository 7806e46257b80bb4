/* The library is silent where the caller has not filled in a voice; texts come out as one line
 * each, without control characters. */
#include "base/voice.h"

#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

void voice_note(const Voice *voice, const char *format, ...)
{
    if (!voice || !voice->note) return;
    char text[600];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    for (char *c = text; *c; c++)
        if ((unsigned char)*c < 0x20 || *c == 0x7f) *c = '?';
    voice->note(voice->self, text);
}

void voice_progress(const Voice *voice, const char *stage, double done)
{
    if (voice && voice->progress) voice->progress(voice->self, stage, done);
}

bool voice_stopped(const Voice *voice)
{
    return voice && voice->stopped && voice->stopped(voice->self);
}
