#include "record.h"

#include "memory.h"

#include <jansson.h>

#include <errno.h>
#include <stdio.h>
#include <string.h>

/* jansson steals references with the "_new" calls and accepts NULL from a failed
 * allocation by failing in turn; one flag gathers whether anything failed. */
typedef struct Making {
    int failed;
} Making;

static void set(Making *k, json_t *object, const char *name, json_t *value)
{
    k->failed |= json_object_set_new(object, name, value) != 0;
}

static void append(Making *k, json_t *array, json_t *value)
{
    k->failed |= json_array_append_new(array, value) != 0;
}

/* Text that a file system or a colour table gave: what is not UTF-8 becomes '?'. */
static json_t *text(const char *bytes)
{
    json_t *value = json_string(bytes);
    if (value) return value;
    char plain[JOB_TEXT + 96];
    snprintf(plain, sizeof plain, "%s", bytes);
    for (char *c = plain; *c; c++)
        if ((unsigned char)*c >= 0x80) *c = '?';
    return json_string(plain);
}

static json_t *reference(Making *k, const Reference *r)
{
    json_t *o = json_object();
    set(k, o, "file", text(r->file));
    set(k, o, "sha256", text(r->sha256));
    set(k, o, "width", json_integer(r->width));
    set(k, o, "height", json_integer(r->height));
    set(k, o, "profile", text(r->profile));
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
        set(k, o, s->name, text(value));
    }
    return o;
}

static json_t *colours(Making *k, const Palette *palette)
{
    json_t *list = json_array();
    for (int i = 0; i < palette->count; i++) {
        const Colour *c = &palette->colour[i];
        char hex[8];
        snprintf(hex, sizeof hex, "#%02x%02x%02x", c->srgb[0], c->srgb[1], c->srgb[2]);
        json_t *o = json_object(), *lab = json_array();
        append(k, lab, json_real(c->lab.L));
        append(k, lab, json_real(c->lab.a));
        append(k, lab, json_real(c->lab.b));
        set(k, o, "id", text(c->id));
        set(k, o, "name", text(c->name));
        set(k, o, "lab", lab);
        set(k, o, "hex", text(hex));
        append(k, list, o);
    }
    return list;
}

static json_t *measures(Making *k, const Mural *m)
{
    const Measures *v = &m->measures;
    json_t *o = json_object();
    set(k, o, "cells", json_integer((json_int_t)m->grid->columns * m->grid->rows));
    set(k, o, "bricks", json_integer((json_int_t)m->laid->count));
    set(k, o, "bricks_lower_bound", json_real(m->lower_bound));
    set(k, o, "mean_de00", json_real(v->mean_de00));
    set(k, o, "p95_de00", json_real(v->p95_de00));
    set(k, o, "max_de00", json_real(v->max_de00));
    set(k, o, "perceived_de00", json_real(v->perceived.mean));
    set(k, o, "perceived_p95_de00", json_real(v->perceived.p95));
    set(k, o, "perceived_half_distance_de00", json_real(v->near.mean));
    set(k, o, "perceived_half_distance_p95_de00", json_real(v->near.p95));
    set(k, o, "perceived_twice_distance_de00", json_real(v->far.mean));
    set(k, o, "perceived_twice_distance_p95_de00", json_real(v->far.p95));
    set(k, o, "perceived_fitted_de00", json_real(v->fitted.mean));
    set(k, o, "perceived_fitted_p95_de00", json_real(v->fitted.p95));
    set(k, o, "mass_kg", json_real(v->mass_kg));
    set(k, o, "price", json_real(v->price));
    set(k, o, "hours", json_real(v->hours));
    set(k, o, "longest_straight_joint", json_integer(v->longest_straight_joint));
    set(k, o, "quarter_lap", json_real(v->quarter_lap));
    set(k, o, "pieces", json_integer(v->pieces));
    set(k, o, "unsupported", json_integer(v->unsupported));
    set(k, o, "weak", json_integer(v->weak));
    return o;
}

