/* Outline report: where an outline that was found from strokes is not to be trusted. */
#ifndef ROWLOCK_LAYERS_OUTLINE_REPORT_H
#define ROWLOCK_LAYERS_OUTLINE_REPORT_H

#include "base/voice.h"
#include "layers/geodesic.h"
#include "layers/outline.h"

typedef enum DoubtKind {
    DOUBT_REFUSED, /* a piece that looks like a label but holds no stroke of it */
    DOUBT_NARROW,  /* a region far from any outline that was decided by a narrow margin */
    DOUBT_GUESSED, /* a label's outline runs where colours hardly differ */
    DOUBT_LOST     /* cells that strokes touch went to other labels */
} DoubtKind;

typedef struct Doubt {
    DoubtKind kind;
    int label, other; /* of a refused piece: what it looks like, and what most of it became */
    double amount;    /* cells of the first two, share from 0 to 1 of the others */
    int column, row;  /* cells, from 1: in it, or where there is most of it */
} Doubt;

/* What is drawn of it, a cell. */
enum { MARK_REFUSED = 1, MARK_GUESSED = 2, MARK_LOST = 4 };

typedef struct OutlineReport {
    size_t count, capacity;
    Doubt *doubt;  /* by kind, and within a kind the greatest first */
    uint8_t *mark; /* rows x columns of the cells */
} OutlineReport;

/* What an outline was found from and what came of it. */
typedef struct OutlineFound {
    const LabPixels *pixels;
    const uint8_t *stroke; /* of the pixels */
    const Outline *outline;
    int labels, per; /* pixels of a cell each way */
    int columns, rows;
    const uint8_t *cell; /* labels of the cells */
} OutlineFound;

Status outline_report(const OutlineFound *found, OutlineReport *report_out, Fault *fault);
void outline_report_clear(OutlineReport *report);

enum { NO_KIND = -1 };

/* What is drawn by strokes, as it is called: "layer 3 face", or "region face", or "outside". */
typedef struct DoubtWords {
    const char *kind;
    const char *name[LABEL_NONE];  /* of each label */
    int index[LABEL_NONE];         /* in pictures; 0: it is called without, NO_KIND: by its name */
    int refused_most, narrow_most; /* so many of these are told, the largest */
    const char *more; /* where the other refused pieces are to be seen; NULL: nowhere */
    int columns, rows;
} DoubtWords;

/* Notes each doubt in a line, "layer 3 face: WHAT; HOW TO MEND IT"; of pieces the largest. */
void outline_report_say(const OutlineReport *report, const DoubtWords *words, const Voice *voice);

#endif
