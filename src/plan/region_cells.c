/* Pictures of regions and of strokes are of any size and go through the frame of the reference. Of
 * regions that are drawn whole, a cell is in the one that has most of its area. From strokes
 * outlines are found as they are for layers, but on the cells themselves: no more is asked of a
 * region than a cell's place, and so the picture is not sampled anew for it, and a stroke is
 * answered while the hand is still there.
 *
 * A crop may leave out a region's strokes, and with them the region; so outlines are found between
 * those that are left, and where none is, all is in the region of the nearest stroke. */
#include "plan/region_cells.h"

#include "base/memory.h"
#include "base/text.h"
#include "layers/geodesic.h"
#include "layers/outline_report.h"

#include <math.h>
#include <string.h>

/* Of strokes on what is in no region; of labels it is 0. */
enum { INDEX_OF_REST = REGION_INDEX_MOST + 1 };

/* Cells below which one thread is sooner done than several, which wait for each other at every
 * step; that costs most where others want the processors, too. Measured: 26,600 cells took 3.4 ms
 * with one and 4.0 with two. */
enum { ALONE_BELOW = 65536 };

/* Regions under way. */
typedef struct Marking {
    RegionCells *r;
    const Brief *brief;
    const RegionInput *in;
    const char *path; /* of what is drawn */
    bool stroked;
    LayerPicture drawn;
    Fault *fault;
} Marking;

bool region_cells_wanted(const Job *job)
{
    return !*job->cells && (*job->regions || *job->region_labels || *job->region_strokes);
}

static Status check_given(const Marking *m)
{
    const Job *job = m->brief->job;
    if (!*m->path)
        return fault_set(m->fault, STATUS_USAGE,
                         "--regions: nothing is drawn; add --region-strokes or --region-labels "
                         "FILE");
    if (!*job->regions)
        return fault_set(m->fault, STATUS_USAGE,
                         "%s: nothing says what its regions are; add --regions FILE",
                         m->stroked ? "--region-strokes" : "--region-labels");
    return STATUS_OK;
}

static Status read_drawn(Marking *m)
{
    const RegionList *list = &m->r->list;
    LayerPictureInput input = {.path = m->path,
                               .label = {m->stroked ? LABEL_NONE : REGION_NONE},
                               .kind = "region",
                               .others = m->stroked ? "0, 255" : "0",
                               .list_path = m->brief->job->regions,
                               .frame = m->in->frame,
                               .limit_pixels = m->brief->job->limit * 1e6};
    for (int i = 1; i < 256; i++) input.label[i] = LABEL_UNKNOWN;
    if (m->stroked) input.label[INDEX_OF_REST] = REGION_NONE;
    for (int i = REGION_NONE + 1; i < list->count; i++) input.label[list->region[i].index] = i;
    return layer_picture_read(&m->drawn, &input, m->fault);
}

/* Each region has a pixel somewhere in the picture, whether the mural shows it or not. */
static Status check_drawn(const Marking *m)
{
    bool drawn[256] = {false};
    const RegionList *list = &m->r->list;
    const LabelPicture *picture = &m->drawn.picture;
    const size_t pixels = (size_t)picture->columns * (size_t)picture->rows;
    for (size_t i = 0; i < pixels; i++) drawn[picture->label[i]] = true;
    for (int i = REGION_NONE + 1; i < list->count; i++)
        if (!drawn[i])
            return fault_set(m->fault, STATUS_DATA,
                             "%s: no pixel has index %d, that of region %s; paint it, or take the "
                             "region out of %s",
                             text_place(m->path), list->region[i].index, list->region[i].name,
                             text_place(m->brief->job->regions));
    return STATUS_OK;
}

/* ---- drawn whole ---- */

static Status take_labels(const Marking *m)
{
    const int labels = m->r->list.count, threads = m->brief->threads;
    const int columns = m->in->frame->columns, rows = m->in->frame->rows;
    const size_t plane = (size_t)labels * (size_t)columns * (size_t)rows;
    float *share = memory_create(plane, sizeof *share);
    if (!share) return memory_fault(m->fault, plane, sizeof *share);
    const CellShares shares = {labels, columns, rows, threads, share, NULL};
    cell_shares(&m->drawn.picture, labels, columns, rows, threads, share);
    const Status status = cell_labels(&CELL_LABELS_AS_DRAWN, &shares, m->r->label, m->fault);
    memory_free(share);
    return status;
}

/* ---- by strokes ---- */

/* The labels that have a stroke in sight are counted through from 0; returns how many there are.
 * region_out has the label of each. */
