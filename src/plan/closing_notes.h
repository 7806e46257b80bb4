/* Closing notes: what the user should hear once a plan is written. */
#ifndef ROWLOCK_PLAN_CLOSING_NOTES_H
#define ROWLOCK_PLAN_CLOSING_NOTES_H

#include "base/voice.h"
#include "figures/mural.h"

/* What has changed against the earlier plan, how near the least cost it is, where it is weak. */
void closing_notes_say(const Voice *voice, const Mural *mural);

/* The last line of a run: what was planned, and which of its files to open first. */
void closing_notes_end(const Voice *voice, const Mural *mural);

#endif
