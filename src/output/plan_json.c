/* plan.json says everything that the other files cannot say by themselves: what the plan was made
 * from and with, what it measures, which files belong to it, by their digests. A plan can be made
 * again from it, and be checked against it.
 *
 * Keys stay in the order in which they are set, numbers have twelve digits, places count from 1; a
 * key that does not apply is left out. Source: JSON, RFC 8259. */
#include "output/plan_json.h"

#include "base/file_format.h"
#include "figures/hold_report.h"
#include "figures/relief_losses.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Places that lost of their relief, and are listed: so many by mass and so many by lost look. */
enum { PLACES_LISTED = 10 };

static json_t *reference(Making *k, const Reference *r)
{
    json_t *o = json_object();
    json_set(k, o, "file", json_text(r->file));
    json_set(k, o, "sha256", json_text(r->sha256));
    json_set(k, o, "width", json_integer(r->width));
    json_set(k, o, "height", json_integer(r->height));
    json_set(k, o, "profile", json_text(r->profile));
    return o;
}

static json_t *echo(Making *k, const Job *job)
{
    json_t *o = json_object();
    for (size_t i = 0; i < settings_count; i++) {
        const Setting *s = &settings[i];
        if (!s->echoed) continue;
        char value[JOB_TEXT + 64];
        job_show(job, s, value, sizeof value);
        if (s->rival && !strcmp(value, s->type == SETTING_LENGTH ? "0mm" : "0")) continue;
        json_set(k, o, s->name, s->type == SETTING_FILE ? json_path(value) : json_text(value));
    }
    return o;
}

/* The palette's first `offered` colours can be had. The others are only in bricks that stand, and
 * are marked so. */
static json_t *colours(Making *k, const Palette *palette, int offered)
{
    json_t *list = json_array();
    for (int i = 0; i < palette->count; i++) {
        const Colour *c = &palette->colour[i];
        char hex[8];
        snprintf(hex, sizeof hex, "#%02x%02x%02x", c->srgb[0], c->srgb[1], c->srgb[2]);
        json_t *o = json_object(), *lab = json_array();
        json_append(k, lab, json_real(c->lab.L));
        json_append(k, lab, json_real(c->lab.a));
        json_append(k, lab, json_real(c->lab.b));
        json_set(k, o, "id", json_text(c->id));
        json_set(k, o, "name", json_text(c->name));
        json_set(k, o, "lab", lab);
        json_set(k, o, "hex", json_text(hex));
        if (c->stdev_de > 0) json_set(k, o, "stdev_de", json_real(c->stdev_de));
        if (i >= offered) json_set(k, o, "standing", json_true());
        json_append(k, list, o);
    }
    return list;
}

static json_t *measures(Making *k, const Mural *m)
{
    const Measures *v = &m->measures;
    json_t *o = json_object();
    json_set(k, o, "cells", json_integer((json_int_t)m->grid->columns * m->grid->rows));
    json_set(k, o, "bricks", json_integer((json_int_t)m->laid->count));
    json_set(k, o, "bricks_lower_bound", json_real(m->lower_bound));
    if (v->laying_cost > 0) {
        json_set(k, o, "laying_cost", json_real(v->laying_cost));
        json_set(k, o, "laying_cost_lower_bound", json_real(m->lower_cost));
    }
    json_set(k, o, "mean_de00", json_real(v->mean_de00));
    json_set(k, o, "p95_de00", json_real(v->p95_de00));
    json_set(k, o, "max_de00", json_real(v->max_de00));
    json_set(k, o, "perceived_de00", json_real(v->perceived.mean));
    json_set(k, o, "perceived_p95_de00", json_real(v->perceived.p95));
    json_set(k, o, "perceived_half_distance_de00", json_real(v->near.mean));
    json_set(k, o, "perceived_half_distance_p95_de00", json_real(v->near.p95));
    json_set(k, o, "perceived_twice_distance_de00", json_real(v->far.mean));
    json_set(k, o, "perceived_twice_distance_p95_de00", json_real(v->far.p95));
    json_set(k, o, "perceived_fitted_de00", json_real(v->fitted.mean));
    json_set(k, o, "perceived_fitted_p95_de00", json_real(v->fitted.p95));
    for (int i = 0; i < UNREST_CELLS; i++) {
        char key[24];
        snprintf(key, sizeof key, "unrest_%d", i + 1);
        json_set(k, o, key, json_real(v->unrest[i]));
    }
    json_set(k, o, "mass_kg", json_real(v->mass_kg));
    json_set(k, o, "whole_kg", json_real(v->whole_kg));
    json_set(k, o, "price", json_real(v->price));
    json_set(k, o, "hours", json_real(v->hours));
    json_set(k, o, "longest_straight_joint", json_integer(v->longest_straight_joint));
    json_set(k, o, "quarter_lap", json_real(v->quarter_lap));
    json_set(k, o, "pieces", json_integer(v->pieces));
    json_set(k, o, "unsupported", json_integer(v->unsupported));
    json_set(k, o, "weak", json_integer(v->weak));
    json_set(k, o, "use_hanging", json_real(v->use_hanging));
    json_set(k, o, "use_most", json_real(v->use_most));
    json_set(k, o, "coming_apart", json_integer(v->coming_apart));
    if (isfinite(v->least_hold_n)) {
        json_set(k, o, "least_hold_n", json_real(v->least_hold_n));
        json_set(k, o, "held_slightly", json_integer(v->held_slightly));
        json_set(k, o, "held_feebly", json_integer(v->held_feebly));
    }
    return o;
}