static int count_through(uint8_t *stroke, size_t count, uint8_t region_out[REGIONS_MOST])
{
    bool drawn[LABEL_NONE + 1] = {false};
    uint8_t number[LABEL_NONE + 1] = {[LABEL_NONE] = LABEL_NONE};
    int labels = 0;
    for (size_t i = 0; i < count; i++) drawn[stroke[i]] = true;
    for (int l = 0; l < REGIONS_MOST; l++) {
        if (!drawn[l]) continue;
        number[l] = (uint8_t)labels;
        region_out[labels++] = (uint8_t)l;
    }
    for (size_t i = 0; i < count; i++) stroke[i] = number[stroke[i]];
    return labels;
}

/* The region of the stroke that is nearest to the middle of what the mural shows. */
static uint8_t nearest_region(const LabelPicture *p)
{
    const double x = p->left + p->width / 2, y = p->bottom + p->height / 2;
    double least = INFINITY;
    uint8_t nearest = REGION_NONE;
    for (int v = 0; v < p->rows; v++)
        for (int u = 0; u < p->columns; u++) {
            const uint8_t label = p->label[(size_t)v * (size_t)p->columns + (size_t)u];
            if (label == LABEL_NONE) continue;
            const double far = hypot(u + 0.5 - x, v + 0.5 - y);
            if (far >= least) continue;
            least = far;
            nearest = label;
        }
    return nearest;
}

/* With strokes on one alone there is no outline: all is that one. */
static Status take_strokes(const Marking *m)
{
    RegionCells *r = m->r;
    StrokedCells *sheet = &r->sheet;
    *sheet = (StrokedCells){
        .columns = m->in->frame->columns, .rows = m->in->frame->rows, .threads = m->brief->threads};
    const size_t cells = (size_t)sheet->columns * (size_t)sheet->rows;
    if (cells < ALONE_BELOW) sheet->threads = 1;
    Status status = stroked_cells_init(sheet, m->in->image, &m->drawn, m->fault);
    r->labels = status ? 0 : count_through(sheet->stroke, cells, r->region);
    if (r->labels < 2) *r->region = nearest_region(&m->drawn.picture);
    if (!status && r->labels > 1) {
        status = stroked_cells_find(sheet, r->labels, m->brief->voice, m->fault);
        if (!status) status = stroked_cells_label(sheet, r->labels, r->found, m->fault);
    }
    for (size_t i = 0; !status && i < cells; i++) r->label[i] = r->region[r->found[i]];
    return status;
}

/* A region is looked at more than it is drawn: the largest pieces of each kind will do. */
Status region_cells_say_doubts(const RegionCells *regions, const Voice *voice, Fault *fault)
{
    enum { PIECES_SAID = 2 };
    const StrokedCells *sheet = &regions->sheet;
    const OutlineFound found = {&sheet->pixels, sheet->stroke,  &sheet->outline, regions->labels,
                                sheet->per,     sheet->columns, sheet->rows,     regions->found};
    DoubtWords words = {.kind = "region",
                        .refused_most = PIECES_SAID,
                        .narrow_most = PIECES_SAID,
                        .columns = sheet->columns,
                        .rows = sheet->rows};
    OutlineReport report;
    if (regions->labels < 2) return STATUS_OK;
    for (int l = 0; l < regions->labels; l++) {
        const bool rest = regions->region[l] == REGION_NONE;
        words.name[l] = rest ? "outside" : regions->list.region[regions->region[l]].name;
        words.index[l] = rest ? NO_KIND : 0;
    }
    const Status status = outline_report(&found, &report, fault);
    if (!status) outline_report_say(&report, &words, voice);
    outline_report_clear(&report);
    return status;
}

/* ---- the whole ---- */

Status region_cells_init(RegionCells *regions, const Brief *brief, const RegionInput *input,
                         Fault *fault)
{
    const Job *job = brief->job;
    const size_t cells = (size_t)input->frame->columns * (size_t)input->frame->rows;
    const BuiltPart *standing = brief->standing;
    const RegionWords words = {input->palette, standing && !standing->palette_kept, brief->voice};
    Marking m = {.r = regions,
                 .brief = brief,
                 .in = input,
                 .path = *job->region_strokes ? job->region_strokes : job->region_labels,
                 .stroked = *job->region_strokes,
                 .fault = fault};
    *regions = (RegionCells){.label = memory_create(cells, 1), .found = memory_create(cells, 1)};
    Status status =
        regions->label && regions->found ? check_given(&m) : memory_fault(fault, cells, 1);
    if (!status) status = region_list_read(&regions->list, job->regions, &words, fault);
    if (!status) status = read_drawn(&m);
    if (!status) status = check_drawn(&m);
    if (!status) status = m.stroked ? take_strokes(&m) : take_labels(&m);
    layer_picture_clear(&m.drawn);
    return status;
}

void region_cells_clear(RegionCells *regions)
{
    memory_free(regions->label);
    memory_free(regions->found);
    stroked_cells_clear(&regions->sheet);
    *regions = (RegionCells){0};
}
