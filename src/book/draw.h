/* Draw: pages of a PDF: paths, text, pictures and the document's structure. The one
 * module that knows cairo and FreeType.
 *
 * Lengths are millimetres from the page's upper left corner, y downward; sizes of type are
 * points. The first failure sticks: what is drawn after it is dropped, and the next page
 * end or draw_close reports it. The same calls give the same bytes: the typeface is
 * part of the program, the date is a constant. */
#ifndef ROWLOCK_BOOK_DRAW_H
#define ROWLOCK_BOOK_DRAW_H

#include "base/status.h"

#include <stddef.h>
#include <stdint.h>

typedef struct Draw Draw;
typedef struct Raster Raster;

typedef struct Ink {
    double r, g, b; /* sRGB, encoded, 0 to 1 */
} Ink;

typedef enum Weight { WEIGHT_REGULAR, WEIGHT_BOLD } Weight;

typedef struct Type {
    Weight weight;
    double size;    /* points */
    double squeeze; /* width as a part of the drawn width: 1 is plain */
} Type;

#define POINT_MM (25.4 / 72.0)

/* Creates the file. Pages are width x height unless changed before their first mark. */
Status draw_create(Draw **draw_out, const char *path, double width_mm, double height_mm,
                   const char *title, Fault *fault);
/* The same marks on one picture, a PNG of so many dots a millimetre; it has no structure. */
Status draw_create_picture(Draw **draw_out, const char *path, double width_mm, double height_mm,
                           double dots_mm, Fault *fault);
/* Writes what is left and closes the file. */
Status draw_close(Draw *draw, Fault *fault);
/* Frees; a file that was not closed well is removed. */
void draw_free(Draw *draw);

/* Ends the page; the next mark stands on a new one. */
Status draw_page_end(Draw *draw, Fault *fault);
/* Of the page to come and those after it; right after a page has ended, for cairo forgets what came
 * between, tags too. */
void draw_page_size(Draw *draw, double width_mm, double height_mm);
void draw_page_label(Draw *draw, const char *label);

/* Paths gather until filled or stroked. */
void draw_rect(Draw *draw, double x, double y, double width, double height);
void draw_line(Draw *draw, double x0, double y0, double x1, double y1);
void draw_line_on(Draw *draw, double x, double y); /* from the path's end */
void draw_close_line(Draw *draw);
void draw_circle(Draw *draw, double x, double y, double radius);
void draw_fill(Draw *draw, Ink ink);
void draw_stroke(Draw *draw, Ink ink, double width);
/* Both, in one: half the bytes of a path that is filled, then stroked. */
void draw_fill_and_stroke(Draw *draw, Ink fill, Ink stroke, double width);
void draw_stroke_dashed(Draw *draw, Ink ink, double width, double dash);

/* Text, UTF-8, from x on the baseline y. */
void draw_text(Draw *draw, Type type, Ink ink, double x, double y, const char *text);
void draw_text_right(Draw *draw, Type type, Ink ink, double x, double y, const char *text);
void draw_text_centre(Draw *draw, Type type, Ink ink, double x, double y, const char *text);
double draw_text_width(const Draw *draw, Type type, const char *text);
/* Sets the text so that the middle of its ink stands on (x, y). Marks that follow each other may
 * come in any order: none is to lie on another. */
void draw_mark(Draw *draw, Type type, Ink ink, double x, double y, const char *text);

/* A picture of columns x rows pixels, row 0 on top; all are set before it is drawn first. */
Status raster_create(Raster **raster_out, int columns, int rows, Fault *fault);
void raster_set(Raster *raster, int column, int row, const uint8_t rgb[3]);
void raster_free(Raster *raster);
void draw_raster(Draw *draw, const Raster *raster, double x, double y, double width, double height);

/* Structure (ISO 32000-1, 14.8.4): "Sect", "H1", "P", "Table", "TR", "TH", "TD". Tags nest; the
 * end of one ends those in it, where what came between failed. Names are not copied. */
void draw_tag(Draw *draw, const char *name);
void draw_tag_end(Draw *draw, const char *name);
/* "TH" is the head of a row; this is one of a column. */
void draw_column_head(Draw *draw);
/* A figure with its alternative text; ends with draw_tag_end(draw, "Figure"). */
void draw_figure(Draw *draw, const char *alternative);
/* A bookmark to the top of page `page` (from 1) below `parent` (0: the top). */
int draw_bookmark(Draw *draw, int parent, int page, const char *text);
/* A link from a box of this page, mm, to a target, which may come later; what: in words. */
void draw_link(Draw *draw, const double box[4], const char *target, const char *what);
/* The same to another file, by its path from this one's folder: a relative URI, ISO 32000-1,
 * 12.6.4.7, since cairo 1.16 refuses links to files. */
void draw_link_file(Draw *draw, const double box[4], const char *file, const char *what);
void draw_target(Draw *draw, const char *target);

#endif
