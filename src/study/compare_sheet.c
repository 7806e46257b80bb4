/* Cards stand three abreast, the picture itself first: the view from the distance on the left,
 * where it differs on the right, figures below. The sheet is as high as they need. */
#include "study/compare_sheet.h"

#include "base/csv_sheet.h"
#include "base/memory.h"
#include "base/text.h"
#include "book/offer_page.h"
#include "book/sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* mm. The sheet is as wide as a sheet of A4 is high (ISO 216). */
#define SHEET_WIDTH 297.0
#define EDGE 12.0
#define GAP 7.0      /* between cards */
#define PAIR_GAP 2.0 /* between the two pictures of one */
#define HEAD_HEIGHT 24.0
#define TEXT_HEIGHT 17.0
#define SHEET_DOTS_MM 6.0 /* of the PNG: about 150 an inch */
#define TALLEST 2.2       /* a picture's frame, in its widths */
enum { ABREAST = 3 };

static const char *dither_name(const Job *job, char *text, size_t size)
{
    job_show(job, setting_find("dither"), text, size);
    return text;
}

/* ---- the drawing ---- */

static double cell_aspect(const Job *job)
{
    return job->build == BUILD_WALL ? job->brick_height / job->pitch : 1.0;
}

typedef struct Layout {
    int abreast, lines;
    double card, picture_width, picture_height; /* mm */
    double height;                              /* of the sheet */
} Layout;

/* All pictures get the same frame, as high as the tallest needs. */
static Layout lay_out(const CompareSheet *sheet)
{
    Layout l = {.abreast = ABREAST};
    l.lines = (sheet->variants + 1 + ABREAST - 1) / ABREAST;
    l.card = (SHEET_WIDTH - 2 * EDGE - (ABREAST - 1) * GAP) / ABREAST;
    l.picture_width = (l.card - PAIR_GAP) / 2;
    const double cell = cell_aspect(sheet->job);
    for (int i = 0; i < sheet->variants; i++) {
        const Candidate *v = sheet->variant[i];
        l.picture_height = fmax(l.picture_height, l.picture_width * cell * v->rows / v->columns);
    }
    l.picture_height = fmin(l.picture_height, TALLEST * l.picture_width);
    l.height = HEAD_HEIGHT + l.lines * (l.picture_height + TEXT_HEIGHT + GAP) + EDGE;
    return l;
}

/* As large as the frame allows, at its upper left corner. alternative: what it shows, in words. */
static Status put_thumb(Draw *draw, const Thumb *thumb, double aspect, const Frame *frame,
                        const char *alternative, Fault *fault)
{
    const bool tall = frame->width * aspect > frame->height;
    const double width = tall ? frame->height / aspect : frame->width;
    Raster *raster;
    const Status status = raster_create(&raster, thumb->columns, thumb->rows, fault);
    if (status) return status;
    for (int r = 0; r < thumb->rows; r++)
        for (int c = 0; c < thumb->columns; c++)
            raster_set(raster, c, r,
                       thumb->rgb + 3 * ((size_t)r * (size_t)thumb->columns + (size_t)c));
    draw_figure(draw, alternative);
    draw_raster(draw, raster, frame->x, frame->y, width, width * aspect);
    draw_rect(draw, frame->x, frame->y, width, width * aspect);
    draw_stroke(draw, INK_RULE, 0.15);
    draw_tag_end(draw, "Figure");
    raster_free(raster);
    return STATUS_OK;
}

/* Where a line of text begins, mm, and how wide it may be. */
typedef struct Line {
    double x, y, width;
} Line;

/* A paragraph of one line, narrowed and then made smaller where it is too wide. */
static void put_line(Draw *draw, Type type, Ink ink, Line at, const char *text)
{
    Sheet sheet = {.draw = draw};
    draw_tag(draw, "P");
    draw_text(draw, sheet_squeeze(&sheet, type, at.width, text), ink, at.x, at.y, text);
    draw_tag_end(draw, "P");
}

static Line below(Line at, double mm) { return (Line){at.x, at.y + mm, at.width}; }

