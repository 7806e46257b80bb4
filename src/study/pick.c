/* The pictures become samples, samples costs: of each colour, and of each pair that mixes
 * to something nearer. Which colours cost least together is the affair of palette_subset.h; it is
 * asked for each number of colours, and thoroughly for the one that the user wants. */
#include "study/pick.h"

#include "base/apart.h"
#include "base/bands.h"
#include "base/memory.h"
#include "base/output_file.h"
#include "base/output_list.h"
#include "base/text.h"
#include "eye/eye.h"
#include "plan/sampled_picture.h"
#include "plan/studio.h"
#include "study/curve.h"
#include "study/histogram.h"
#include "study/pair_mixtures.h"

#include <errno.h>
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { PICK_FILES = OUTPUT_PICK_CURVE_PNG - OUTPUT_PICK_PALETTE + 1 };

/* Where a file goes, and where it is written until all are there. */
typedef struct Place {
    char path[PATH_MAX], partial[PATH_MAX + 16];
} Place;

typedef struct Pick {
    const Job *job;
    const char *const *reference;
    int references;
    const Voice *voice;
    Fault *fault;
    Brief brief;
    Studio studio;
    Image *image; /* one for each reference */
    Histogram histogram;
    MixtureCosts costs;
    double price[PALETTE_MOST]; /* of a cell */
    uint8_t rule[PALETTE_MOST];
    Curve curve;
    Place place[PICK_FILES];
} Pick;

double pick_visible(double cell_width_mm, double cell_height_mm, double distance_mm)
{
    if (distance_mm <= 0) return 1;
    /* Cells of two colours that are mixed lie as on a chessboard. The pattern repeats every two
     * cells each way, so its frequency has these two parts. */
    const double x = 1 / (2 * eye_degrees(cell_width_mm, distance_mm)),
                 y = 1 / (2 * eye_degrees(cell_height_mm, distance_mm));
    const double pi = acos(-1.0);
    double kept = 0;
    for (int i = 0; i < EYE_PARTS && eye_parts[0][i].weight != 0; i++)
        kept += eye_parts[0][i].weight *
                exp(-pi * pi * eye_parts[0][i].sigma * eye_parts[0][i].sigma * (x * x + y * y));
    return fmin(1, fmax(0, kept));
}

/* ---- what is given ---- */

/* Sets the rule of the ids in a list with commas between. */
static Status set_rules(Pick *p, const char *list, SubsetRule rule, const char *option)
{
    const Palette *palette = &p->studio.palette;
    while (*list) {
        char id[64], clip[TEXT_CLIP];
        const size_t length = strcspn(list, ",");
        snprintf(id, sizeof id, "%.*s", (int)(length < 60 ? length : 60), list);
        const int colour = palette_find(palette, id);
        if (colour < 0)
            return fault_set(p->fault, STATUS_USAGE,
                             "%s: the palette has no colour '%s'; give ids with commas between",
                             option, text_clip(clip, id));
        if (p->rule[colour] && p->rule[colour] != rule)
            return fault_set(p->fault, STATUS_USAGE,
                             "%s: colour '%s' is in --keep, too; take it out of one", option, id);
        p->rule[colour] = (uint8_t)rule;
        list += length + (list[length] == ',');
    }
    return STATUS_OK;
}

/* The price of a cell in each colour: the mean over the stock's sizes, by units; where the
 * stock has no price for a colour, the mean over all colours that have one. */
static void price_colours(Pick *p)
{
    const Studio *w = &p->studio;
    double sum = 0;
    int priced = 0;
    for (int c = 0; c < w->palette.count; c++) {
        double money = 0, units = 0;
        for (size_t i = 0; i < w->stock.count; i++) {
            const StockLine *line = &w->stock.line[i];
            const Size *size = &w->sizes.size[line->size];
            if (line->colour != c) continue;
            money += isnan(line->price) ? size->price : line->price;
            units += size->width * size->length;
        }
        p->price[c] = units > 0 ? money / units : -1;
        if (units <= 0) continue;
        sum += p->price[c];
        priced++;
    }
    for (int c = 0; c < w->palette.count; c++)
        if (p->price[c] < 0) p->price[c] = priced ? sum / priced : 0;
}

