/* What a client or a builder reads is in one typeface (book/typeface.h), and a character that it
 * lacks is a box on the page. Whoever prints is told before, a line for each text. */
#include "plan/print_notes.h"

#include "book/typeface.h"

#include <string.h>

static void say_lacking(const Voice *voice, const char *what, const char *text)
{
    Sign sign;
    if (!typeface_lacks(text, &sign)) return;
    voice_note(
        voice,
        "%s: '%s' (U+%04X) is not in the typeface of the PDFs, which have a box for it; write "
        "it in Latin, Greek or Cyrillic letters",
        what, sign.text, (unsigned)sign.point);
}

void print_notes_say(const Voice *voice, const Job *job, const Palette *palette, const char *file)
{
    const char *offer = setting_find("client")->group;
    if (!job->quote && !job->book) return;
    say_lacking(voice, "picture", file);
    for (size_t i = 0; i < settings_count; i++) {
        const Setting *s = &settings[i];
        const bool printed = !strcmp(s->group, offer) || !strcmp(s->name, "currency");
        if (s->type == SETTING_TEXT && printed)
            say_lacking(voice, s->name, (const char *)job + s->offset);
    }
    for (int i = 0; palette && i < palette->count; i++)
        say_lacking(voice, palette->colour[i].id, palette->colour[i].name);
}