static void put_figures(Draw *draw, const CompareSheet *sheet, int rank, Line at)
{
    const Candidate *v = sheet->variant[rank];
    char text[400], dither[40], a[40], b[40], c[40], d[40];
    snprintf(text, sizeof text, "%d. %s, %s, %d × %d%s", rank + 1, v->name,
             dither_name(&v->job, dither, sizeof dither), v->columns, v->rows,
             v->holds ? "" : ", does not hold");
    put_line(draw, TYPE_STRONG, v->holds ? INK_TEXT : INK_ACCENT, below(at, 3.6), text);
    number_text(a, sizeof a, v->mean, 2);
    number_text(b, sizeof b, v->p95, 1);
    number_text(c, sizeof c, v->worst, 1);
    snprintf(text, sizeof text, "seen %s, 95 %% under %s; worst %s at column %d, row %d", a, b, c,
             v->worst_column, v->worst_row);
    put_line(draw, TYPE_SMALL, INK_TEXT, below(at, 7.8), text);
    number_text(a, sizeof a, (double)v->bricks, 0);
    number_text(b, sizeof b, v->mass_kg, 1);
    number_text(c, sizeof c, v->hours, 0);
    number_text(d, sizeof d, v->unrest[1], 2);
    snprintf(text, sizeof text, "unrest %s, %d colours, %s bricks, %s kg, %s h", d, v->colours, a,
             b, c);
    put_line(draw, TYPE_SMALL, INK_TEXT, below(at, 11.6), text);
    number_text(a, sizeof a, v->price, 2);
    snprintf(text, sizeof text, "%s%s%s", a, *sheet->job->currency ? " " : "",
             sheet->job->currency);
    put_line(draw, TYPE_SMALL, v->priced ? INK_TEXT : INK_SOFT, below(at, 15.4),
             v->priced ? text : "not priced");
}

/* From white for 0 to CANDIDATE_DARK and beyond. */
static void put_ink_scale(Draw *draw, double right, double y)
{
    enum { STEPS = 40 };
    const double width = 50.0;
    for (int i = 0; i < STEPS; i++) {
        uint8_t rgb[3];
        candidate_ink(CANDIDATE_DARK * (i + 0.5) / STEPS, rgb);
        draw_rect(draw, right - width + width * i / STEPS, y, width / STEPS + 0.02, 3.0);
        draw_fill(draw, (Ink){rgb[0] / 255.0, rgb[1] / 255.0, rgb[2] / 255.0});
    }
    char text[32];
    number_text(text, sizeof text, CANDIDATE_DARK, 0);
    draw_text(draw, TYPE_SMALL, INK_SOFT, right - width, y + 6.2, "0");
    draw_text_right(draw, TYPE_SMALL, INK_SOFT, right, y + 6.2, text);
    draw_text_right(draw, TYPE_SMALL, INK_SOFT, right - width - 3.0, y + 2.6,
                    "seen difference, CIEDE2000");
}

static void put_head(Draw *draw, const CompareSheet *sheet)
{
    char text[320], distance[40], sort[40];
    job_show(sheet->job, setting_find("sort"), sort, sizeof sort);
    number_text(distance, sizeof distance, sheet->job->distance / 1000, 1);
    draw_tag(draw, "H1");
    draw_text(draw, TYPE_HEAD, INK_TEXT, EDGE, EDGE + 4.5, "Compared");
    draw_tag_end(draw, "H1");
    snprintf(text, sizeof text, "%.120s from %s m; sorted by %s", sheet->reference->file, distance,
             sort);
    put_line(draw, TYPE_BODY, INK_SOFT, (Line){EDGE, EDGE + 9.5, SHEET_WIDTH / 2}, text);
    put_ink_scale(draw, SHEET_WIDTH - EDGE, EDGE + 2.0);
}

static Status put_reference(Draw *draw, const CompareSheet *sheet, const Layout *l, Fault *fault)
{
    Thumb thumb = {0};
    const Image *image = sheet->image;
    const Frame frame = {EDGE, HEAD_HEIGHT, l->picture_width, l->picture_height};
    const Brief brief = brief_of(&sheet->variant[0]->job, NULL, NULL);
    Status status = thumb_of_view(&thumb, image, &brief, fault);
    if (!status)
        status =
            put_thumb(draw, &thumb, cell_aspect(sheet->job) * image->rows / image->columns, &frame,
                      "The picture, averaged over cells, seen from the distance.", fault);
    memory_free(thumb.rgb);
    if (!status)
        put_line(draw, TYPE_STRONG, INK_TEXT,
                 (Line){EDGE, HEAD_HEIGHT + l->picture_height + 3.6, l->card},
                 "The picture in cells, from the same distance");
    return status;
}

