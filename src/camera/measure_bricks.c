/* One photograph after another is read and let go; what stays are readings of places, which are
 * joined by colour at the end. A place that cannot be read is said and passed over; a colour of
 * which no place could be read is a fault, for a palette without it would be taken for whole. */
#include "camera/measure_bricks.h"

#include "base/memory.h"
#include "base/output_file.h"
#include "base/text.h"
#include "camera/find_chart.h"
#include "camera/joined_colour.h"
#include "camera/patch_list.h"

#include <errno.h>
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Readings of one colour that lie farther from their mean, CIEDE2000, are not of one colour, or one
 * of them was misread. */
#define APART_MOST 4.0

typedef struct ColourReading {
    int colour;
    PlaceReading reading;
} ColourReading;

typedef struct Measuring {
    const Job *job;
    const char *const *photo;
    int photos;
    const Voice *voice;
    Fault *fault;
    ColourChart chart;
    PatchList list;
    PlanePoint corner[MEASURE_PHOTOS_MOST][4]; /* as given */
    bool cornered[MEASURE_PHOTOS_MOST];
    Photo white;
    ColourReading *reading;
    size_t readings, room;
    const char *missed[PALETTE_MOST]; /* why a place of the colour could not be read */
} Measuring;

/* ---- what is given ---- */

/* Eight numbers with commas or blanks between, up to the end of a part. */
static bool parse_corners(const char *text, size_t length, PlanePoint corner[4])
{
    double value[8];
    const char *at = text, *end = text + length;
    for (int i = 0; i < 8; i++) {
        char word[32];
        while (at < end && (*at == ' ' || *at == ',')) at++;
        const char *start = at;
        while (at < end && *at != ' ' && *at != ',') at++;
        const size_t size = (size_t)(at - start);
        if (size == 0 || size >= sizeof word) return false;
        memcpy(word, start, size);
        word[size] = 0;
        if (!number_parse(word, &value[i])) return false;
    }
    while (at < end && *at == ' ') at++;
    for (int i = 0; i < 4; i++) corner[i] = (PlanePoint){value[2 * i], value[2 * i + 1]};
    return at == end;
}

/* --chart has the corners in each photograph, with semicolons between. */
static Status take_corners(Measuring *m)
{
    const char *text = m->job->chart;
    int given = 0;
    for (; *text; given++) {
        const size_t length = strcspn(text, ";");
        char clip[TEXT_CLIP];
        if (given == m->photos) {
            given++;
            break;
        }
        m->cornered[given] = strspn(text, " ") < length;
        if (m->cornered[given] && !parse_corners(text, length, m->corner[given]))
            return fault_set(m->fault, STATUS_USAGE,
                             "--chart: '%s' is not four corners; give x,y,x,y,x,y,x,y in pixels, "
                             "around from the first patch",
                             text_clip(clip, text));
        text += length + (text[length] == ';');
    }
    if (!given || given == m->photos) return STATUS_OK;
    return fault_set(m->fault, STATUS_USAGE,
                     "--chart: corners for %d photographs, but %d are given; part them by ';', one "
                     "after the other",
                     given, m->photos);
}

static Status take_chart(Measuring *m)
{
    const Job *job = m->job;
    bool cornered = true;
    for (int i = 0; i < m->photos; i++) cornered &= m->cornered[i];
    if (job->grey > 0 && (*job->chart_values || !cornered))
        return fault_set(m->fault, STATUS_USAGE,
                         *job->chart_values
                             ? "--grey: --chart-values names a chart, too; give one of them"
                             : "--grey: a grey card is not found by itself; give its corners with "
                               "--chart");
    if (job->grey > 0) return STATUS_OK;
    if (*job->chart_values)
        return colour_chart_read(&m->chart, job->chart_values, job->chart_grid, m->voice, m->fault);
    return colour_chart_default(&m->chart, m->fault);
}

