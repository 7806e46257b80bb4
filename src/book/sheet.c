#include "book/sheet.h"

#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

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
    draw_text_right(s->draw, light, INK_SOFT,
                    s->right - draw_text_width(s->draw, strong, number) - 4.0, s->top - 5.0,
                    s->title);
    draw_line(s->draw, s->left, s->top - 3.2, s->right, s->top - 3.2);
    draw_stroke(s->draw, INK_RULE, 0.2);
}

Status sheet_begin(Sheet *sheet, const char *head, bool plain, Fault *fault)
{
    if (voice_stopped(sheet->voice))
        return fault_set(fault, STATUS_INTERRUPTED, "book.pdf: stopped; run the plan again");
    const Status status = sheet_end(sheet, fault);
    if (status) return status;
    sheet->page++;
    sheet->y = sheet->top;
    char label[16];
    snprintf(label, sizeof label, "%d", sheet->page);
    draw_page_label(sheet->draw, label);
    if (!plain) furniture(sheet, head);
    return STATUS_OK;
}

static double leading(Type type) { return type.size * POINT_MM * 1.38; }

double sheet_paragraph(const Sheet *s, Type type, Ink ink, double x, double y, double width,
                       const char *text, bool draw)
{
    char line[400] = "", word[200];
    size_t length = 0;
    for (;;) {
        while (*text == ' ') text++;
        const size_t n = strcspn(text, " ");
        snprintf(word, sizeof word, "%s%.*s", length ? " " : "", (int)n, text);
        const double so_far = length ? draw_text_width(s->draw, type, line) : 0.0;
        const bool full = length && (so_far + draw_text_width(s->draw, type, word) > width ||
                                     length + strlen(word) + 2 > sizeof line);
        if (full || (!n && length)) {
            /* The space at the end keeps words apart for readers of the text. */
            if (draw) draw_text(s->draw, type, ink, x, y, strcat(line, n ? " " : ""));
            y += leading(type);
            length = 0;
            line[0] = '\0';
            if (!n) return y;
            continue;
        }
        if (!n) return y;
        strcpy(line + length, word);
        length += strlen(word);
        text += n;
    }
}

void sheet_say(Sheet *s, Type type, Ink ink, double x, double width, const char *text)
{
    draw_tag(s->draw, "P");
    s->y = sheet_paragraph(s, type, ink, x, s->y + type.size * POINT_MM, width, text, true) -
           type.size * POINT_MM;
    draw_tag_end(s->draw, "P");
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
    const double part = width / natural, least = 0.62;
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

/* The mean of a block of cells, by counting nothing but linear light. */
static void mean_of(const Mural *m, const Rgb *linear, int c0, int c1, int r0, int r1,
                    uint8_t out[3])
{
    Rgb sum = {0};
    for (int row = r0; row < r1; row++)
        for (int column = c0; column < c1; column++) {
            const Rgb *c = &linear[grid_colour(m->grid, column, row)];
            sum.r += c->r, sum.g += c->g, sum.b += c->b;
        }
    const double n = (double)(c1 - c0) * (r1 - r0);
    srgb8_from_linear((Rgb){sum.r / n, sum.g / n, sum.b / n}, out);
}

static void fade(uint8_t rgb[3], double strength)
{
    for (int i = 0; i < 3; i++) rgb[i] = (uint8_t)(255.5 - strength * (255 - rgb[i]));
}

Status sheet_face(Raster **raster_out, const Mural *m, const int cells[4], int most,
                  double strength, Fault *fault)
{
    Rgb linear[PALETTE_MOST];
    for (int i = 0; i < m->palette->count; i++) {
        const uint8_t *c = m->palette->colour[i].srgb;
        linear[i] =
            (Rgb){srgb_decode(c[0] / 255.0), srgb_decode(c[1] / 255.0), srgb_decode(c[2] / 255.0)};
    }
    const int column = cells[0], row = cells[1], columns = cells[2], rows = cells[3];
    const int longest = columns > rows ? columns : rows;
    const int block = (longest + most - 1) / most;
    const int across = (columns + block - 1) / block, down = (rows + block - 1) / block;
    Raster *raster;
    const Status status = raster_create(&raster, across, down, fault);
    if (status) return status;
    for (int y = 0; y < down; y++)
        for (int x = 0; x < across; x++) {
            const int c0 = column + x * block, r0 = row + y * block;
            const int c1 = c0 + block < column + columns ? c0 + block : column + columns;
            const int r1 = r0 + block < row + rows ? r0 + block : row + rows;
            uint8_t rgb[3];
            if (block == 1)
                memcpy(rgb, m->palette->colour[grid_colour(m->grid, c0, r0)].srgb, 3);
            else
                mean_of(m, linear, c0, c1, r0, r1, rgb);
            fade(rgb, strength);
            raster_set(raster, x, down - 1 - y, rgb);
        }
    *raster_out = raster;
    return STATUS_OK;
}

Status sheet_picture(const Sheet *s, const Panel *p, double x, double y, double width,
                     double height, int most, const char *what, Fault *fault)
{
    const Mural *m = s->mural;
    const int cells[4] = {p->column, p->row, p->columns, p->rows};
    Raster *raster;
    const Status status = sheet_face(&raster, m, cells, most, 1.0, fault);
    if (status) return status;
    const double full_width = p->columns * m->cell_width_mm,
                 full_height = p->rows * m->cell_height_mm;
    const double scale = fmin(width / full_width, height / full_height);
    draw_figure(s->draw, what);
    draw_raster(s->draw, raster, x, y, full_width * scale, full_height * scale);
    draw_rect(s->draw, x, y, full_width * scale, full_height * scale);
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

void map_box(const Map *map, const Grid *grid, int column, int row, int columns, int rows,
             double box[4])
{
    box[0] = map->x + column * map->scale_x;
    box[1] = map->y + (grid->rows - row - rows) * map->scale_y;
    box[2] = columns * map->scale_x;
    box[3] = rows * map->scale_y;
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