static Status put_cards(Draw *draw, const CompareSheet *sheet, const Layout *l, Fault *fault)
{
    for (int i = 0; i < sheet->variants; i++) {
        const Candidate *v = sheet->variant[i];
        const double cell = cell_aspect(&v->job);
        const double aspect = cell * v->rows / v->columns;
        const double x = EDGE + (i + 1) % l->abreast * (l->card + GAP);
        const double y =
            HEAD_HEIGHT + (i + 1) / l->abreast * (l->picture_height + TEXT_HEIGHT + GAP);
        const Frame left = {x, y, l->picture_width, l->picture_height};
        const Frame right = {x + l->picture_width + PAIR_GAP, y, l->picture_width,
                             l->picture_height};
        Status status =
            put_thumb(draw, &v->view, aspect, &left, "The mural seen from the distance.", fault);
        if (!status)
            status = put_thumb(draw, &v->map, aspect, &right,
                               "Where it differs from the picture: the darker, the more.", fault);
        if (status) return status;
        put_figures(draw, sheet, i, (Line){x, y + l->picture_height, l->card});
    }
    return STATUS_OK;
}

static Status put_sheet(Draw *draw, const CompareSheet *sheet, const Layout *l, Fault *fault)
{
    draw_tag(draw, "Document");
    put_head(draw, sheet);
    Status status = put_reference(draw, sheet, l, fault);
    if (!status) status = put_cards(draw, sheet, l, fault);
    draw_tag_end(draw, "Document");
    if (!status) status = draw_page_end(draw, fault);
    if (!status) status = draw_close(draw, fault);
    draw_free(draw);
    return status;
}

Status compare_sheet_pdf(const CompareSheet *sheet, const char *path, Fault *fault)
{
    char title[280];
    const Layout l = lay_out(sheet);
    Draw *draw;
    snprintf(title, sizeof title, "Compared: %.255s", sheet->reference->file);
    const Status status = draw_create(&draw, path, SHEET_WIDTH, l.height, title, fault);
    return status ? status : put_sheet(draw, sheet, &l, fault);
}

Status compare_sheet_png(const CompareSheet *sheet, const char *path, Fault *fault)
{
    const Layout l = lay_out(sheet);
    Draw *draw;
    const Status status =
        draw_create_picture(&draw, path, SHEET_WIDTH, l.height, SHEET_DOTS_MM, fault);
    return status ? status : put_sheet(draw, sheet, &l, fault);
}

/* ---- the table ---- */

Status compare_sheet_csv(const CompareSheet *sheet, const char *path, Fault *fault)
{
    CsvSheet csv;
    const Status status = csv_sheet_open(&csv, path, TABLE_COMPARE, fault);
    if (status) return status;
    for (int i = 0; i < sheet->variants; i++) {
        const Candidate *v = sheet->variant[i];
        char dither[40];
        csv_put_whole(&csv, i + 1);
        csv_put_text(&csv, v->name);
        csv_put_text(&csv, dither_name(&v->job, dither, sizeof dither));
        csv_put_whole(&csv, v->columns);
        csv_put_whole(&csv, v->rows);
        csv_put_number(&csv, 4, v->mean);
        csv_put_number(&csv, 4, v->p95);
        for (int k = 0; k < UNREST_CELLS; k++) csv_put_number(&csv, 4, v->unrest[k]);
        csv_put_number(&csv, 4, v->worst);
        csv_put_whole(&csv, v->worst_column);
        csv_put_whole(&csv, v->worst_row);
        csv_put_whole(&csv, v->colours);
        csv_put_whole(&csv, v->bricks);
        if (v->priced)
            csv_put_number(&csv, 4, v->price);
        else
            csv_put_text(&csv, "");
        csv_put_number(&csv, 3, v->mass_kg);
        csv_put_number(&csv, 2, v->hours);
        csv_put_whole(&csv, v->holds);
        csv_end_record(&csv);
    }
    return csv_sheet_close(&csv, fault);
}

/* ---- the offer ---- */

Status compare_sheet_offer(const CompareSheet *sheet, const char *path, Fault *fault)
{
    OfferSheet offer = {.job = sheet->job, .picture = sheet->reference->file};
    char name[OFFER_OPTIONS][300];
    for (int i = 0; i < OFFER_OPTIONS && i < sheet->variants; i++) {
        const Candidate *v = sheet->variant[i];
        char dither[40];
        bool other = false; /* mixing is told where it tells options apart */
        for (int k = 0; k < sheet->variants; k++)
            other |= sheet->variant[k]->job.dither != v->job.dither;
        snprintf(name[i], sizeof name[i], "%s%s%s", v->name, other ? ", " : "",
                 other ? dither_name(&v->job, dither, sizeof dither) : "");
        offer.option[offer.options++] = (OfferOption){name[i],
                                                      v->offer,
                                                      {v->view.columns, v->view.rows, v->view.rgb},
                                                      {v->near.width, v->near.height, v->near.rgb}};
    }
    return offer_page_write(&offer, path, fault);
}
