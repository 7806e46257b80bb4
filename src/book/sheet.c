/* What every page of a book shares: its margins and running head, paragraphs, swatches, small
 * pictures and maps. y moves down the sheet as text is set; what is drawn at a place does not move
 * it.
 *
 * Lengths are millimetres from the upper left corner, sizes of type points. Here and in the pages,
 * places and widths of lines are set by eye on printed pages, without another source; colours of
 * cells are the palette's, means of them are taken in linear light (IEC 61966-2-1). */
#include "book/sheet.h"

#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MARGIN 14.0 /* mm, at the sides; room for a clip or a ring */
#define HEAD 20.0
#define FOOT 10.0
enum { WORD = 200 };       /* bytes: a longer word is parted */
#define LEADING 1.38       /* from baseline to baseline, of the size of type: by eye */
#define LEAST_SQUEEZE 0.62 /* narrower than this the type shrinks: by eye */

/* Landscape: a panel of 48 columns goes on a page at 5 mm a cell, and a book that lies open on a
 * bench is wide. */
void sheet_lay_out(Sheet *s, const Mural *mural, const char *title)
{
    const bool letter = mural->job->paper == PAPER_LETTER;
    s->mural = mural;
    s->width = letter ? 279.4 : 297.0;
    s->height = letter ? 215.9 : 210.0;
    s->left = MARGIN;
    s->right = s->width - MARGIN;
    s->top = HEAD;
    s->bottom = s->height - FOOT;
    const char *name = mural_title(mural);
    const bool same = !strcmp(title, name); /* a show that is given no name is called what it is */
    snprintf(s->title, sizeof s->title, "%s%s%s", title, same ? "" : ": ", same ? "" : name);
}

void sheet_turn(Sheet *s, bool upright)
{
    const double longer = fmax(s->width, s->height), shorter = fmin(s->width, s->height);
    s->width = upright ? shorter : longer;
    s->height = upright ? longer : shorter;
    s->right = s->width - MARGIN;
    s->bottom = s->height - FOOT;
}

Status sheet_end(Sheet *sheet, Fault *fault)
{
    return sheet->page ? draw_page_end(sheet->draw, fault) : STATUS_OK;
}

static void furniture(const Sheet *s, const char *head)
{
    char number[16];
    snprintf(number, sizeof number, "%d", s->page);
    const Type strong = {WEIGHT_BOLD, 8.0, 1.0}, light = {WEIGHT_REGULAR, 8.0, 1.0};
    draw_text(s->draw, strong, INK_TEXT, s->left, s->top - 5.0, head);
    draw_text_right(s->draw, strong, INK_ACCENT, s->right, s->top - 5.0, number);
    const double right = s->right - draw_text_width(s->draw, strong, number) - 4.0;
    const double room = right - s->left - draw_text_width(s->draw, strong, head) - 8.0;
    draw_text_right(s->draw, sheet_squeeze(s, light, room, s->title), INK_SOFT, right, s->top - 5.0,
                    s->title);
    draw_line(s->draw, s->left, s->top - 3.2, s->right, s->top - 3.2);
    draw_stroke(s->draw, INK_RULE, 0.2);
}

Status sheet_begin(Sheet *sheet, const char *head, bool plain, Fault *fault)
{
    if (voice_stopped(sheet->voice))
        return fault_set(fault, STATUS_INTERRUPTED, "pages: stopped; run it again");
    const Status status = sheet_end(sheet, fault);
    if (status) return status;
    if (sheet->page) draw_page_size(sheet->draw, sheet->width, sheet->height);
    sheet->page++;
    sheet->y = sheet->top;
    char label[16];
    snprintf(label, sizeof label, "%d", sheet->page);
    draw_page_label(sheet->draw, label);
    if (!plain) furniture(sheet, head);
    return STATUS_OK;
}

static double leading(Type type) { return type.size * POINT_MM * LEADING; }

/* Bytes of the next word; of one that is wider than a line, as much as has room there. */
static size_t word_length(const Sheet *s, const Paragraph *p, const char *text)
{
    char word[WORD];
    size_t n = strcspn(text, " ");
    if (n >= sizeof word - 2) n = sizeof word - 2;
    while (n && ((unsigned char)text[n] & 0xc0) == 0x80) n--;
    for (size_t least = n; least; n = least) {
        snprintf(word, sizeof word, "%.*s", (int)n, text);
        if (draw_text_width(s->draw, p->type, word) <= p->width) break;
        do least--;
        while (least && ((unsigned char)text[least] & 0xc0) == 0x80);
    }
    return n;
}