static Status read_studio(Pick *p)
{
    Status status = studio_init(&p->studio, &p->brief, STOCK_OWN, p->fault);
    if (!status && p->job->colours > p->studio.palette.count)
        status =
            fault_set(p->fault, STATUS_USAGE, "--colours: %d of a palette of %d; ask for fewer",
                      p->job->colours, p->studio.palette.count);
    if (!status && p->job->price_weight > 0 && !*p->job->stock)
        status = fault_set(p->fault, STATUS_USAGE,
                           "--price-weight: there are no prices; give a stock file with --stock");
    if (!status) status = set_rules(p, p->job->keep, SUBSET_MUST, "--keep");
    if (!status) status = set_rules(p, p->job->without, SUBSET_MUST_NOT, "--without");
    if (!status) price_colours(p);
    return status;
}

static Status look_at(Pick *p, int i)
{
    Job job = *p->job;
    const Brief brief = brief_of(&job, NULL, p->voice);
    const Grid none = {0};
    SampledPicture picture = {0};
    const bool sized = job.columns || job.rows || job.width > 0 || job.height > 0;
    if (!sized) job.columns = PICK_COLUMNS;
    Status status =
        job_set(&job, setting_find("reference"), p->reference[i], p->reference[i], NULL, p->fault);
    if (!status) status = sampled_picture_init(&picture, &brief, NULL, &none, p->fault);
    if (!status) {
        p->image[i] = picture.image;
        picture.image = (Image){0};
    }
    sampled_picture_clear(&picture);
    return status;
}

static Status look_at_all(Pick *p)
{
    p->image = memory_create((size_t)p->references, sizeof *p->image);
    if (!p->image) return memory_fault(p->fault, (size_t)p->references, sizeof *p->image);
    Status status = STATUS_OK;
    for (int i = 0; !status && i < p->references; i++) {
        voice_progress(p->voice, "pictures", (double)i / p->references);
        status = look_at(p, i);
    }
    if (!status)
        status = histogram_init(&p->histogram, p->image, p->references, PICK_SAMPLES, p->fault);
    return status;
}

/* ---- costs ---- */

static void add_price(float *cost, int samples, double price)
{
    for (int i = 0; i < samples; i++) cost[i] = (float)((double)cost[i] + price);
}

static Status reckon_costs(Pick *p)
{
    const double visible =
        pick_visible(brief_cell_width(&p->brief), brief_cell_height(&p->brief), p->job->distance);
    const MixtureOptions options = {
        .visible = visible, .threads = p->brief.threads, .voice = p->voice};
    const Status status = mixture_costs_init(&p->costs, &p->studio.palette, p->histogram.lab,
                                             p->histogram.samples, &options, p->fault);
    const double weight = p->job->price_weight;
    if (status || weight <= 0) return status;
    MixtureCosts *k = &p->costs;
    const size_t samples = (size_t)k->samples;
    for (int c = 0; c < k->colours; c++)
        add_price(k->cost + (size_t)c * samples, k->samples, weight * p->price[c]);
    /* The shares of a blend are not kept; half of each is near enough for a price. */
    for (int b = 0; b < k->blends; b++)
        add_price(k->mixed + (size_t)b * samples, k->samples,
                  weight * (p->price[k->blend[b].one] + p->price[k->blend[b].two]) / 2);
    return STATUS_OK;
}

/* ---- choosing ---- */

static int free_colours(const Pick *p, SubsetRule least)
{
    int count = 0;
    for (int c = 0; c < p->studio.palette.count; c++)
        count += least == SUBSET_MUST ? p->rule[c] == SUBSET_MUST : p->rule[c] != SUBSET_MUST_NOT;
    return count;
}

static SubsetTask task_of(const Pick *p, int least, int most)
{
    const MixtureCosts *k = &p->costs;
    return (SubsetTask){.samples = k->samples,
                        .colours = k->colours,
                        .cost = k->cost,
                        .weight = p->histogram.weight,
                        .rule = p->rule,
                        .blend = k->blend,
                        .blends = k->blends,
                        .least = least,
                        .most = most};
}

/* Adds the points from `from` to `to` colours, each chosen quickly by one colour more than the
 * point before. */