static Status take_all(Measuring *m)
{
    Status status = take_corners(m);
    if (!status) status = take_chart(m);
    if (!status)
        status =
            patch_list_read(&m->list, m->job->patches, m->photo, m->photos, m->voice, m->fault);
    if (!status && *m->job->white)
        status =
            photo_read_exact(&m->white, m->job->white, job_memory(m->job) / 2, m->voice, m->fault);
    return status;
}

/* ---- one photograph ---- */

static bool is_in(const PatchPlace *place, int photo)
{
    return place->photo < 0 || place->photo == photo;
}

/* A place's corners in pixels. */
static void corners_of(const PatchPlace *place, const Homography *chart, PlanePoint out[4])
{
    for (int i = 0; i < 4; i++)
        out[i] = place->on_chart ? homography_apply(chart, place->corner[i]) : place->corner[i];
}

static Status keep_reading(Measuring *m, int colour, const PlaceReading *reading)
{
    const Status status =
        memory_grow(&m->reading, &m->room, m->readings + 1, sizeof *m->reading, m->fault);
    if (!status) m->reading[m->readings++] = (ColourReading){colour, *reading};
    return status;
}

static Status read_places(Measuring *m, int photo, const PhotoColours *colours)
{
    Status status = STATUS_OK;
    for (size_t i = 0; !status && i < m->list.count; i++) {
        const PatchPlace *place = &m->list.place[i];
        PlanePoint corner[4];
        PlaceReading reading;
        const char *why;
        if (!is_in(place, photo) || place->colour < 0) continue;
        corners_of(place, &colours->place, corner);
        photo_colours_read(colours, corner, &reading, &why);
        const char *id = m->list.colours.colour[place->colour].id;
        const int line = csv_line(m->list.table, place->row);
        if (why) {
            m->missed[place->colour] = why;
            voice_note(m->voice, "%s:%d: %s %s in %s; left out", csv_place(m->list.table), line, id,
                       why, colours->view.photo->name);
            continue;
        }
        if (reading.narrow)
            voice_note(m->voice,
                       "%s:%d: %s is beyond the colours that %s can hold; a 16-bit TIFF in wider "
                       "colours would show it",
                       csv_place(m->list.table), line, id, colours->view.photo->name);
        if (reading.drawn_out)
            voice_note(m->voice,
                       "%s:%d: %s is more vivid than the chart's patches in %s, and not told "
                       "surely; measure it with a colour meter, or by a chart that has its like",
                       csv_place(m->list.table), line, id, colours->view.photo->name);
        status = keep_reading(m, place->colour, &reading);
    }
    return status;
}

/* The places of paper in a photograph; those on the chart's plane need the chart. */
static Status gather_paper(Measuring *m, int photo, const ChartView *view,
                           PlanePoint (**paper_out)[4], int *papers_out)
{
    const double right = view->chart ? view->chart->columns - 1 : 1;
    const double down = view->chart ? view->chart->rows - 1 : 1;
    const PlanePoint from[4] = {{0, 0}, {right, 0}, {right, down}, {0, down}};
    Homography chart;
    const bool placed = homography_fit(&chart, from, view->corner, 4);
    PlanePoint(*paper)[4] = memory_create(m->list.count, sizeof *paper);
    if (!paper) return memory_fault(m->fault, m->list.count, sizeof *paper);
    int papers = 0;
    for (size_t i = 0; i < m->list.count; i++) {
        const PatchPlace *place = &m->list.place[i];
        if (place->colour >= 0 || !is_in(place, photo) || (place->on_chart && !placed)) continue;
        corners_of(place, &chart, paper[papers++]);
    }
    *paper_out = paper;
    *papers_out = papers;
    return STATUS_OK;
}