double sheet_paragraph(const Sheet *s, const Paragraph *p, const char *text)
{
    char line[2 * WORD] = "", word[WORD];
    bool within = false; /* a word that goes on */
    size_t length = 0;
    double y = p->y;
    for (;;) {
        while (*text == ' ') text++, within = false;
        const size_t n = word_length(s, p, text);
        snprintf(word, sizeof word, "%s%.*s", length && !within ? " " : "", (int)n, text);
        const double so_far = length ? draw_text_width(s->draw, p->type, line) : 0.0;
        const bool full = length && (so_far + draw_text_width(s->draw, p->type, word) > p->width ||
                                     length + strlen(word) + 2 > sizeof line);
        if (full || (!n && length)) {
            /* The space at the end keeps words apart for readers of the text. */
            if (!p->measured)
                draw_text(s->draw, p->type, p->ink, p->x, y, strcat(line, n && !within ? " " : ""));
            y += leading(p->type);
            length = 0;
            line[0] = '\0';
            if (!n) return y;
            continue;
        }
        if (!n) return y;
        strcpy(line + length, word);
        length += strlen(word);
        text += n;
        within = true;
    }
}

void sheet_say(Sheet *s, Type type, Ink ink, double x, double width, const char *text)
{
    draw_tag(s->draw, "P");
    const double rise = type.size * POINT_MM;
    s->y = sheet_paragraph(s, &(Paragraph){type, ink, x, s->y + rise, width, false}, text) - rise;
    draw_tag_end(s->draw, "P");
}

void sheet_column_head(const Sheet *s, double x, double y, const char *text)
{
    draw_column_head(s->draw);
    draw_text(s->draw, TYPE_SMALL, INK_SOFT, x, y, text);
    draw_tag_end(s->draw, "TH");
}

void sheet_column_head_right(const Sheet *s, double x, double y, const char *text)
{
    sheet_column_head(s, x - draw_text_width(s->draw, TYPE_SMALL, text), y, text);
}

void sheet_heading(Sheet *s, const char *level, Type type, const char *text)
{
    s->y += type.size * POINT_MM;
    draw_tag(s->draw, level);
    draw_text(s->draw, type, INK_TEXT, s->left, s->y, text);
    draw_tag_end(s->draw, level);
    s->y += 0.5 * type.size * POINT_MM;
}

void sheet_fit(const Sheet *s, Type type, double width, const char *text, char *out, size_t size)
{
    snprintf(out, size, "%s", text);
    size_t length = strlen(out);
    if (length == strlen(text) && draw_text_width(s->draw, type, out) <= width) return;
    while (length) {
        length--;
        while (length && ((unsigned char)out[length] & 0xc0) == 0x80) length--;
        if (length + 4 > size) continue;
        strcpy(out + length, "…");
        if (draw_text_width(s->draw, type, out) <= width) return;
    }
}

Type sheet_squeeze(const Sheet *s, Type type, double width, const char *text)
{
    const double natural = draw_text_width(s->draw, type, text);
    if (natural <= width) return type;
    const double part = width / natural, least = LEAST_SQUEEZE;
    type.squeeze *= fmax(part, least);
    if (part < least) type.size *= part / least;
    return type;
}

Ink sheet_ink(const Sheet *s, int colour)
{
    const uint8_t *c = s->mural->palette->colour[colour].srgb;
    return (Ink){c[0] / 255.0, c[1] / 255.0, c[2] / 255.0};
}

Ink sheet_type_ink(const Sheet *s, int colour)
{
    return s->key->colour[colour].white ? INK_WHITE : INK_BLACK;
}

void sheet_swatch(const Sheet *s, int colour, double x, double y, double width, double height)
{
    const Ink ink = sheet_type_ink(s, colour);
    const char *id = s->mural->palette->colour[colour].id;
    draw_rect(s->draw, x, y, width, height);
    draw_fill(s->draw, sheet_ink(s, colour));
    draw_rect(s->draw, x, y, width, height);
    draw_stroke(s->draw, INK_SOFT, 0.12);
    const Type plain = {WEIGHT_BOLD, fmin(8.0, 0.62 * height / POINT_MM), 1.0};
    draw_mark(s->draw, sheet_squeeze(s, plain, 0.52 * width, id), ink, x + 0.32 * width,
              y + 0.5 * height, id);
    const char *symbol = s->key->colour[colour].symbol;
    const Type mark = {WEIGHT_REGULAR, plain.size, 1.0};
    draw_mark(s->draw, sheet_squeeze(s, mark, 0.34 * width, symbol), ink, x + 0.78 * width,
              y + 0.5 * height, symbol);
}

void sheet_tick(const Sheet *s, double x, double y, double side)
{
    draw_rect(s->draw, x, y, side, side);
    draw_stroke(s->draw, INK_SOFT, 0.18);
}

/* The mean of cells in linear light, as sRGB. */
static void mean_colour(const Mural *m, const Rgb *linear, CellBlock cells, uint8_t out[3])
{
    Rgb sum = {0};
    for (int row = cells.row; row < cells.row + cells.rows; row++)
        for (int column = cells.column; column < cells.column + cells.columns; column++) {
            const Rgb *c = &linear[grid_colour(m->grid, column, row)];
            sum.r += c->r, sum.g += c->g, sum.b += c->b;
        }
    const double n = (double)cells.columns * cells.rows;
    srgb8_from_linear((Rgb){sum.r / n, sum.g / n, sum.b / n}, out);
}