static Status grow_curve(Pick *p, int from, int to)
{
    Curve *curve = &p->curve;
    const SubsetTask task = task_of(p, from, to);
    if (to < from) return STATUS_OK;
    const Status status = subset_grow(&task, curve->count ? &curve->subset[curve->count - 1] : NULL,
                                      &curve->subset[curve->count], p->voice, p->fault);
    if (!status) curve->count += to - from + 1;
    return status;
}

/* Among more colours than this a trial takes longer and finds less, so there are fewer trials
 * and no proof is tried. Ours; no bench set it. */
enum { MANY = 40 };

/* Chooses the point that was asked for once more, thoroughly. */
static Status choose_marked(Pick *p)
{
    Curve *curve = &p->curve;
    const int asked = p->job->colours;
    const Subset quick = curve->subset[curve->count - 1];
    const SubsetTask task = task_of(p, asked, asked);
    SubsetOptions options = subset_defaults;
    options.start = &quick;
    if (asked > MANY) options.trials = options.trials * MANY / asked;
    if (asked > MANY) options.branches = 0;
    curve->marked = curve->count - 1;
    return subset_choose(&task, &options, &curve->subset[curve->marked], p->voice, p->fault);
}

/* The curve from the fewest colours to half as many again as are asked for. */
static Status choose_all(Pick *p)
{
    Curve *curve = &p->curve;
    const int must = free_colours(p, SUBSET_MUST), may = free_colours(p, SUBSET_FREE);
    const int asked = p->job->colours, first = must > 1 ? must : 1;
    const int last = asked + asked / 2 + 1 < may ? asked + asked / 2 + 1 : may;
    if (asked < must || asked > may)
        return fault_set(p->fault, STATUS_USAGE,
                         "--colours: %d, but --keep and --without leave %d to %d; change one",
                         asked, first, may);
    Status status = grow_curve(p, first, asked);
    if (!status) status = choose_marked(p);
    if (!status) status = grow_curve(p, asked + 1, last);
    for (int i = 0; i < curve->count; i++) curve->difference[i] = curve->subset[i].total;
    return status;
}

/* ---- files ---- */

static void name_places(const char *out, Place place[PICK_FILES])
{
    const char *slash = strrchr(out, '/');
    const char *base = slash ? slash + 1 : out, *dot = strrchr(base, '.');
    const size_t stem = dot && dot != base ? (size_t)(dot - out) : strlen(out);
    for (int i = 0; i < PICK_FILES; i++) {
        /* FILE or STEM-curve.csv, see base/output_list.h */
        const char *tail = strchr(output_list[OUTPUT_PICK_PALETTE + i].name, '-');
        snprintf(place[i].path, PATH_MAX, "%.*s%s", (int)(tail ? stem : strlen(out)), out,
                 tail ? tail : "");
    }
}

static bool to_standard_output(const Pick *p) { return strcmp(p->job->out, "-") == 0; }

/* Finds out before the long work whether the files can be put where they are to go. */
static Status find_places(Pick *p)
{
    if (to_standard_output(p)) return STATUS_OK;
    name_places(p->job->out, p->place);
    for (int i = 0; i < PICK_FILES; i++) {
        Place *place = &p->place[i];
        const Status status = output_file_follow(place->path, p->fault);
        if (status) return status;
        const size_t length = strlen(place->path);
        memcpy(place->partial, place->path, length);
        memcpy(place->partial + length, ".partial", sizeof ".partial");
    }
    return STATUS_OK;
}

/* The palette of the marked point as CGATS text, the caller's. */
static Status print_palette(const Pick *p, char **bytes_out, size_t *length_out)
{
    const Subset *subset = &p->curve.subset[p->curve.marked];
    char descriptor[64];
    Palette *picked = memory_create(1, sizeof *picked);
    if (!picked) return memory_fault(p->fault, 1, sizeof *picked);
    picked->count = subset->count;
    for (int i = 0; i < subset->count; i++)
        picked->colour[i] = p->studio.palette.colour[subset->colour[i]];
    snprintf(descriptor, sizeof descriptor, "%d of %d colours", subset->count,
             p->studio.palette.count);
    const Status status = palette_write_cgats(bytes_out, length_out, picked, descriptor, p->fault);
    memory_free(picked);
    return status;
}

