/* Show notes: what a run of a show says at its end. */
#ifndef ROWLOCK_SHOW_SHOW_NOTES_H
#define ROWLOCK_SHOW_SHOW_NOTES_H

#include "base/voice.h"
#include "show/show_facts.h"

void show_notes_say(const ShowFacts *facts, const Voice *voice);

#endif
