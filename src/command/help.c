/* Help is plain text, a line or two a setting. */
#include "command/help.h"

#include "base/photo_advice.h"

#include <string.h>

const char help_cautions[] =
    "Bricks are small parts: keep them from children under three. Panels are heavy: lift in "
    "pairs.\n"
    "Fixings, hanging and fire safety are for a licensed person under the local code.";

static void say_own(Command command, FILE *file)
{
    for (const OwnOption *own = about[command].own;
         own < about[command].own + OWN_MOST && own->name; own++) {
        char left[64];
        snprintf(left, sizeof left, "--%s%s%s", own->name, own->value ? " " : "",
                 own->value ? own->value : "");
        fprintf(file, "  %-26s%s\n", left, own->help);
    }
}

/* What is not given to replan is as the earlier plan had it, not at its default. */
static void say_setting(Command command, RowlockSetting s, FILE *file)
{
    const bool fallback = *s.fallback && strcmp(s.fallback, "0") && s.type != ROWLOCK_SWITCH &&
                          command != COMMAND_REPLAN;
    char left[64];
    snprintf(left, sizeof left, "--%s%s%s", s.name, s.value ? " " : "", s.value ? s.value : "");
    if (strlen(left) > 24)
        fprintf(file, "  %s\n  %-26s%s", left, "", s.help);
    else
        fprintf(file, "  %-26s%s", left, s.help);
    if (fallback) fprintf(file, " [%s]", s.fallback);
    putc('\n', file);
}

static bool is_first_of_group(Command command, size_t setting)
{
    for (size_t i = 0; i < setting; i++)
        if (command_takes(command, &known_settings[i]) &&
            known_settings[i].group == known_settings[setting].group)
            return false;
    return true;
}

static void say_settings(Command command, FILE *file)
{
    for (size_t i = 0; i < known_settings_count; i++) {
        if (!command_takes(command, &known_settings[i]) || !is_first_of_group(command, i)) continue;
        fprintf(file, "\n%s:\n", known_settings[i].group);
        for (size_t j = i; j < known_settings_count; j++)
            if (command_takes(command, &known_settings[j]) &&
                known_settings[j].group == known_settings[i].group)
                say_setting(command, command_words(command, &known_settings[j]), file);
    }
    if (command_takes_job(command))
        fprintf(file, "  %-26s%s\n", "--job FILE", "settings from an INI file");
}

/* Sentences in lines of at most so many characters, each after a margin. */
static void say_wrapped(const char *text, int margin, int most, FILE *file)
{
    int at = margin;
    while (*text) {
        const int length = (int)strcspn(text, " ");
        if (at > margin && at + 1 + length > most) {
            fprintf(file, "\n%*s", margin, "");
            at = margin;
        }
        fprintf(file, "%s%.*s", at > margin ? " " : "", length, text);
        at += length + (at > margin);
        text += length + (text[length] == ' ');
    }
    putc('\n', file);
}

static void say_photo_advice(FILE *file)
{
    fputs("\nPhotographs:\n", file);
    for (int i = 0; i < PHOTO_ADVICE; i++) {
        fprintf(file, "  %-8s", photo_advice[i].of);
        say_wrapped(photo_advice[i].text, 10, 90, file);
    }
}

void help_print(Command command, FILE *file)
{
    if (!command) {
        fprintf(file, "rowlock %s: plans murals of rectangular bricks\n\nusage:\n",
                rowlock_version());
        for (int c = 1; c < COMMANDS; c++)
            fprintf(file, "  rowlock %-10s %s\n", about[c].name, about[c].summary);
        fprintf(file, "\n'rowlock help COMMAND' says more, 'rowlock --manual | man -l -' all.\n");
        return;
    }
    const About *a = &about[command];
    fprintf(file, "usage: rowlock %s %s\n\n%s\n%s\n", a->name, a->operands, a->summary, a->more);
    if (a->settings) say_settings(command, file);
    say_own(command, file);
    fprintf(file, "  %-26s%s\n  %-26s%s\n", "-h, --help", "this text", "-V, --version",
            "versions of program, libraries and formats");
    fprintf(file, "\nExamples:\n");
    for (const Example *e = a->example; e < a->example + EXAMPLES_MOST && e->line; e++)
        fprintf(file, "  %s\n      %s\n", e->line, e->what);
    if (a->photographed)
        say_photo_advice(file);
    else if (a->settings)
        fprintf(file, "\n%s\n", help_cautions);
}
