/* Judge: which bricks of a photographed face are right, which are not, and of which the photograph
 * does not tell. */
#ifndef ROWLOCK_INSPECT_JUDGE_H
#define ROWLOCK_INSPECT_JUDGE_H

#include "inspect/cell_colours.h"

typedef enum Verdict {
    VERDICT_RIGHT,
    VERDICT_WRONG,   /* shows another colour of the palette */
    VERDICT_MISSING, /* shows what lies behind it, or no colour of the palette at all */
    VERDICT_SHIFTED, /* it lies a cell off its place, or is too short */
    VERDICT_UNKNOWN, /* the photograph does not tell */
    VERDICTS
} Verdict;

typedef enum Obstacle {
    OBSTACLE_NONE,
    OBSTACLE_OUTSIDE, /* of the photograph, or hidden by what stands out more */
    OBSTACLE_CLIPPED, /* too light to tell its colour */
    OBSTACLE_UNEVEN,  /* a glare or a shadow lies there */
    OBSTACLE_SHADOW,  /* darker than it should be, beside something that stands out more */
    OBSTACLE_NOISE,   /* a wrong colour would not be seen for certain */
    OBSTACLE_SHEET,   /* the sheet behind has its colour: it would look the same without it */
    OBSTACLES
} Obstacle;

extern const char *const verdict_names[VERDICTS];
extern const char *const obstacle_texts[OBSTACLES];

/* A wrong colour that has to be seen: what is less apart is one colour to most (common practice,
 * no source), CIEDE2000. */
#define JUDGE_DIFFERENCE 6.0

typedef struct CellVerdict {
    Verdict verdict; /* never VERDICT_SHIFTED */
    Obstacle obstacle;
    uint8_t looks;    /* palette index of what it looks like, or FACE_NOTHING */
    float difference; /* CIEDE2000 between what it shows and what its colour looks like here */
    float seen_from;  /* the least difference that would have been noticed there */
    float sure;       /* how far off it is, by what is too far */
} CellVerdict;

typedef struct BrickVerdict {
    size_t brick; /* of the plan's */
    Verdict verdict;
    Obstacle obstacle;
    uint8_t looks;
    int8_t right, up;                  /* cells that a shifted brick is off by; 0, 0: some way */
    int cells, right_cells, not_right; /* that it shows; of them such as are seen to be right, and
                                          such as are seen not to be */
    float difference, seen_from;
} BrickVerdict;

typedef struct Judgement {
    CellVerdict *cell; /* rows x columns */
    size_t bricks;
    BrickVerdict *brick; /* in building order */
    size_t count[VERDICTS];
    double certain; /* share of bricks in which a wrong colour of JUDGE_DIFFERENCE would be seen */
} Judgement;

/* judgement_clear also after a fault: no memory. */
Status judgement_init(Judgement *judgement_out, const PanelFace *face, const CellLight *cells,
                      const CellColours *colours, Fault *fault);
void judgement_clear(Judgement *judgement);

/* Whether so many bricks are right that the face may well lie where it was found. */
bool judgement_holds(const Judgement *judgement);

#endif
