#include "book/book.h"

#include "base/memory.h"
#include "book/chart.h"
#include "book/draw.h"
#include "book/end_pages.h"
#include "book/front_pages.h"
#include "book/handling_pages.h"
#include "book/legend.h"
#include "book/panel_pages.h"
#include "book/sheet.h"

#include <stdio.h>

#define MARGIN 14.0 /* mm, at the sides; room for a clip or a ring */
#define HEAD 20.0
#define FOOT 10.0
enum { FACE_PIXELS = 1200, PALE_PIXELS = 500 };

/* Landscape: a panel of 48 columns goes on a page at 5 mm a cell, and a book that
 * lies open on a bench is wide. */
static void lay_out(Sheet *s, const Mural *mural)
{
    s->mural = mural;
    s->width = mural->job->paper == PAPER_LETTER ? 279.4 : 297.0;
    s->height = mural->job->paper == PAPER_LETTER ? 215.9 : 210.0;
    s->left = MARGIN;
    s->right = s->width - MARGIN;
    s->top = HEAD;
    s->bottom = s->height - FOOT;
    snprintf(s->title, sizeof s->title, "Build book: %s", mural->reference->file);
}

static Status write_panels(Sheet *s, Fault *fault)
{
    const Panels *panels = s->mural->panels;
    const int parent = draw_bookmark(s->draw, 0, s->page + 1, "Panels");
    Status status = STATUS_OK;
    for (int i = 0; i < panels->count && !status; i++) {
        if (!chart_stands(s->mural, i)) {
            draw_bookmark(s->draw, parent, s->page + 1, panels->panel[i].name);
            status = panel_pages(s, i, fault);
        }
        voice_progress(s->voice, "book", (i + 1.0) / panels->count);
    }
    return status;
}

static Status write_pages(Sheet *s, const char *path, Fault *fault)
{
    Status status = draw_create(&s->draw, path, s->width, s->height, s->title, fault);
    if (status) return status;
    draw_tag(s->draw, "Document");
    status = front_pages(s, fault);
    if (!status) status = write_panels(s, fault);
    if (!status) status = handling_pages(s, fault);
    if (!status) status = end_pages(s, fault);
    draw_tag_end(s->draw, "Document");
    if (!status) status = sheet_end(s, fault);
    if (!status) status = draw_close(s->draw, fault);
    draw_free(s->draw);
    return status;
}

static Status make_key(Legend **key_out, const Mural *mural, Fault *fault)
{
    bool used[PALETTE_MOST] = {false};
    for (size_t i = 0; i < mural->laid->count; i++) used[mural->laid->brick[i].colour] = true;
    return legend_create(key_out, mural->palette, used, fault);
}

/* What every page may use. */
static Status prepare(Sheet *s, Legend **key, Raster *face[2], int **hanging, Fault *fault)
{
    const Mural *m = s->mural;
    const size_t panels = (size_t)m->panels->count;
    const int cells[4] = {0, 0, m->grid->columns, m->grid->rows};
    *hanging = memory_create(panels, sizeof **hanging);
    if (!*hanging) return memory_fault(fault, panels, sizeof **hanging);
    chart_hanging(m->panels, *hanging);
    Status status = make_key(key, m, fault);
    if (!status) status = sheet_face(&face[0], m, cells, FACE_PIXELS, 1.0, fault);
    if (!status) status = sheet_face(&face[1], m, cells, PALE_PIXELS, 0.25, fault);
    s->key = *key;
    s->face = face[0];
    s->pale = face[1];
    s->hanging = *hanging;
    return status;
}

Status book_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault)
{
    Sheet sheet = {.voice = voice};
    Legend *key = NULL;
    Raster *face[2] = {NULL, NULL};
    int *hanging = NULL;
    lay_out(&sheet, mural);
    Status status = prepare(&sheet, &key, face, &hanging, fault);
    if (!status) status = write_pages(&sheet, path, fault);
    raster_free(face[0]);
    raster_free(face[1]);
    legend_free(key);
    memory_free(hanging);
    return status;
}
