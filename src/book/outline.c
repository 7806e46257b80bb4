/* A mark is drawn by the outlines of the typeface that prints the books, moved into a square of 100
 * units and rounded to whole ones: a browser without that typeface shows the same shapes.
 *
 * All single marks share one scale, that of the typeface's em, so that a small mark stays small; a
 * pair is made narrower until it fits. Sources: FreeType's outlines; SVG 1.1, 8.3 (path data). */
#include "book/outline.h"

#include "base/memory.h"
#include "base/text.h"

#include <ft2build.h>
#include FT_FREETYPE_H
#include FT_BBOX_H
#include FT_OUTLINE_H

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

extern const unsigned char font_regular[], font_regular_end[];

struct Outlines {
    FT_Library library;
    FT_Face face;
};

/* A path being written: where font units go in the square, and what is there so far. */
typedef struct Pen {
    double scale, x, y; /* square = scale * font + (x, y), y turned over */
    char *text;
    size_t length, capacity;
    Status status;
    Fault *fault;
} Pen;

static bool open_face(Outlines *o, const unsigned char *begin, const unsigned char *end)
{
    return !FT_Init_FreeType(&o->library) &&
           !FT_New_Memory_Face(o->library, begin, (FT_Long)(end - begin), 0, &o->face);
}

Status outlines_create(Outlines **outlines_out, Fault *fault)
{
    Outlines *o = memory_create(1, sizeof *o);
    if (!o) return memory_fault(fault, 1, sizeof *o);
    if (!open_face(o, font_regular, font_regular_end)) {
        outlines_free(o);
        return fault_set(fault, STATUS_NO_RESOURCE,
                         "book.html: the typeface cannot be opened; build the program again");
    }
    *outlines_out = o;
    return STATUS_OK;
}

void outlines_free(Outlines *o)
{
    if (!o) return;
    if (o->face) FT_Done_Face(o->face);
    if (o->library) FT_Done_FreeType(o->library);
    memory_free(o);
}

/* A command and its points, rounded to whole units of the square. */
static int pen_put(Pen *pen, char command, const FT_Vector *const *points, int count)
{
    char piece[64];
    int length = snprintf(piece, sizeof piece, "%c", command);
    for (int i = 0; i < count; i++)
        length += snprintf(piece + length, sizeof piece - (size_t)length, "%s%ld %ld", i ? " " : "",
                           lround(pen->scale * (double)points[i]->x + pen->x),
                           lround(pen->y - pen->scale * (double)points[i]->y));
    pen->status =
        memory_grow(&pen->text, &pen->capacity, pen->length + (size_t)length + 1, 1, pen->fault);
    if (pen->status) return 1;
    memcpy(pen->text + pen->length, piece, (size_t)length + 1);
    pen->length += (size_t)length;
    return 0;
}

static int move_to(const FT_Vector *to, void *pen)
{
    return pen_put(pen, 'M', (const FT_Vector *const[]){to}, 1);
}
static int line_to(const FT_Vector *to, void *pen)
{
    return pen_put(pen, 'L', (const FT_Vector *const[]){to}, 1);
}
static int conic_to(const FT_Vector *by, const FT_Vector *to, void *pen)
{
    return pen_put(pen, 'Q', (const FT_Vector *const[]){by, to}, 2);
}
static int cubic_to(const FT_Vector *a, const FT_Vector *b, const FT_Vector *to, void *pen)
{
    return pen_put(pen, 'C', (const FT_Vector *const[]){a, b, to}, 3);
}

/* The glyph of the text's next character, in font units. */
static FT_GlyphSlot load_next(Outlines *o, const char **text)
{
    uint32_t point = 0;
    const int bytes = text_point(*text, strlen(*text), &point);
    *text += bytes ? bytes : 1;
    if (FT_Load_Char(o->face, point, FT_LOAD_NO_SCALE)) return NULL;
    return o->face->glyph;
}

/* Scale and offset that set the ink of the whole text in the middle of the square. */
static void pen_fit(Pen *pen, Outlines *o, const char *text)
{
    FT_BBox ink = {0, 0, 1, 1};
    FT_Pos advance = 0;
    for (int n = 0; *text; n++) {
        const FT_GlyphSlot glyph = load_next(o, &text);
        FT_BBox box;
        if (!glyph || FT_Outline_Get_BBox(&glyph->outline, &box)) continue;
        if (!n || box.xMin + advance < ink.xMin) ink.xMin = box.xMin + advance;
        if (!n || box.xMax + advance > ink.xMax) ink.xMax = box.xMax + advance;
        if (!n || box.yMin < ink.yMin) ink.yMin = box.yMin;
        if (!n || box.yMax > ink.yMax) ink.yMax = box.yMax;
        advance += glyph->metrics.horiAdvance;
    }
    const double width = (double)(ink.xMax - ink.xMin), height = (double)(ink.yMax - ink.yMin);
    /* All single marks share one scale, so that a small mark stays small. */
    pen->scale = fmin(100.0 / o->face->units_per_EM, 100.0 / fmax(width, height));
    pen->x = 50.0 - 0.5 * pen->scale * (double)(ink.xMin + ink.xMax);
    pen->y = 50.0 + 0.5 * pen->scale * (double)(ink.yMin + ink.yMax);
}

Status outline_path(Outlines *o, const char *text, char **path_out, Fault *fault)
{
    static const FT_Outline_Funcs draw = {move_to, line_to, conic_to, cubic_to, 0, 0};
    Pen pen = {.fault = fault};
    pen_fit(&pen, o, text);
    pen.status = memory_grow(&pen.text, &pen.capacity, 1, 1, fault);
    while (*text && !pen.status) {
        const FT_GlyphSlot glyph = load_next(o, &text);
        if (!glyph) continue;
        const FT_Pos advance = glyph->metrics.horiAdvance;
        if (FT_Outline_Decompose(&glyph->outline, &draw, &pen) && !pen.status)
            pen.status = fault_set(fault, STATUS_NO_RESOURCE,
                                   "book.html: a mark cannot be drawn; build the program again");
        pen.x += pen.scale * (double)advance;
    }
    if (pen.status)
        memory_free(pen.text);
    else
        *path_out = pen.text;
    return pen.status;
}
