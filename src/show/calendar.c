/* Days of work are counted from the start, nights, free days and ends of weeks left out, and turned
 * into days of the calendar last. The shortest that any plan can be is the work over the builders,
 * or the longest panel.
 *
 * Source: list scheduling, R. L. Graham, "Bounds for certain multiprocessing anomalies", Bell
 * System Technical Journal 45 (1966). */
#include "show/calendar.h"

#include "base/memory.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum { BUILDERS_MOST = 1000 };

/* An hour that ends a day is of that day. */
#define HOUR_SLACK 1e-9

/* ---- days ---- */

static bool is_worked(const Show *show, Day day)
{
    if (day_of_week(day) >= show->week) return false;
    for (int i = 0; i < show->free_days; i++)
        if (show->free[i] == day) return false;
    return true;
}

/* The day itself or the next one on which somebody works: there is one, since a week has a day of
 * work and free days are a list that ends. */
static Day next_worked(const Show *show, Day day)
{
    while (!is_worked(show, day)) day++;
    return day;
}

/* The day of work that comes `days` after this one. */
static Day after(const Show *show, Day day, long days)
{
    day = next_worked(show, day);
    while (days-- > 0) day = next_worked(show, day + 1);
    return day;
}

static Stretch stretch(const Show *show, Day from, double begin_h, double end_h)
{
    const double day = show->shared.day;
    const long first = (long)floor(begin_h / day + HOUR_SLACK),
               last = (long)ceil(end_h / day - HOUR_SLACK) - 1;
    return (Stretch){after(show, from, first), after(show, from, last > first ? last : first)};
}

/* ---- who builds what ---- */

static double panel_hours(const Planned *p, int panel)
{
    return (double)p->panel[panel].to_build / p->mural->job.pace;
}

static int first_free(const double *free_h, int builders)
{
    int first = 0;
    for (int i = 1; i < builders; i++)
        if (free_h[i] < free_h[first]) first = i;
    return first;
}

static void take_turn(Calendar *c, const Planned *p, const Turn *turn)
{
    MuralDates *m = &c->mural[turn->mural];
    const double hours = panel_hours(p, turn->panel);
    m->begin_h = fmin(m->begin_h, turn->begin_h);
    m->end_h = fmax(m->end_h, turn->end_h);
    c->hours += hours;
    c->bound_h = fmax(c->bound_h, hours);
    c->turn[c->turns++] = *turn;
    if (turn->end_h <= c->makespan_h) return;
    c->makespan_h = turn->end_h;
    c->critical = turn->mural;
}

static void hand_out(Calendar *c, const Planned *planned)
{
    double free_h[BUILDERS_MOST] = {0};
    int making[SHOW_MURALS_MOST];
    const int builders = c->show->shared.builders;
    show_making(c->show, making);
    for (int i = 0; i < c->murals; i++) {
        const Planned *p = &planned[making[i]];
        c->mural[making[i]].begin_h = (double)INFINITY;
        for (int k = 0; k < p->panels; k++) {
            const int builder = first_free(free_h, builders), panel = p->building[k];
            const double begin = free_h[builder];
            free_h[builder] = begin + panel_hours(p, panel);
            const Turn turn = {making[i], panel, builder, begin, free_h[builder]};
            take_turn(c, p, &turn);
        }
    }
    c->bound_h = fmax(c->bound_h, c->hours / builders);
}

/* ---- dates ---- */

/* Murals whose building begins within so many days from the first of them come with one order. */
static Status date_orders(Calendar *c, Fault *fault)
{
    int making[SHOW_MURALS_MOST];
    c->ordered = memory_create((size_t)c->murals, sizeof *c->ordered);
    c->needed = memory_create((size_t)c->murals, sizeof *c->needed);
    if (!c->ordered || !c->needed)
        return memory_fault(fault, (size_t)c->murals, sizeof *c->ordered);
    show_making(c->show, making);
    for (int i = 0; i < c->murals; i++) {
        MuralDates *m = &c->mural[making[i]];
        const Day begins = m->building.first;
        const bool fresh =
            !c->instalments ||
            (c->show->instalment && begins >= c->needed[c->instalments - 1] + c->show->instalment);
        if (fresh) {
            c->needed[c->instalments] = begins;
            c->ordered[c->instalments++] = begins - c->show->lead;
        }
        m->instalment = c->instalments - 1;
    }
    return STATUS_OK;
}

/* Panels at so many a day, from a day on. */
static Stretch at_pace(const Show *show, Day from, int before, int panels)
{
    const int pace = show->shared.hanging;
    return (Stretch){after(show, from, before / pace),
                     after(show, from, (before + panels - 1) / pace)};
}

static Status date_all(Calendar *c, const Planned *planned, Fault *fault)
{
    const Show *show = c->show;
    int hanging[SHOW_MURALS_MOST], hung = 0;
    for (int i = 0; i < c->murals; i++)
        c->mural[i].building = stretch(show, show->start, c->mural[i].begin_h, c->mural[i].end_h);
    const Day built = c->mural[c->critical].building.last;
    c->packing = at_pace(show, built + 1, 0, c->turns);
    c->travel = (Stretch){c->packing.last + 1, c->packing.last + show->travel};
    show_hanging(show, hanging);
    for (int i = 0; i < c->murals; i++) {
        const int panels = planned[hanging[i]].panels;
        c->mural[hanging[i]].hanging = at_pace(show, c->travel.last + 1, hung, panels);
        hung += panels;
    }
    c->hanging = at_pace(show, c->travel.last + 1, 0, hung);
    return date_orders(c, fault);
}

Status calendar_init(Calendar *c, const Show *show, const Planned *planned, Fault *fault)
{
    size_t panels = 0;
    *c = (Calendar){.show = show, .murals = show->count};
    for (int i = 0; i < show->count; i++) panels += (size_t)planned[i].panels;
    c->mural = memory_create((size_t)c->murals, sizeof *c->mural);
    c->turn = memory_create(panels, sizeof *c->turn);
    if (!c->mural || !c->turn) return memory_fault(fault, panels, sizeof *c->turn);
    hand_out(c, planned);
    return show->dated ? date_all(c, planned, fault) : STATUS_OK;
}

void calendar_clear(Calendar *c)
{
    memory_free(c->mural);
    memory_free(c->turn);
    memory_free(c->ordered);
    memory_free(c->needed);
    *c = (Calendar){0};
}
