/* Page: the build book as one HTML file that needs nothing but a browser, to keep open
 * at the bench. The file is the skeleton of src/book/page/ with the plan put in.
 *
 * The plan is two data blocks. #head is JSON: sizes, colours, panels. #bricks is base64 of
 * three numbers a brick in building order, each little-endian base 128 (seven bits a byte,
 * the high bit says that more follow):
 *     kind    ((size * 2 + upright) * 2 + shown) * 2 + care
 *     colour  palette index
 *     place   (layer * vs + v) * columns + column, less that of the brick before
 * within its panel, counted from 0; layer and v are tier and row of a plaque, row and
 * tier of a wall. vs is the panel's rows, or the mural's depth. The first place of a
 * panel is itself. upright: the brick's long side runs along v. care: the structure's
 * report calls it weak or unsupported. */
#ifndef ROWLOCK_BOOK_PAGE_H
#define ROWLOCK_BOOK_PAGE_H

#include "base/status.h"
#include "base/voice.h"
#include "figures/mural.h"

/* Creates `path`; on a fault there is no file. */
Status page_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

#endif
