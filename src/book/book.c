/* The book is written from front to back, page after page, in one pass: cover, how to read, map,
 * then each panel with its bags and charts, then how panels are photographed, labels, crates, parts
 * and the colour key. What all pages use - the legend, the face as a picture, the order of hanging
 * - is made once before.
 *
 * Nothing on a page depends on one after it, so no page is held: links forward go by name. A panel
 * that stands already has no pages. The book of a panel alone has the same pages, numbered from 1,
 * and the same symbols as all others. */
#include "book/book.h"

#include "base/folder.h"
#include "base/memory.h"
#include "book/chart.h"
#include "book/draw.h"
#include "book/end_pages.h"
#include "book/front_pages.h"
#include "book/handling_pages.h"
#include "book/legend.h"
#include "book/panel_pages.h"
#include "book/photo_page.h"
#include "book/sheet.h"

#include <stdio.h>

/* Of the face on the cover, about 190 an inch there, and of the ground of maps. */
enum { FACE_PIXELS = 1200, PALE_PIXELS = 500 };
#define PALE 0.25 /* strength of that ground: names on it must be read */

static Status write_panels(Sheet *s, Fault *fault)
{
    const Panels *panels = s->mural->panels;
    const int parent = draw_bookmark(s->draw, 0, s->page + 1, "Panels");
    Status status = STATUS_OK;
    for (int i = 0; i < panels->count && !status; i++) {
        if (panel_has_book(s->mural, i)) {
            draw_bookmark(s->draw, parent, s->page + 1, panels->panel[i].name);
            status = panel_pages(s, i, fault);
        }
        voice_progress(s->voice, "book", (i + 1.0) / panels->count);
    }
    return status;
}

static Status write_book(Sheet *s, const char *path, Fault *fault)
{
    Status status = draw_create(&s->draw, path, s->width, s->height, s->title, fault);
    if (status) return status;
    draw_tag(s->draw, "Document");
    status = front_pages(s, fault);
    if (!status && s->mural->job->book != BOOK_PANELS) status = write_panels(s, fault);
    if (!status) status = photo_page(s, fault);
    if (!status) status = handling_pages(s, fault);
    if (!status) status = end_pages(s, fault);
    draw_tag_end(s->draw, "Document");
    if (!status) status = sheet_end(s, fault);
    if (!status) status = draw_close(s->draw, fault);
    draw_free(s->draw);
    return status;
}

/* What every page may use. */
static Status prepare_sheet(Sheet *s, Legend **key, Raster *face[2], int **hanging, Fault *fault)
{
    const Mural *m = s->mural;
    const size_t panels = (size_t)m->panels->count;
    const CellBlock cells = cells_of_face(m->grid);
    *hanging = memory_create(panels, sizeof **hanging);
    if (!*hanging) return memory_fault(fault, panels, sizeof **hanging);
    chart_hanging(m->panels, *hanging);
    Status status = legend_of_laid(key, m->palette, m->laid, fault);
    if (!status) status = sheet_face(&face[0], m, &cells, FACE_PIXELS, 1.0, fault);
    if (!status) status = sheet_face(&face[1], m, &cells, PALE_PIXELS, PALE, fault);
    s->key = *key;
    s->face = face[0];
    s->pale = face[1];
    s->hanging = *hanging;
    return status;
}

/* The book, or the books of panels. */
typedef Status Writer(Sheet *sheet, const char *path, Fault *fault);

static Status write_prepared(const Mural *mural, const char *path, Writer *writer,
                             const Voice *voice, Fault *fault)
{
    Sheet sheet = {.voice = voice};
    Legend *key = NULL;
    Raster *face[2] = {NULL, NULL};
    int *hanging = NULL;
    sheet_lay_out(&sheet, mural, "Build book");
    Status status = prepare_sheet(&sheet, &key, face, &hanging, fault);
    if (!status) status = writer(&sheet, path, fault);
    raster_free(face[0]);
    raster_free(face[1]);
    legend_free(key);
    memory_free(hanging);
    return status;
}

Status book_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault)
{
    return write_prepared(mural, path, write_book, voice, fault);
}

/* ---- the book of a panel ---- */

bool panel_has_book(const Mural *mural, int panel) { return !chart_stands(mural, panel); }

static Status write_panel_book(Sheet *s, int panel, const char *path, Fault *fault)
{
    const Mural *m = s->mural;
    bool used[PALETTE_MOST] = {false};
    size_t first, count;
    char title[80];
    chart_panel(m, panel, &first, &count);
    for (size_t i = first; i < first + count; i++) used[m->laid->brick[i].colour] = true;
    snprintf(title, sizeof title, "Panel %s", m->panels->panel[panel].name);
    sheet_lay_out(s, m, title);
    s->page = 0;
    Status status = draw_create(&s->draw, path, s->width, s->height, s->title, fault);
    if (status) return status;
    draw_tag(s->draw, "Document");
    draw_bookmark(s->draw, 0, 1, title);
    status = panel_pages(s, panel, fault);
    if (!status) draw_bookmark(s->draw, 0, s->page + 1, "Colour key");
    if (!status) status = key_pages(s, used, fault);
    draw_tag_end(s->draw, "Document");
    if (!status) status = sheet_end(s, fault);
    if (!status) status = draw_close(s->draw, fault);
    draw_free(s->draw);
    return status;
}

static Status write_panel_books(Sheet *s, const char *folder, Fault *fault)
{
    const Panels *panels = s->mural->panels;
    Status status = STATUS_OK;
    for (int i = 0; i < panels->count && !status; i++) {
        char path[FOLDER_PATH], name[64];
        snprintf(name, sizeof name, "%s.pdf", panels->panel[i].name);
        if (!folder_join(path, folder, name))
            return fault_set(fault, STATUS_NO_CREATE, "%s: name too long; choose another --out",
                             folder);
        if (panel_has_book(s->mural, i)) status = write_panel_book(s, i, path, fault);
        voice_progress(s->voice, "book", (i + 1.0) / panels->count);
    }
    return status;
}

Status panel_books_write(const Mural *mural, const char *folder, const Voice *voice, Fault *fault)
{
    return write_prepared(mural, folder, write_panel_books, voice, fault);
}
