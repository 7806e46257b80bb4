/* Samples of all murals stand in one table of costs, each mural's as many; what differs between all
 * murals and a single one is only what the samples weigh. So one set of costs serves the choice for
 * all, that of each mural for itself, and what a colour is worth to whom. */
#include "show/show_palette.h"

#include "base/memory.h"
#include "base/output_file.h"
#include "base/text.h"
#include "study/histogram.h"
#include "study/pair_mixtures.h"
#include "study/palette_subset.h"
#include "study/pick.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Samples of all murals, and of one at least: twice what pick takes for one picture. */
enum { SAMPLES = 2 * PICK_SAMPLES, SAMPLES_LEAST = 48 };

typedef struct MixtureSet {
    Lab *lab;
    double *weight, *alone; /* of each sample: by area, 1 in all; within its mural, 1 in each */
    int *mural;             /* that it is of */
    double *one;            /* room for the weights of a task */
    int samples;
    MixtureCosts costs;
    uint8_t rule[PALETTE_MOST];
} MixtureSet;

/* ---- samples ---- */

static double area_of(const Show *show, const ShowPictures *pictures, int mural)
{
    const Brief brief = brief_of(&show->mural[mural].job, NULL, NULL);
    return (double)show_pictures_cells(pictures, mural) * brief_cell_width(&brief) *
           brief_cell_height(&brief);
}

static Status add_samples(MixtureSet *set, const ShowPictures *pictures, int mural, int most,
                          double area, Fault *fault)
{
    Histogram h = {0};
    const Status status = histogram_init(&h, &pictures->picture[mural].image, 1, most, fault);
    for (int i = 0; i < h.samples && !status; i++) {
        const int at = set->samples++;
        set->lab[at] = h.lab[i];
        set->alone[at] = h.weight[i];
        set->weight[at] = h.weight[i] * area;
        set->mural[at] = mural;
    }
    histogram_clear(&h);
    return status;
}

static Status gather_cells(ShowPalette *p, const Show *show, const ShowPictures *pictures,
                           Fault *fault)
{
    MixtureSet *set = p->set;
    const int each = SAMPLES / show->count > SAMPLES_LEAST ? SAMPLES / show->count : SAMPLES_LEAST;
    const size_t most = (size_t)each * (size_t)show->count;
    double all = 0;
    set->lab = memory_create(most, sizeof *set->lab);
    set->weight = memory_create(3 * most, sizeof *set->weight);
    set->mural = memory_create(most, sizeof *set->mural);
    if (!set->lab || !set->weight || !set->mural)
        return memory_fault(fault, 3 * most, sizeof *set->weight);
    set->alone = set->weight + most;
    set->one = set->alone + most;
    Status status = STATUS_OK;
    for (int i = 0; i < show->count; i++) all += area_of(show, pictures, i);
    for (int i = 0; i < show->count && !status; i++) {
        p->served[i].area = area_of(show, pictures, i) / all;
        status = add_samples(set, pictures, i, each, p->served[i].area, fault);
    }
    return status;
}

static Status reckon_costs(MixtureSet *set, const Show *show, const Palette *from,
                           const Voice *voice, Fault *fault)
{
    const Brief brief = brief_of(&show->shared, NULL, voice);
    const MixtureOptions options = {.visible = pick_visible(brief_cell_width(&brief),
                                                            brief_cell_height(&brief),
                                                            show->shared.distance),
                                    .threads = brief.threads,
                                    .voice = voice};
    return mixture_costs_init(&set->costs, from, set->lab, set->samples, &options, fault);
}

/* ---- choosing ---- */

enum { ALL_MURALS = -1 };

static SubsetTask task_of(const MixtureSet *set, int mural, int colours)
{
    for (int i = 0; i < set->samples; i++)
        set->one[i] = mural == ALL_MURALS      ? set->weight[i]
                      : set->mural[i] == mural ? set->alone[i]
                                               : 0;
    return (SubsetTask){.samples = set->costs.samples,
                        .colours = set->costs.colours,
                        .cost = set->costs.cost,
                        .weight = set->one,
                        .rule = set->rule,
                        .blend = set->costs.blend,
                        .blends = set->costs.blends,
                        .least = colours,
                        .most = colours};
}

static int list_offered(const ShowPalette *p, int colours, int left_out, uint8_t list[PALETTE_MOST])
{
    int count = 0;
    for (int c = 0; c < colours; c++) {
        const bool kept = c != left_out;
        if (kept && p->offered[c]) list[count++] = (uint8_t)c;
    }
    return count;
}

static double difference_of(const ShowPalette *p, int mural, int left_out)
{
    uint8_t list[PALETTE_MOST];
    const int count = list_offered(p, p->set->costs.colours, left_out, list);
    const SubsetTask task = task_of(p->set, mural, count);
    return count ? subset_total(&task, list, count) : 0;
}

/* The rule of the ids in a list with commas between. */
static Status set_rules(MixtureSet *set, const Palette *from, const char *list, SubsetRule rule,
                        Fault *fault)
{
    const char *option = rule == SUBSET_MUST ? "keep" : "without";
    while (*list) {
        char id[64], clip[TEXT_CLIP];
        list += strspn(list, " ,");
        const size_t length = strcspn(list, " ,");
        if (!length) break;
        snprintf(id, sizeof id, "%.*s", (int)(length < 60 ? length : 60), list);
        const int colour = palette_find(from, id);
        if (colour < 0 || (set->rule[colour] && set->rule[colour] != rule))
            return fault_set(
                fault, STATUS_DATA, "%s: colour '%s' is %s; give ids with commas between", option,
                text_clip(clip, id), colour < 0 ? "not in the palette" : "in keep, too");
        set->rule[colour] = (uint8_t)rule;
        list += length;
    }
    return STATUS_OK;
}