static void fade(uint8_t rgb[3], double strength)
{
    for (int i = 0; i < 3; i++) rgb[i] = (uint8_t)(255.5 - strength * (255 - rgb[i]));
}

static int lesser(int a, int b) { return a < b ? a : b; }

Status sheet_face(Raster **raster_out, const Mural *m, const CellBlock *cells, int most,
                  double strength, Fault *fault)
{
    Rgb linear[PALETTE_MOST];
    for (int i = 0; i < m->palette->count; i++) {
        const uint8_t *c = m->palette->colour[i].srgb;
        linear[i] =
            (Rgb){srgb_decode(c[0] / 255.0), srgb_decode(c[1] / 255.0), srgb_decode(c[2] / 255.0)};
    }
    const int longest = cells->columns > cells->rows ? cells->columns : cells->rows;
    const int block = (longest + most - 1) / most;
    const int across = (cells->columns + block - 1) / block,
              down = (cells->rows + block - 1) / block;
    Raster *raster;
    const Status status = raster_create(&raster, across, down, fault);
    if (status) return status;
    for (int y = 0; y < down; y++)
        for (int x = 0; x < across; x++) {
            const CellBlock under = {cells->column + x * block, cells->row + y * block,
                                     lesser(block, cells->columns - x * block),
                                     lesser(block, cells->rows - y * block)};
            uint8_t rgb[3];
            if (block == 1)
                memcpy(rgb, m->palette->colour[grid_colour(m->grid, under.column, under.row)].srgb,
                       3);
            else
                mean_colour(m, linear, under, rgb);
            fade(rgb, strength);
            raster_set(raster, x, down - 1 - y, rgb);
        }
    *raster_out = raster;
    return STATUS_OK;
}

Status sheet_picture(const Sheet *s, const Panel *p, const Frame *frame, int most, const char *what,
                     Fault *fault)
{
    const Mural *m = s->mural;
    const CellBlock cells = cells_of_panel(p);
    Raster *raster;
    const Status status = sheet_face(&raster, m, &cells, most, 1.0, fault);
    if (status) return status;
    const double full_width = p->columns * m->cell_width_mm,
                 full_height = p->rows * m->cell_height_mm;
    const double scale = fmin(frame->width / full_width, frame->height / full_height);
    draw_figure(s->draw, what);
    draw_raster(s->draw, raster, frame->x, frame->y, full_width * scale, full_height * scale);
    draw_rect(s->draw, frame->x, frame->y, full_width * scale, full_height * scale);
    draw_stroke(s->draw, INK_SOFT, 0.15);
    draw_tag_end(s->draw, "Figure");
    raster_free(raster);
    return STATUS_OK;
}

Map sheet_map(const Sheet *s, double x, double y, double width, double height)
{
    const Mural *m = s->mural;
    const double scale = fmin(width / mural_width_mm(m), height / mural_height_mm(m));
    Map map = {
        .x = x, .y = y, .scale_x = scale * m->cell_width_mm, .scale_y = scale * m->cell_height_mm};
    map.width = map.scale_x * m->grid->columns;
    map.height = map.scale_y * m->grid->rows;
    return map;
}

Frame map_frame(const Map *map, const Grid *grid, CellBlock cells)
{
    return (Frame){map->x + cells.column * map->scale_x,
                   map->y + (grid->rows - cells.row - cells.rows) * map->scale_y,
                   cells.columns * map->scale_x, cells.rows * map->scale_y};
}

/* Lines closer than this are a grey that hides the map, and each page's map has them all. */
#define LEAST_APART 0.6 /* mm */

/* Where all bands are cut alike, lines from side to side do, however many panels there
 * are. */
void sheet_map_panels(const Sheet *s, const Map *map, Ink ink, double line)
{
    const Panels *p = s->mural->panels;
    const double low = map->y + map->height;
    if (map->width < LEAST_APART * p->across || map->height < LEAST_APART * p->up) {
        draw_rect(s->draw, map->x, map->y, map->width, map->height);
        draw_stroke(s->draw, ink, line);
        return;
    }
    for (int band = 0; band < p->up && (p->band || band == 0); band++) {
        const Panel *first = &p->panel[panels_band(p, band)];
        const double foot = low - first->row * map->scale_y;
        const double head = p->band ? foot - first->rows * map->scale_y : map->y;
        for (int i = panels_band(p, band) + 1; i < panels_band(p, band + 1); i++) {
            const double x = map->x + p->panel[i].column * map->scale_x;
            draw_line(s->draw, x, head, x, foot);
        }
    }
    for (int band = 1; band < p->up; band++) {
        const double y = low - p->panel[panels_band(p, band)].row * map->scale_y;
        draw_line(s->draw, map->x, y, map->x + map->width, y);
    }
    draw_rect(s->draw, map->x, map->y, map->width, map->height);
    draw_stroke(s->draw, ink, line);
}
