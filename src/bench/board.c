/* Pages are told what is laid, not what happened: where two devices say different things, the state
 * here is the only judge. */
#include "bench/board.h"

#include "base/json_file.h"
#include "base/memory.h"

#include <time.h>

static double wall_clock(void)
{
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

Status board_open(Board *b, const char *const *folder, int folders, const Voice *voice,
                  Fault *fault)
{
    *b = (Board){.now = wall_clock};
    if (folders > PLANS_MOST)
        return fault_set(fault, STATUS_USAGE, "bench: more than %d plans; serve some apart",
                         PLANS_MOST);
    for (int i = 0; i < folders; i++) {
        char kept[64];
        const int k = b->plans++;
        Status status = work_plan_read(&b->plan[k], folder[i], fault);
        if (!status) status = tally_open(&b->tally[k], &b->plan[k], kept, fault);
        if (status) return status;
        if (*kept)
            voice_note(voice,
                       "%.300s: what was laid of the plan that was here before is kept in %s",
                       b->plan[k].folder, kept);
    }
    return looker_create(&b->looker, fault);
}

void board_close(Board *b)
{
    looker_free(b->looker);
    b->looker = NULL;
    for (int i = 0; i < b->plans; i++) {
        tally_close(b->tally[i]);
        work_plan_clear(&b->plan[i]);
    }
    b->plans = 0;
}

unsigned long board_serial(const Board *b)
{
    unsigned long sum = 0;
    for (int i = 0; i < b->plans; i++) sum += tally_stirred(b->tally[i]);
    return sum;
}

void board_commit(Board *b)
{
    for (int i = 0; i < b->plans; i++) tally_commit(b->tally[i]);
}

/* ---- telling ---- */

static json_t *tell_holders(Making *m, const WorkState *s)
{
    json_t *all = json_object();
    for (int i = 0; i < s->plan->panels; i++)
        if (s->holder[i] >= 0)
            json_set(m, all, s->plan->panel[i].name, json_string(s->device[s->holder[i]].id));
    return all;
}

static json_t *tell_devices(Making *m, const WorkState *s)
{
    json_t *all = json_object();
    for (size_t i = 0; i < s->devices; i++)
        json_set(m, all, s->device[i].id,
                 json_pack("{s:o, s:f}", "name", json_text(work_state_name(s, (int)i)), "marked",
                           s->device[i].marked));
    return all;
}

static json_t *tell_shares(Making *m, const WorkState *s)
{
    json_t *list = json_array();
    for (size_t i = 0; i < s->shares; i++)
        json_append(m, list,
                    json_pack("{s:s, s:s, s:I, s:f}", "device", s->device[s->share[i].device].id,
                              "panel", s->plan->panel[s->share[i].panel].name, "bricks",
                              (json_int_t)s->share[i].bricks, "hours", s->share[i].seconds / 3600));
    return list;
}

static json_t *tell_shortages(Making *m, const WorkState *s)
{
    json_t *list = json_array();
    for (size_t i = 0; i < s->shortages; i++) {
        const Shortage *one = &s->shortage[i];
        json_append(m, list,
                    json_pack("{s:s, s:I, s:s, s:f, s:b, s:o}", "device", s->device[one->device].id,
                              "number", (json_int_t)one->number, "panel",
                              one->panel < 0 ? "" : s->plan->panel[one->panel].name, "at", one->at,
                              "found", one->found, "text", json_text(one->text)));
    }
    return list;
}

static json_t *tell_panels(Making *m, const WorkState *s, long serial)
{
    json_t *panels = json_object();
    for (int i = 0; i < s->plan->panels; i++) {
        if (s->changed[i] <= serial) continue;
        char *runs = work_state_runs(s, i);
        json_set(m, panels, s->plan->panel[i].name, runs ? json_string(runs) : NULL);
        memory_free(runs);
    }
    return panels;
}

json_t *board_tell(const Board *b, int plan, long serial)
{
    Making m = {0};
    const WorkPlan *p = &b->plan[plan];
    const WorkState *s = tally_state(b->tally[plan]);
    const double now = b->now();
    json_t *all =
        json_pack("{s:o, s:s, s:I, s:f, s:i, s:i, s:f, s:f}", "name", json_text(p->name), "bench",
                  tally_id(b->tally[plan]), "serial", (json_int_t)tally_serial(b->tally[plan]),
                  "now", now, "bricks", p->bricks, "laid", s->total, "pace", work_state_pace(s),
                  "end", work_state_end(s, now));
    json_set(&m, all, "holders", tell_holders(&m, s));
    json_set(&m, all, "devices", tell_devices(&m, s));
    json_set(&m, all, "shares", tell_shares(&m, s));
    json_set(&m, all, "shortages", tell_shortages(&m, s));
    json_set(&m, all, "panels", tell_panels(&m, s, serial));
    if (!m.failed) return all;
    json_decref(all);
    return NULL;
}
