/* Lines end in CRLF and are folded after 75 octets (RFC 5545, 3.1), never within a character. All
 * events are of whole days, whose end is the day after (3.6.1). UIDs follow from the show's name
 * and from what the event is of, so that a calendar that is read again moves its events; they are
 * UUIDs of version 8 (RFC 9562, 5.8). DTSTAMP is the show's `stamp`, since no clock is read. */
#include "show/calendar_ics.h"

#include "base/digest.h"
#include "base/output_file.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { OCTETS = 75, TEXT = 4000 };

typedef struct Ics {
    FILE *file;
    const Show *show;
    Status status; /* of digests */
    Fault *fault;
} Ics;

static bool continues(char c) { return ((unsigned char)c & 0xc0) == 0x80; }

static void put_line(const Ics *ics, const char *line)
{
    size_t room = OCTETS;
    for (const char *c = line; *c;) {
        size_t length = strlen(c) < room ? strlen(c) : room;
        while (length && c[length] && continues(c[length])) length--;
        fwrite(c, 1, length, ics->file);
        c += length;
        fputs(*c ? "\r\n " : "\r\n", ics->file);
        room = OCTETS - 1; /* the blank that opens a folded line counts */
    }
}

__attribute__((format(printf, 2, 3))) static void put(const Ics *ics, const char *format, ...)
{
    char line[TEXT + 100];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    put_line(ics, line);
}

/* Text with what has a meaning in it marked (RFC 5545, 3.3.11). */
static const char *marked(char out[TEXT], const char *text)
{
    char *to = out;
    for (; *text && to < out + TEXT - 3; text++) {
        if (strchr("\\;,\n", *text)) *to++ = '\\';
        *to++ = *text == '\n' ? 'n' : *text;
    }
    *to = '\0';
    return out;
}

static void put_uid(Ics *ics, const char *kind, const char *of)
{
    char text[3 * SHOW_TEXT], hex[DIGEST_TEXT];
    const int length = snprintf(text, sizeof text, "%s\n%s\n%s", ics->show->name, kind, of);
    if (!ics->status) ics->status = digest_of(text, (size_t)length, hex, ics->fault);
    if (!ics->status)
        put(ics, "UID:%.8s-%.4s-8%.3s-a%.3s-%.12s", hex, hex + 8, hex + 13, hex + 17, hex + 20);
}

static const char *compact(char out[DAY_TEXT], Day day)
{
    char text[DAY_TEXT];
    day_print(day, text);
    snprintf(out, DAY_TEXT, "%.4s%.2s%.2s", text, text + 5, text + 8);
    return out;
}

typedef struct Event {
    const char *kind, *of; /* what its UID follows from */
    Stretch when;
    const char *summary, *description, *place; /* the last two may be "" */
} Event;

static void put_event(Ics *ics, const Event *e)
{
    char text[TEXT], day[DAY_TEXT];
    put_line(ics, "BEGIN:VEVENT");
    put_uid(ics, e->kind, e->of);
    put(ics, "DTSTAMP:%sT000000Z", compact(day, ics->show->stamp));
    put(ics, "DTSTART;VALUE=DATE:%s", compact(day, e->when.first));
    put(ics, "DTEND;VALUE=DATE:%s", compact(day, e->when.last + 1));
    put(ics, "SUMMARY:%s", marked(text, e->summary));
    if (*e->description) put(ics, "DESCRIPTION:%s", marked(text, e->description));
    if (*e->place) put(ics, "LOCATION:%s", marked(text, e->place));
    put(ics, "CATEGORIES:%s", e->kind);
    put_line(ics, "TRANSP:TRANSPARENT");
    put_line(ics, "END:VEVENT");
}

/* "builder 1: r1c1, r1c2", a line for each builder. */
static void list_turns(const Calendar *c, const Planned *planned, int mural, char text[TEXT])
{
    size_t length = 0;
    text[0] = '\0';
    for (int b = 0; b < c->show->shared.builders && length < TEXT - 80; b++) {
        bool any = false;
        for (int i = 0; i < c->turns && length < TEXT - 80; i++) {
            const Turn *t = &c->turn[i];
            if (t->mural != mural || t->builder != b) continue;
            if (!any)
                length += (size_t)snprintf(text + length, TEXT - length,
                                           "%sbuilder %d: ", length ? "\n" : "", b + 1);
            length += (size_t)snprintf(text + length, TEXT - length, "%s%s", any ? ", " : "",
                                       planned[mural].panel[t->panel].name);
            any = true;
        }
    }
}

static void put_mural(Ics *ics, const Calendar *c, const Planned *planned, int mural)
{
    const Planned *p = &planned[mural];
    const MuralDates *m = &c->mural[mural];
    char summary[600], turns[TEXT];
    snprintf(summary, sizeof summary, "Build %s%s", show_mural_title(p->mural),
             mural == c->critical ? " (built last: a day late here is a day late in all)" : "");
    list_turns(c, planned, mural, turns);
    put_event(ics, &(Event){"BUILDING", p->mural->name, m->building, summary, turns, ""});
    snprintf(summary, sizeof summary, "Hang %s: %d panels, %.0f kg", show_mural_title(p->mural),
             p->panels, p->whole_kg);
    put_event(ics, &(Event){"HANGING", p->mural->name, m->hanging, summary, "", p->mural->room});
}

static void put_orders(Ics *ics, const Calendar *c)
{
    for (int i = 0; i < c->instalments; i++) {
        char summary[200], number[20], day[DAY_TEXT];
        day_print(c->needed[i], day);
        snprintf(number, sizeof number, "%d", i + 1);
        snprintf(summary, sizeof summary, "Order bricks, part %d of %d: needed by %s", i + 1,
                 c->instalments, day);
        put_event(ics, &(Event){"ORDER", number, {c->ordered[i], c->ordered[i]}, summary, "", ""});
    }
}

Status calendar_write(const Calendar *c, const Planned *planned, const char *path, Fault *fault)
{
    Ics ics = {.show = c->show, .fault = fault};
    char text[TEXT];
    const Status status = output_file_open(&ics.file, path, fault);
    if (status) return status;
    put_line(&ics, "BEGIN:VCALENDAR");
    put_line(&ics, "VERSION:2.0");
    put_line(&ics, "PRODID:-//rowlock//exhibition//EN");
    put_line(&ics, "CALSCALE:GREGORIAN");
    if (*c->show->name) put(&ics, "X-WR-CALNAME:%s", marked(text, c->show->name));
    put_orders(&ics, c);
    for (int i = 0; i < c->murals; i++) put_mural(&ics, c, planned, i);
    put_event(&ics, &(Event){"PACKING", "all", c->packing, "Pack all crates", "", ""});
    if (c->show->travel)
        put_event(&ics, &(Event){"TRAVEL", "all", c->travel, "Crates on their way", "", ""});
    put_line(&ics, "END:VCALENDAR");
    const Status closed = output_file_close(ics.file, path, fault);
    return ics.status ? ics.status : closed;
}
