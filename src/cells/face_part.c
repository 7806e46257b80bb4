/* Rows are copied out of each plane, and the colours back: a part shares nothing with its face but
 * the lists that are not by cell. */
#include "cells/face_part.h"

#include "base/memory.h"

#include <string.h>

/* The rectangle of the marked cells; *columns and *rows are 0 where there are none. */
static void find_marked(FacePart *part, const FaceCells *face)
{
    int left = face->columns, right = -1, low = face->rows, high = -1;
    for (int row = 0; row < face->rows; row++) {
        const bool *marked = face->marked + (size_t)row * (size_t)face->columns;
        for (int column = 0; column < face->columns; column++) {
            if (!marked[column]) continue;
            if (column < left) left = column;
            if (column > right) right = column;
            if (row < low) low = row;
            high = row;
        }
    }
    part->left = left;
    part->low = low;
    part->cells.columns = right < 0 ? 0 : right + 1 - left;
    part->cells.rows = right < 0 ? 0 : high + 1 - low;
}

/* Along one axis. */
static void widen(int *first, int *count, int margin, int end)
{
    const int before = *first < margin ? *first : margin;
    const int after = end - *first - *count < margin ? end - *first - *count : margin;
    *first -= before;
    *count += before + after;
}

/* The part of one plane, of `size` bytes a cell. NULL: the face has none, or there is no memory,
 * which *lacking tells. */
static const void *take_plane(FacePart *part, const FaceCells *face, int plane, const void *from,
                              size_t size, bool *lacking)
{
    const size_t line = (size_t)part->cells.columns * size;
    if (!from) return NULL;
    char *to = part->memory[plane] = memory_create((size_t)part->cells.rows, line);
    if (!to) *lacking = true;
    for (int row = 0; to && row < part->cells.rows; row++) {
        const size_t at = (size_t)(part->low + row) * (size_t)face->columns + (size_t)part->left;
        memcpy(to + (size_t)row * line, (const char *)from + at * size, line);
    }
    return to;
}

Status face_part_init(FacePart *part, const FaceCells *face, int margin, Fault *fault)
{
    FaceCells *c = &part->cells;
    bool lacking = false;
    int plane = 0;
    *part = (FacePart){.cells = {.keep = face->keep}};
    find_marked(part, face);
    if (!c->columns) return STATUS_OK;
    widen(&part->left, &c->columns, margin, face->columns);
    widen(&part->low, &c->rows, margin, face->rows);
    c->target = take_plane(part, face, plane++, face->target, 3 * sizeof(float), &lacking);
    c->colour = take_plane(part, face, plane++, face->colour, 1, &lacking);
    c->marked = take_plane(part, face, plane++, face->marked, sizeof(bool), &lacking);
    c->keep.cell = take_plane(part, face, plane++, face->keep.cell, sizeof(bool), &lacking);
    c->keep.region = take_plane(part, face, plane++, face->keep.region, 1, &lacking);
    const CellWeights *w = &face->weights;
    c->weights.care = take_plane(part, face, plane++, w->care, sizeof(float), &lacking);
    c->weights.calm = take_plane(part, face, plane++, w->calm, sizeof(float), &lacking);
    c->weights.thrift = take_plane(part, face, plane++, w->thrift, sizeof(float), &lacking);
    if (!lacking) return STATUS_OK;
    return memory_fault(fault, (size_t)c->columns * (size_t)c->rows, 3 * sizeof(float));
}

void face_part_clear(FacePart *part)
{
    for (size_t i = 0; i < sizeof part->memory / sizeof *part->memory; i++)
        memory_free(part->memory[i]);
    *part = (FacePart){0};
}

void face_part_put(const FacePart *part, const uint8_t *colour, Grid *face)
{
    const size_t columns = (size_t)part->cells.columns;
    for (int row = 0; row < part->cells.rows; row++) {
        const size_t at = (size_t)(part->low + row) * (size_t)face->columns + (size_t)part->left;
        memcpy(face->colour + at, colour + (size_t)row * columns, columns);
    }
}