static json_t *panels(Making *k, const Mural *m)
{
    json_t *list = json_array();
    for (int i = 0; i < m->panels->count; i++) {
        const Panel *p = &m->panels->panel[i];
        json_t *o = json_object();
        set(k, o, "name", text(p->name));
        set(k, o, "column", json_integer(p->column + 1));
        set(k, o, "row", json_integer(p->row + 1));
        set(k, o, "columns", json_integer(p->columns));
        set(k, o, "rows", json_integer(p->rows));
        set(k, o, "width_mm", json_real(p->columns * m->cell_width_mm));
        set(k, o, "height_mm", json_real(p->rows * m->cell_height_mm));
        set(k, o, "depth_mm", json_real(m->load[i].depth * m->step_mm));
        set(k, o, "bricks", json_integer((json_int_t)m->load[i].bricks));
        set(k, o, "mass_kg", json_real(m->load[i].mass_g / 1000));
        const PanelStatics *s = &m->load[i].statics;
        set(k, o, "centre_x_mm", json_real(s->centre_mm[0]));
        set(k, o, "centre_y_mm", json_real(s->centre_mm[1]));
        set(k, o, "centre_z_mm", json_real(s->centre_mm[2]));
        set(k, o, "hanging_moment_nm", json_real(s->hanging_nm));
        set(k, o, "tipping_moment_nm", json_real(s->tipping_nm));
        set(k, o, "fixing_load_n", json_real(s->fixing_n));
        append(k, list, o);
    }
    return list;
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
        set(k, o, "kind", text(kind[f->kind]));
        set(k, o, "panel", text(m->panels->panel[f->panel].name));
        set(k, o, "column", json_integer(f->column + 1));
        set(k, o, "row", json_integer(f->row + 1));
        set(k, o, "tier", json_integer(f->tier + 1));
        set(k, o, "length", json_integer(f->length));
        set(k, o, "text", text(said));
        append(k, list, o);
    }
    return list;
}

/* Cells that stand lower than asked. */
static json_t *lowered(Making *k, const Carried *carried)
{
    json_t *list = json_array();
    for (size_t i = 0; carried && i < carried->count; i++) {
        const CarryChange *c = &carried->change[i];
        json_t *o = json_object();
        set(k, o, "column", json_integer(c->column + 1));
        set(k, o, "row", json_integer(c->row + 1));
        set(k, o, "from", json_integer(c->from));
        set(k, o, "to", json_integer(c->to));
        append(k, list, o);
    }
    return list;
}

static json_t *record(Making *k, const Mural *m, const RecordFile *files, size_t count)
{
    json_t *o = json_object(), *cell = json_array(), *list = json_object(),
           *cautions = json_array();
    append(k, cell, json_real(m->cell_width_mm));
    append(k, cell, json_real(m->cell_height_mm));
    for (size_t i = 0; i < count; i++) set(k, list, files[i].name, text(files[i].sha256));
    for (int i = 0; i < m->cautions; i++) append(k, cautions, text(m->caution[i]));
    set(k, o, "format", text("rowlock-plan"));
    set(k, o, "version", json_integer(1));
    set(k, o, "build", text(m->solid.build == BUILD_WALL ? "wall" : "plaque"));
    set(k, o, "columns", json_integer(m->grid->columns));
    set(k, o, "rows", json_integer(m->grid->rows));
    set(k, o, "base", json_integer(m->solid.base));
    set(k, o, "cell_mm", cell);
    set(k, o, "step_mm", json_real(m->step_mm));
    set(k, o, "reference", reference(k, m->reference));
    set(k, o, "settings", echo(k, m->job));
    set(k, o, "colours", colours(k, m->palette));
    set(k, o, "measures", measures(k, m));
    set(k, o, "panels", panels(k, m));
    set(k, o, "flaws", flaws(k, m));
    if (m->grid->steps) set(k, o, "lowered", lowered(k, m->carried));
    set(k, o, "files", list);
    set(k, o, "cautions", cautions);
    return o;
}

Status record_write(const Mural *mural, const RecordFile *files, size_t count, const char *path,
                    Fault *fault)
{
    Making making = {0};
    json_t *root = record(&making, mural, files, count);
    if (!root || making.failed) {
        json_decref(root);
        return memory_fault(fault, count, sizeof *files);
    }
    FILE *file = fopen(path, "wb");
    if (!file) {
        json_decref(root);
        return fault_set(fault, STATUS_NO_CREATE, "%s: cannot be created (%s); check the folder",
                         path, strerror(errno));
    }
    int broken =
        json_dumpf(root, file, JSON_INDENT(2) | JSON_REAL_PRECISION(12)) || putc('\n', file) == EOF;
    json_decref(root);
    broken |= ferror(file);
    if (fclose(file) || broken)
        return fault_set(fault, STATUS_IO, "%s: cannot be written (%s); free some space", path,
                         strerror(errno));
    return STATUS_OK;
}