static void add_known(Making *k, json_t *o, const char *name, double value)
{
    if (isfinite(value)) json_set(k, o, name, json_real(value));
}

static void add_holds(Making *k, json_t *o, const Mural *m, int panel)
{
    char place[120];
    const PanelUses use = hold_uses(m->holds, panel);
    const WeakJoint *weakest = hold_weakest(m->holds, panel);
    add_known(k, o, "use_hanging", use.hanging);
    add_known(k, o, "use_carried", use.carried);
    add_known(k, o, "use_crate", use.crate);
    add_known(k, o, "least_hold_n", m->holds->panel[panel].least_hold_n);
    if (!weakest) return;
    hold_place_text(m, weakest, place, sizeof place);
    json_set(k, o, "weakest_joint", json_text(place));
}

static void add_carrying(Making *k, json_t *o, const Mural *m, int panel)
{
    char text[400];
    for (int i = 0; i < HOLD_TOLD; i++)
        add_known(k, o, hold_told[i].name, hold_told_use(m->holds, panel, &hold_told[i]));
    if (m->solid.build != BUILD_WALL) return;
    hold_carry_text(m, panel, text, sizeof text);
    json_set(k, o, "hold_at", json_text(text));
    json_set(k, o, "thickness", json_integer(m->solid.base));
    json_set(k, o, "headers", json_integer(m->load[panel].headers));
    json_set(k, o, "bare_courses", json_integer(m->load[panel].bare_courses));
}

static json_t *panels(Making *k, const Mural *m)
{
    json_t *list = json_array();
    for (int i = 0; i < m->panels->count; i++) {
        const Panel *p = &m->panels->panel[i];
        json_t *o = json_object();
        json_set(k, o, "name", json_text(p->name));
        json_set(k, o, "column", json_integer(p->column + 1));
        json_set(k, o, "row", json_integer(p->row + 1));
        json_set(k, o, "columns", json_integer(p->columns));
        json_set(k, o, "rows", json_integer(p->rows));
        json_set(k, o, "width_mm", json_real(p->columns * m->cell_width_mm));
        json_set(k, o, "height_mm", json_real(p->rows * m->cell_height_mm));
        json_set(k, o, "depth_mm", json_real(m->load[i].depth * m->step_mm));
        json_set(k, o, "bricks", json_integer((json_int_t)m->load[i].bricks));
        json_set(k, o, "mass_kg", json_real(m->load[i].mass_g / 1000));
        json_set(k, o, "whole_kg", json_real(m->load[i].whole_kg));
        json_set(k, o, "whole_depth_mm", json_real(m->load[i].whole_depth_mm));
        const PanelStatics *s = &m->load[i].statics;
        json_set(k, o, "centre_x_mm", json_real(s->centre_mm[0]));
        json_set(k, o, "centre_y_mm", json_real(s->centre_mm[1]));
        json_set(k, o, "centre_z_mm", json_real(s->centre_mm[2]));
        json_set(k, o, "hanging_moment_nm", json_real(s->hanging_nm));
        json_set(k, o, "tipping_moment_nm", json_real(s->tipping_nm));
        json_set(k, o, "fixing_load_n", json_real(s->fixing_n));
        add_holds(k, o, m, i);
        add_carrying(k, o, m, i);
        json_append(k, list, o);
    }
    return list;
}

static json_t *mounting(Making *k, const Mounting *mounting)
{
    json_t *o = json_object();
    json_set(k, o, "sheet_kg_m2", json_real(mounting->sheet_kg_m2));
    json_set(k, o, "sheet_mm", json_real(mounting->sheet_mm));
    json_set(k, o, "board_kg_m2", json_real(mounting->board_kg_m2));
    json_set(k, o, "board_mm", json_real(mounting->board_mm));
    json_set(k, o, "frame_kg_m", json_real(mounting->frame_kg_m));
    json_set(k, o, "frame_mm", json_real(mounting->frame_mm));
    json_set(k, o, "fixings_kg", json_real(mounting->fixings_kg));
    return o;
}

