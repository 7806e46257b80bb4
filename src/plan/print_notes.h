/* Print notes: texts that the PDFs cannot print as they were given. */
#ifndef ROWLOCK_PLAN_PRINT_NOTES_H
#define ROWLOCK_PLAN_PRINT_NOTES_H

#include "base/voice.h"
#include "model/job.h"
#include "model/palette.h"

/* palette: its names are printed too; NULL: none. file: the picture's name. */
void print_notes_say(const Voice *voice, const Job *job, const Palette *palette, const char *file);

#endif
