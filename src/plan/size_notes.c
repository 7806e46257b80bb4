/* Three figures, each said only beyond a limit: cells a pixel, cells of a face, and the share of
 * the picture that is not shown. None of them is an error: a mural may be coarse on purpose. */
#include "plan/size_notes.h"

#include "base/text.h"

#include <math.h>
#include <stdio.h>

/* More cells than this on a pixel, along one side, are said. */
#define CELLS_A_PIXEL 1.25
/* Less than this of the picture cut off is not: whole cells alone take some. */
#define CUT_SHARE 0.02

/* A face of the painters' canon is about as wide as five eyes and seven tenths as wide as high
 * (common practice, no source). An eye wants three cells: white, iris, white. */
#define EYE_OF_FACE (0.7 / 5)
enum { EYE_CELLS = 3, FACES_UP = 10, FACES_LARGE = 5 };

static void say_enlarged(const Brief *brief, const DepthFrame *f)
{
    const double cells = fmax(f->columns / f->crop.width, f->rows / f->crop.height);
    char each[32], detail[32];
    if (cells <= CELLS_A_PIXEL) return;
    number_text(each, sizeof each, cells, 1);
    number_text(detail, sizeof detail, cells * brief_cell_width(brief), 0);
    voice_note(brief->voice,
               "enlarged: %.0f x %.0f pixels of the picture make %d x %d cells; a pixel covers %s "
               "cells each way, no detail is finer than %s mm; give a larger picture or a smaller "
               "mural",
               f->crop.width, f->crop.height, f->columns, f->rows, each, detail);
}

static void say_small_faces(const Brief *brief, const DepthFrame *f)
{
    const double face = (double)f->rows / FACES_UP, eye = face * EYE_OF_FACE;
    const double large = (double)f->rows / FACES_LARGE * EYE_OF_FACE;
    const double rows = ceil(EYE_CELLS / EYE_OF_FACE * FACES_UP);
    char cells[32], eyes[32], height[32];
    if (large >= EYE_CELLS) return;
    number_text(cells, sizeof cells, face, 0);
    number_text(eyes, sizeof eyes, eye, 1);
    number_text(height, sizeof height, rows * brief_cell_height(brief) / 1000, 1);
    voice_note(brief->voice,
               "small: a face of a tenth of the mural's height has %s cells, its eyes %s; for eyes "
               "of %d give --rows %.0f, %s m high, or show less of the picture with --crop",
               cells, eyes, EYE_CELLS, rows, height);
}

static void say_cut(const Brief *brief, const DepthFrame *f)
{
    const double shown = f->crop.width * f->crop.height / (f->cut.width * f->cut.height);
    const bool high = f->crop.height / f->cut.height < f->crop.width / f->cut.width;
    char share[32], side[32];
    if (1 - shown <= CUT_SHARE) return;
    number_text(share, sizeof share, 100 * (1 - shown), 0);
    number_text(side, sizeof side, 50 * (1 - shown), 0);
    voice_note(brief->voice,
               "cut off: %s %% of the picture, %s %% %s, to fill %d x %d cells; give one of width "
               "and height alone, or choose the part with --crop",
               share, side, high ? "above and below each" : "left and right each", f->columns,
               f->rows);
}

void size_notes_say(const Brief *brief, const DepthFrame *frame)
{
    say_cut(brief, frame);
    say_enlarged(brief, frame);
    say_small_faces(brief, frame);
}