static json_t *flaws(Making *k, const Mural *m)
{
    static const char *const kind[] = {[FLAW_PIECE] = "piece",
                                       [FLAW_UNSUPPORTED] = "unsupported",
                                       [FLAW_STRAIGHT_JOINT] = "straight joint",
                                       [FLAW_WEAK] = "weak"};
    json_t *list = json_array();
    for (size_t i = 0; i < m->bond->flaws; i++) {
        const Flaw *f = &m->bond->flaw[i];
        char said[400];
        flaw_text(f, &m->solid, m->panels, said, sizeof said);
        json_t *o = json_object();
        json_set(k, o, "kind", json_text(kind[f->kind]));
        json_set(k, o, "panel", json_text(m->panels->panel[f->panel].name));
        json_set(k, o, "column", json_integer(f->column + 1));
        json_set(k, o, "row", json_integer(f->row + 1));
        json_set(k, o, "tier", json_integer(f->tier + 1));
        json_set(k, o, "length", json_integer(f->length));
        if (f->kind == FLAW_WEAK) json_set(k, o, "lost_units", json_integer(f->lost));
        json_set(k, o, "text", json_text(said));
        json_append(k, list, o);
    }
    return list;
}

/* Bricks that a touch of what the job asks may take off. */
static json_t *slight_holds(Making *k, const Mural *m)
{
    json_t *list = json_array();
    for (size_t i = 0; i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        const double hold = (double)m->holds->touch_n[i];
        if (!(hold < m->job->touch)) continue;
        json_t *o = json_object();
        json_set(k, o, "panel", json_text(m->panels->panel[b->panel].name));
        json_set(k, o, "column", json_integer(b->column + 1));
        json_set(k, o, "row", json_integer(b->row + 1));
        json_set(k, o, "tier", json_integer(b->tier + 1));
        json_set(k, o, "hold_n", json_real(hold));
        json_append(k, list, o);
    }
    return list;
}

/* What stood when the mural was planned anew. */
static json_t *built(Making *k, const Mural *m)
{
    json_t *o = json_object();
    json_set(k, o, "list", json_text(m->job->built));
    json_set(k, o, "bricks", json_integer((json_int_t)m->standing->count));
    return o;
}

/* Cells that stand lower than asked, or higher. */
static json_t *changes(Making *k, const StepChanges *step_changes, bool lowered)
{
    json_t *list = json_array();
    for (size_t i = 0; step_changes && i < step_changes->count; i++) {
        const StepChange *c = &step_changes->change[i];
        if ((c->to < c->from) != lowered) continue;
        json_t *o = json_object();
        json_set(k, o, "column", json_integer(c->column + 1));
        json_set(k, o, "row", json_integer(c->row + 1));
        json_set(k, o, "from", json_integer(c->from));
        json_set(k, o, "to", json_integer(c->to));
        json_append(k, list, o);
    }
    return list;
}

/* A layer's losses, or a place's. */
static json_t *loss(Making *k, const Mural *m, const ReliefLoss *l)
{
    char name[LAYER_NAME + 16], why[200];
    json_t *o = json_object();
    relief_loss_name(m, l, name, sizeof name);
    relief_loss_reason(l, why, sizeof why);
    json_set(k, o, "of", json_text(name));
    json_set(k, o, "column", json_integer(l->column + 1));
    json_set(k, o, "row", json_integer(l->row + 1));
    json_set(k, o, "places", json_integer(l->places));
    json_set(k, o, "cells", json_integer((json_int_t)l->cells));
    json_set(k, o, "steps", json_integer(l->steps));
    json_set(k, o, "mass_g", json_real(l->mass_g));
    json_set(k, o, "lost_look", json_real(l->look));
    json_set(k, o, "by_mass", json_integer(l->by_mass));
    json_set(k, o, "by_lost_look", json_integer(l->by_look));
    json_set(k, o, "why", json_text(why));
    return o;
}

/* By layers, and the places that lead by mass or by lost look. */
static json_t *losses(Making *k, const Mural *m)
{
    json_t *o = json_object(), *layers = json_array(), *places = json_array();
    const ReliefLosses *l = m->losses;
    for (int i = 0; i < l->layers; i++) json_append(k, layers, loss(k, m, &l->layer[i]));
    for (size_t i = 0; i < l->places; i++)
        if (relief_loss_leads(&l->place[i], PLACES_LISTED))
            json_append(k, places, loss(k, m, &l->place[i]));
    json_set(k, o, "layers", layers);
    json_set(k, o, "places", places);
    return o;
}

static json_t *hollow(Making *k, const Saving *saving)
{
    json_t *o = json_object();
    json_set(k, o, "shell", json_integer(saving->shell));
    json_set(k, o, "units", json_integer((json_int_t)saving->units));
    json_set(k, o, "bricks_saved", json_integer(saving->bricks));
    json_set(k, o, "mass_saved_kg", json_real(saving->mass_kg));
    return o;
}

