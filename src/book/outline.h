/* Outline: a mark of the built-in typeface as a path, so that a screen without that
 * typeface shows the marks of the printed pages. */
#ifndef ROWLOCK_BOOK_OUTLINE_H
#define ROWLOCK_BOOK_OUTLINE_H

#include "base/status.h"

typedef struct Outlines Outlines;

Status outlines_create(Outlines **outlines_out, Fault *fault);
void outlines_free(Outlines *outlines);

/* The path data of SVG 1.1, 8.3, of a text of one or two characters, in a square of 100 units,
 * y downward, its ink in the middle; *path_out is the caller's, freed with memory_free. */
Status outline_path(Outlines *outlines, const char *text, char **path_out, Fault *fault);

#endif