static void say_fit(const Measuring *m, const PhotoColours *c)
{
    if (!c->view.chart) {
        voice_note(m->voice,
                   "%s: a grey card tells the light alone; the colours are coarse, a chart would "
                   "tell them",
                   c->view.photo->name);
        return;
    }
    char mean[32], worst[32];
    number_text(mean, sizeof mean, c->fit.mean, 1);
    number_text(worst, sizeof worst, c->fit.worst, 1);
    voice_note(m->voice,
               "%s: %d patches, degree %d%s; each fitted without itself is missed by %s on "
               "average, at worst %s",
               c->view.photo->name, c->fit.patches, c->fit.degree,
               c->fit.toned ? " with a tone curve" : "", mean, worst);
    if (c->narrow)
        voice_note(m->voice,
                   "%s: %d patches of the chart are beyond its colours and are not counted in that",
                   c->view.photo->name, c->narrow);
}

static Status check_white(const Measuring *m, const Photo *photo)
{
    if (!m->white.light || (m->white.width == photo->width && m->white.height == photo->height))
        return STATUS_OK;
    return fault_set(m->fault, STATUS_DATA,
                     "%s: %d x %d pixels, but %s has %d x %d; take both from one place with one "
                     "camera",
                     m->white.name, m->white.width, m->white.height, photo->name, photo->width,
                     photo->height);
}

static Status measure_view(Measuring *m, int i, ChartView *view)
{
    PlanePoint(*paper)[4] = NULL;
    PhotoColours *colours = memory_create(1, sizeof *colours);
    if (!colours) return memory_fault(m->fault, 1, sizeof *colours);
    Status status = gather_paper(m, i, view, &paper, &view->papers);
    view->paper = (const PlanePoint(*)[4])paper;
    if (!status) status = photo_colours_init(colours, view, m->fault);
    if (!status) say_fit(m, colours);
    if (!status) status = read_places(m, i, colours);
    memory_free(paper);
    memory_free(colours);
    return status;
}

static Status measure_photo(Measuring *m, int i)
{
    Photo photo;
    Status status =
        photo_read_exact(&photo, m->photo[i], job_memory(m->job) / 2, m->voice, m->fault);
    if (!status) status = check_white(m, &photo);
    if (!status) {
        ChartView view = {.photo = &photo,
                          .white = m->white.light ? &m->white : NULL,
                          .chart = m->job->grey > 0 ? NULL : &m->chart,
                          .grey = m->job->grey};
        memcpy(view.corner, m->corner[i], sizeof view.corner);
        if (!m->cornered[i])
            status = find_chart(view.corner, &photo, &m->chart, m->voice, m->fault);
        if (!status) status = measure_view(m, i, &view);
    }
    photo_clear(&photo);
    return status;
}

/* ---- the palette ---- */

static double rounded(double value) { return round(value * 100) / 100; }

static Status join_colour(Measuring *m, int colour, PlaceReading *room)
{
    Colour *out = &m->list.colours.colour[colour];
    int count = 0;
    for (size_t i = 0; i < m->readings; i++)
        if (m->reading[i].colour == colour) room[count++] = m->reading[i].reading;
    if (!count)
        return fault_set(m->fault, STATUS_DATA,
                         "%s: %s could not be measured: it %s; photograph it again",
                         csv_place(m->list.table), out->id,
                         m->missed[colour] ? m->missed[colour] : "is in no photograph");
    const JoinedColour joined = colour_join(room, count);
    if (joined.farthest > APART_MOST) {
        char apart[32];
        number_text(apart, sizeof apart, joined.farthest, 1);
        voice_note(m->voice, "%s: the %d readings of %s lie apart by up to %s; look at its bricks",
                   csv_place(m->list.table), count, out->id, apart);
    }
    out->lab = (Lab){fmin(fmax(rounded(joined.lab.L), 0), 100), rounded(joined.lab.a),
                     rounded(joined.lab.b)};
    out->stdev_de = fmax(rounded(joined.stdev), 0.01);
    return STATUS_OK;
}