static json_t *barred(Making *k, const Barred *barred, const Palette *palette)
{
    json_t *list = json_array();
    for (int c = 0; c < palette->count; c++)
        if (barred->colour[c]) json_append(k, list, json_text(palette->colour[c].id));
    return list;
}

static json_t *regions(Making *k, const RegionList *list, const Palette *palette)
{
    json_t *array = json_array();
    for (int i = REGION_NONE + 1; i < list->count; i++) {
        const Region *r = &list->region[i];
        json_t *o = json_object();
        json_set(k, o, "name", json_text(r->name));
        json_set(k, o, "index", json_integer(r->index));
        json_set(k, o, "care", json_real(r->care));
        json_set(k, o, "calm", json_real(r->calm));
        json_set(k, o, "thrift", json_real(r->thrift));
        json_set(k, o, "without", barred(k, &list->barred[i], palette));
        json_append(k, array, o);
    }
    return array;
}

static json_t *missing(Making *k, const MissingColour *m)
{
    json_t *o = json_object(), *lab = json_array(), *addition = json_array();
    const double colour[] = {m->colour.L, m->colour.a, m->colour.b};
    const double mend[] = {m->addition.L, m->addition.a, m->addition.b};
    for (int i = 0; i < 3; i++) {
        json_append(k, lab, json_real(colour[i]));
        json_append(k, addition, json_real(mend[i]));
    }
    json_set(k, o, "share", json_real(m->share));
    json_set(k, o, "lab", lab);
    json_set(k, o, "addition", addition);
    json_set(k, o, "gain", json_real(m->gain));
    return o;
}

/* How the thickness was found. */
static json_t *thickness(Making *k, const ThicknessTrials *t)
{
    json_t *o = json_object(), *use = json_array();
    for (int i = 0; i < t->count; i++) json_append(k, use, json_real(t->use[i]));
    json_set(k, o, "found", json_integer(t->found));
    json_set(k, o, "safe", json_boolean(t->safe));
    json_set(k, o, "whole", json_boolean(t->whole));
    json_set(k, o, "use", use);
    return o;
}

json_t *plan_json_document(Making *k, const Mural *m, const PlanFile *files, size_t count)
{
    json_t *o = json_object(), *cell = json_array(), *list = json_object(),
           *cautions = json_array();
    json_append(k, cell, json_real(m->cell_width_mm));
    json_append(k, cell, json_real(m->cell_height_mm));
    for (size_t i = 0; i < count; i++) json_set(k, list, files[i].name, json_text(files[i].sha256));
    for (int i = 0; i < m->cautions; i++) json_append(k, cautions, json_text(m->caution[i]));
    file_format_set(k, o, FORMAT_PLAN);
    json_set(k, o, "build", json_text(m->solid.build == BUILD_WALL ? "wall" : "plaque"));
    json_set(k, o, "columns", json_integer(m->grid->columns));
    json_set(k, o, "rows", json_integer(m->grid->rows));
    json_set(k, o, "base", json_integer(m->solid.base));
    json_set(k, o, "cell_mm", cell);
    json_set(k, o, "step_mm", json_real(m->step_mm));
    json_set(k, o, "reference", reference(k, m->reference));
    json_set(k, o, "settings", echo(k, m->job));
    if (m->standing) json_set(k, o, "built", built(k, m));
    json_set(k, o, "colours", colours(k, m->palette, m->offered));
    if (m->regions.label) json_set(k, o, "regions", regions(k, m->regions.list, m->palette));
    json_set(k, o, "measures", measures(k, m));
    const Mounting behind = job_mounting(m->job);
    json_set(k, o, "mounting", mounting(k, &behind));
    json_set(k, o, "panels", panels(k, m));
    json_set(k, o, "flaws", flaws(k, m));
    if (m->grid->steps) {
        json_set(k, o, "held_slightly", slight_holds(k, m));
        json_set(k, o, "lowered", changes(k, m->step_changes, true));
        json_set(k, o, "raised", changes(k, m->step_changes, false));
    }
    if (m->losses && m->losses->places) json_set(k, o, "losses", losses(k, m));
    if (m->saving.shell) json_set(k, o, "hollow", hollow(k, &m->saving));
    if (m->thickness.count) json_set(k, o, "thickness", thickness(k, &m->thickness));
    if (m->missing) json_set(k, o, "missing", missing(k, m->missing));
    json_set(k, o, "files", list);
    json_set(k, o, "cautions", cautions);
    return o;
}

Status plan_json_write(const Mural *mural, const PlanFile *files, size_t count, const char *path,
                       Fault *fault)
{
    Making making = {0};
    return json_save(&making, plan_json_document(&making, mural, files, count), path, fault);
}