static Status choose(MixtureSet *set, int mural, int colours, Subset *subset_out,
                     const Voice *voice, Fault *fault)
{
    const SubsetTask task = task_of(set, mural, colours);
    SubsetOptions options = subset_defaults;
    options.branches = mural == ALL_MURALS ? options.branches : 0;
    return subset_choose(&task, &options, subset_out, voice, fault);
}

static Status pick_colours(ShowPalette *p, const Show *show, const Palette *from,
                           const Voice *voice, Fault *fault)
{
    Subset subset;
    const int colours = show->shared.colours;
    if (colours > from->count)
        return fault_set(fault, STATUS_DATA, "colours: %d of a palette of %d; ask for fewer",
                         colours, from->count);
    Status status = set_rules(p->set, from, show->shared.keep, SUBSET_MUST, fault);
    if (!status) status = set_rules(p->set, from, show->shared.without, SUBSET_MUST_NOT, fault);
    voice_progress(voice, "palette", 0);
    if (!status) status = choose(p->set, ALL_MURALS, colours, &subset, voice, fault);
    if (status) return status;
    memset(p->offered, 0, sizeof p->offered);
    for (int i = 0; i < subset.count; i++) p->offered[subset.colour[i]] = true;
    p->colours = subset.count;
    for (int m = 0; m < p->murals && !status; m++) {
        voice_progress(voice, "palette", (double)(m + 1) / (p->murals + 1));
        status = choose(p->set, m, colours, &subset, voice, fault);
        p->served[m].own = subset.total;
    }
    return status;
}

Status show_palette_init(ShowPalette *p, const Show *show, const Palette *from,
                         const ShowPictures *pictures, const Voice *voice, Fault *fault)
{
    *p = (ShowPalette){.picked = show->shared.colours > 0,
                       .murals = show->count,
                       .colours = from->count,
                       .served = memory_create((size_t)show->count, sizeof *p->served),
                       .set = memory_create(1, sizeof *p->set)};
    if (!p->served || !p->set) return memory_fault(fault, 1, sizeof *p->set);
    for (int c = 0; c < from->count; c++) p->offered[c] = true;
    Status status = gather_cells(p, show, pictures, fault);
    if (!status) status = reckon_costs(p->set, show, from, voice, fault);
    if (!status && p->picked) status = pick_colours(p, show, from, voice, fault);
    if (status) return status;
    p->difference = difference_of(p, ALL_MURALS, -1);
    for (int m = 0; m < p->murals; m++) {
        p->served[m].shared = difference_of(p, m, -1);
        /* A choice is a good one, not always the best: what serves better was found. */
        if (!p->picked || p->served[m].own > p->served[m].shared)
            p->served[m].own = p->served[m].shared;
    }
    return STATUS_OK;
}

void show_palette_clear(ShowPalette *p)
{
    if (p->set) {
        mixture_costs_clear(&p->set->costs);
        memory_free(p->set->lab);
        memory_free(p->set->weight);
        memory_free(p->set->mural);
    }
    memory_free(p->set);
    memory_free(p->served);
    memory_free(p->lonely);
    *p = (ShowPalette){0};
}

/* ---- colours of one mural ---- */

static int by_loss(const void *a, const void *b)
{
    const Lonely *x = a, *y = b;
    if (x->loss != y->loss) return x->loss < y->loss ? -1 : 1;
    return (x->colour > y->colour) - (x->colour < y->colour);
}

Status show_palette_look(ShowPalette *p, const Planned *planned, Fault *fault)
{
    long bricks[PALETTE_MOST] = {0};
    int murals[PALETTE_MOST] = {0}, last[PALETTE_MOST];
    memset(last, -1, sizeof last);
    p->lonely = memory_create(PALETTE_MOST, sizeof *p->lonely);
    if (!p->lonely) return memory_fault(fault, PALETTE_MOST, sizeof *p->lonely);
    for (int m = 0; m < p->murals; m++)
        for (size_t i = 0; i < planned[m].plan->laid.count; i++) {
            const int c = planned[m].plan->laid.brick[i].colour;
            bricks[c]++;
            if (last[c] != m) murals[c]++;
            last[c] = m;
        }
    for (int c = 0; c < p->set->costs.colours; c++)
        if (murals[c] == 1)
            p->lonely[p->lonely_count++] = (Lonely){
                c, last[c], bricks[c], difference_of(p, last[c], c) - p->served[last[c]].shared};
    qsort(p->lonely, (size_t)p->lonely_count, sizeof *p->lonely, by_loss);
    return STATUS_OK;
}

/* ---- the file ---- */

Status show_palette_write(const ShowPalette *p, const Palette *from, const char *path, Fault *fault)
{
    char *bytes = NULL, descriptor[80];
    size_t length = 0;
    FILE *file = NULL;
    Palette *picked = memory_create(1, sizeof *picked);
    if (!picked) return memory_fault(fault, 1, sizeof *picked);
    for (int c = 0; c < from->count; c++)
        if (p->offered[c]) picked->colour[picked->count++] = from->colour[c];
    snprintf(descriptor, sizeof descriptor, "%d of %d colours for %d murals", picked->count,
             from->count, p->murals);
    Status status = palette_write_cgats(&bytes, &length, picked, descriptor, fault);
    if (!status) status = output_file_open(&file, path, fault);
    if (!status) {
        fwrite(bytes, 1, length, file);
        status = output_file_close(file, path, fault);
    }
    memory_free(bytes);
    memory_free(picked);
    return status;
}