static Status join_all(Measuring *m)
{
    Status status = STATUS_OK;
    PlaceReading *room = memory_create(m->readings, sizeof *room);
    if (!room) return memory_fault(m->fault, m->readings, sizeof *room);
    for (int c = 0; !status && c < m->list.colours.count; c++) status = join_colour(m, c, room);
    memory_free(room);
    return status;
}

static void say_sure(const Measuring *m)
{
    char within[32];
    number_text(within, sizeof within, palette_within(&m->list.colours, m->list.colours.count), 1);
    voice_note(m->voice, "%d colours; nine of ten should lie within %s (CIEDE2000) of what is told",
               m->list.colours.count, within);
}

/* Written beside its place and moved there, so that an earlier file stays until this one is
 * whole. */
static Status write_file(const Measuring *m, const char *bytes, size_t length)
{
    char path[PATH_MAX], partial[PATH_MAX + 16];
    FILE *file = NULL;
    if (!strcmp(m->job->out, "-"))
        return output_file_write_all(stdout, bytes, length, "standard output", m->fault);
    snprintf(path, sizeof path, "%s", m->job->out);
    Status status = output_file_follow(path, m->fault);
    snprintf(partial, sizeof partial, "%s.partial", path);
    if (!status) status = output_file_open(&file, partial, m->fault);
    if (status) return status;
    status = output_file_write_all(file, bytes, length, partial, m->fault);
    if (!status) status = output_file_put(partial, path, m->fault);
    if (status) unlink(partial);
    return status;
}

/* Puts the measured colours into the palette that is given: in the place of those with their ids,
 * or after all. A colour that is given no name keeps the one that it has there. */
static Status put_into(Measuring *m, Palette *all)
{
    const Palette *measured = &m->list.colours;
    Status status = palette_read(all, m->job->into, m->voice, m->fault);
    for (int i = 0; !status && i < measured->count; i++) {
        const int found = palette_find(all, measured->colour[i].id);
        if (found < 0 && all->count == PALETTE_MOST)
            return fault_set(m->fault, STATUS_DATA,
                             "--into: more than %d colours with those of %s; put them into another "
                             "palette, or leave --into out",
                             PALETTE_MOST, csv_place(m->list.table));
        Colour *colour = &all->colour[found < 0 ? all->count++ : found];
        const Colour before = *colour;
        *colour = measured->colour[i];
        if (found >= 0 && !*colour->name) memcpy(colour->name, before.name, sizeof before.name);
    }
    return status;
}

static Status write_palette(Measuring *m, const Palette *palette)
{
    char descriptor[96], *bytes;
    size_t length;
    snprintf(descriptor, sizeof descriptor, "%d colours measured in %d photograph%s",
             m->list.colours.count, m->photos, m->photos == 1 ? "" : "s");
    Status status = palette_write_cgats(&bytes, &length, palette, descriptor, m->fault);
    if (status) return status;
    status = write_file(m, bytes, length);
    memory_free(bytes);
    return status;
}

static Status write_result(Measuring *m)
{
    if (!*m->job->into) return write_palette(m, &m->list.colours);
    Palette *all = memory_create(1, sizeof *all);
    if (!all) return memory_fault(m->fault, 1, sizeof *all);
    Status status = put_into(m, all);
    if (!status) status = write_palette(m, all);
    memory_free(all);
    return status;
}

Status measure_run(const Job *job, const char *const *photo, int photos, const Voice *voice,
                   Fault *fault)
{
    Measuring *m = memory_create(1, sizeof *m);
    if (!m) return memory_fault(fault, 1, sizeof *m);
    *m = (Measuring){.job = job, .photo = photo, .photos = photos, .voice = voice, .fault = fault};
    Status status = take_all(m);
    for (int i = 0; !status && i < photos; i++) status = measure_photo(m, i);
    if (!status) status = join_all(m);
    if (!status) status = write_result(m);
    if (!status) say_sure(m);
    patch_list_clear(&m->list);
    photo_clear(&m->white);
    memory_free(m->reading);
    memory_free(m);
    return status;
}
