/* Sheet: the page of the build book: its margins, running head, type, colours of ink and
 * ways of setting text. What stands on a page is decided by the *_pages modules. */
#ifndef ROWLOCK_BOOK_SHEET_H
#define ROWLOCK_BOOK_SHEET_H

#include "base/status.h"
#include "base/voice.h"
#include "book/draw.h"
#include "book/legend.h"
#include "figures/mural.h"

#include <stdbool.h>
#include <stddef.h>

/* Ink: black for what is read, greys for what guides, one accent. */
#define INK_TEXT ((Ink){0.10, 0.10, 0.12})
#define INK_SOFT ((Ink){0.38, 0.38, 0.40})
#define INK_RULE ((Ink){0.70, 0.70, 0.71})
#define INK_FAINT ((Ink){0.93, 0.93, 0.925})
#define INK_WHITE ((Ink){1.0, 1.0, 1.0})
#define INK_BLACK ((Ink){0.0, 0.0, 0.0})
#define INK_ACCENT ((Ink){0.68, 0.20, 0.10})

#define TYPE_TITLE ((Type){WEIGHT_BOLD, 26.0, 1.0})
#define TYPE_HEAD ((Type){WEIGHT_BOLD, 16.0, 1.0})
#define TYPE_SUB ((Type){WEIGHT_BOLD, 10.0, 1.0})
#define TYPE_BODY ((Type){WEIGHT_REGULAR, 9.0, 1.0})
#define TYPE_STRONG ((Type){WEIGHT_BOLD, 9.0, 1.0})
#define TYPE_SMALL ((Type){WEIGHT_REGULAR, 7.0, 1.0})

typedef struct Sheet {
    Draw *draw;
    const Mural *mural;
    const Legend *key;
    const Voice *voice;
    const Raster *face; /* the whole face, small */
    const Raster *pale; /* the same, smaller and pale: a ground for maps */
    const int *hanging; /* order of each panel */
    double width, height, left, right, top, bottom; /* mm; the body lies between */
    double y;                                       /* where the next line of the body goes */
    int page;                                       /* in hand, from 1; 0 before the first */
    char title[280];                                /* of the book */
} Sheet;

/* A landscape page of the job's paper with the title "TITLE: MURAL". Nothing is drawn. */
void sheet_lay_out(Sheet *sheet, const Mural *mural, const char *title);

/* Turns the pages to come: upright, or as they are laid out. */
void sheet_turn(Sheet *sheet, bool upright);

/* Ends the page in hand and starts one with this running head. `plain` leaves head and
 * foot out. */
Status sheet_begin(Sheet *sheet, const char *head, bool plain, Fault *fault);
Status sheet_end(Sheet *sheet, Fault *fault);

typedef struct Paragraph {
    Type type;
    Ink ink;
    double x, y;   /* where the first baseline begins, mm */
    double width;  /* of its lines, mm */
    bool measured; /* nothing is drawn: only where it ends is wanted */
} Paragraph;

#define PARAGRAPH_DEFAULT                                                                          \
    ((Paragraph){.type = TYPE_BODY, .ink = INK_TEXT, .x = 0.0, .y = 0.0, .width = 100.0})

/* Breaks the text into lines; returns the baseline after it. */
double sheet_paragraph(const Sheet *sheet, const Paragraph *paragraph, const char *text);
/* The same tagged as a paragraph at the sheet's y, which moves on. */
void sheet_say(Sheet *sheet, Type type, Ink ink, double x, double width, const char *text);
/* The head of a column of a table, from x on, or ending there; within a "TR". */
void sheet_column_head(const Sheet *sheet, double x, double y, const char *text);
void sheet_column_head_right(const Sheet *sheet, double x, double y, const char *text);
/* A heading at the sheet's y: "H1", "H2" or "H3". */
void sheet_heading(Sheet *sheet, const char *level, Type type, const char *text);

/* As much of the text as fits the width, with an ellipsis where some is left out. */
void sheet_fit(const Sheet *sheet, Type type, double width, const char *text, char *out,
               size_t size);
/* The type squeezed, then shrunk, until the text fits. */
Type sheet_squeeze(const Sheet *sheet, Type type, double width, const char *text);

/* A box of a palette colour, with its id and symbol. */
Ink sheet_ink(const Sheet *sheet, int colour);
Ink sheet_type_ink(const Sheet *sheet, int colour);
void sheet_swatch(const Sheet *sheet, int colour, double x, double y, double width, double height);

/* An empty box to tick. */
void sheet_tick(const Sheet *sheet, double x, double y, double side);

/* Cells of the mural: a panel's, or all. */
typedef struct CellBlock {
    int column, row, columns, rows;
} CellBlock;

static inline CellBlock cells_of_panel(const Panel *p)
{
    return (CellBlock){p->column, p->row, p->columns, p->rows};
}

static inline CellBlock cells_of_face(const Grid *g)
{
    return (CellBlock){0, 0, g->columns, g->rows};
}

/* A rectangle of the page, mm from its upper left corner. */
typedef struct Frame {
    double x, y, width, height;
} Frame;

/* These cells as a picture of at most `most` pixels a side, averaged in linear light, then mixed
 * with white: `strength` 1 is as it is, 0 is white. */
Status sheet_face(Raster **raster_out, const Mural *mural, const CellBlock *cells, int most,
                  double strength, Fault *fault);

/* The panel's face with a line around it, as large as the frame allows, from the frame's upper
 * left, of at most `most` pixels a side; what: its alternative text. */
Status sheet_picture(const Sheet *sheet, const Panel *panel, const Frame *frame, int most,
                     const char *what, Fault *fault);

/* The mural's panels within a box of this size at most, keeping its shape. */
typedef struct Map {
    double x, y, scale_x, scale_y; /* mm a cell */
    double width, height;
} Map;
Map sheet_map(const Sheet *sheet, double x, double y, double width, double height);
void sheet_map_panels(const Sheet *sheet, const Map *map, Ink ink, double line);
/* Where these cells lie on the map. */
Frame map_frame(const Map *map, const Grid *grid, CellBlock cells);

#endif