/* path NULL: to standard output. */
static Status write_palette(const Pick *p, const char *path)
{
    char *bytes;
    size_t length;
    FILE *file = stdout;
    Status status = print_palette(p, &bytes, &length);
    if (status) return status;
    if (path) status = output_file_open(&file, path, p->fault);
    if (!status)
        status =
            output_file_write_all(file, bytes, length, path ? path : "standard output", p->fault);
    memory_free(bytes);
    return status;
}

static Status interrupted(const Pick *p)
{
    return fault_set(p->fault, STATUS_INTERRUPTED,
                     "pick: stopped from outside, nothing was changed; run it again");
}

static Status put_in_place(const Pick *p)
{
    const Place *place = p->place;
    Status status = voice_stopped(p->voice) ? interrupted(p) : STATUS_OK;
    for (int i = PICK_FILES - 1; i >= 0 && !status;
         i--) /* the palette last: where it is new, all are */
        status = output_file_put(place[i].partial, place[i].path, p->fault);
    return status;
}

/* The palette alone, for a pipe. */
static Status write_out(const Pick *p)
{
    if (voice_stopped(p->voice)) return interrupted(p);
    voice_note(p->voice, "--out -: the palette goes to standard output, without its curve");
    return write_palette(p, NULL);
}

/* Apart, since the library that draws may end the program. */
static Status draw_curve(void *context, const Voice *voice, Fault *fault)
{
    (void)voice;
    const Pick *p = context;
    return curve_png(&p->curve, p->place[2].partial, fault);
}

static Status write_in_place(Pick *p)
{
    const Place *place = p->place;
    if (to_standard_output(p)) return write_out(p);
    Status status = write_palette(p, place[0].partial);
    if (!status) status = curve_csv(&p->curve, &p->studio.palette, place[1].partial, p->fault);
    if (!status) status = apart_run(place[2].path, draw_curve, p, p->voice, p->fault);
    if (!status) status = put_in_place(p);
    for (int i = 0; i < PICK_FILES; i++) unlink(place[i].partial);
    return status;
}

/* What one colour more than were asked for would better. */
static void say_next(const Pick *p)
{
    const Curve *curve = &p->curve;
    const Subset *chosen = &curve->subset[curve->marked];
    if (curve->marked + 1 >= curve->count) return;
    const Subset *next = chosen + 1;
    char gain[32], total[32];
    number_text(gain, sizeof gain, chosen->total - next->total, 2);
    number_text(total, sizeof total, chosen->total, 2);
    int extra = -1;
    for (int i = 0; i < next->count; i++)
        if (!memchr(chosen->colour, next->colour[i], (size_t)chosen->count))
            extra = next->colour[i];
    if (extra < 0) return;
    const Colour *c = &p->studio.palette.colour[extra];
    voice_note(p->voice,
               "one more: %d colours come to a difference of %s; with %s%s%s%s as well it "
               "would be less by %s",
               chosen->count, total, c->id, *c->name ? " (" : "", c->name, *c->name ? ")" : "",
               gain);
}

static void pick_clear(Pick *p)
{
    for (int i = 0; p->image && i < p->references; i++) image_clear(&p->image[i]);
    memory_free(p->image);
    histogram_clear(&p->histogram);
    mixture_costs_clear(&p->costs);
    studio_clear(&p->studio);
    memory_free(p);
}

Status pick_run(const Job *job, const char *const *reference, int references, const Voice *voice,
                Fault *fault)
{
    Pick *p = memory_create(1, sizeof *p);
    if (!p) return memory_fault(fault, 1, sizeof *p);
    *p = (Pick){.job = job,
                .reference = reference,
                .references = references,
                .voice = voice,
                .fault = fault,
                .brief = brief_of(job, NULL, voice)};
    Status status = find_places(p);
    if (!status) status = read_studio(p);
    if (!status) status = look_at_all(p);
    if (!status) status = reckon_costs(p);
    if (!status) status = choose_all(p);
    if (!status) status = write_in_place(p);
    if (!status) say_next(p);
    pick_clear(p);
    return status;
}
