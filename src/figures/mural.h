/* Mural: a plan that is done, as the writers read it. It owns nothing of its own:
 * every member is borrowed from the run that made it. */
#ifndef ROWLOCK_FIGURES_MURAL_H
#define ROWLOCK_FIGURES_MURAL_H

#include "bricks/cards.h"
#include "clutch/holds.h"
#include "eye/missing_colour.h"
#include "eye/unrest.h"
#include "hold/bond.h"
#include "hold/relief_support.h"
#include "model/difference.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/job.h"
#include "model/laid.h"
#include "model/palette.h"
#include "model/panel.h"
#include "model/parts.h"
#include "model/region_list.h"
#include "model/sizes.h"
#include "model/stock.h"
#include "relief/subject.h"

typedef struct Reference {
    char file[256];     /* the file's name without its folder; "-" for standard input */
    char sha256[65];    /* of its bytes */
    char profile[128];  /* the ICC profile's description, or how colour was told */
    long width, height; /* pixels, upright */
} Reference;

/* Perceived difference: CIEDE2000 after the eye's blur, mean and 95th percentile. */
typedef struct Perceived {
    double mean, p95;
} Perceived;

/* Differences are CIEDE2000 between the reference, as sampled, and the bricks; `fitted`
 * against the reference once its tone fits the palette. */
typedef struct Measures {
    double mean_de00, p95_de00, max_de00; /* cell by cell, no blur */
    Perceived perceived;                  /* from the distance */
    Perceived near, far;                  /* from half of it, and from twice */
    Perceived fitted;                     /* from the distance */
    double unrest[UNREST_CELLS];          /* from the distance; see eye/unrest.h */
    double mass_kg, price, hours;         /* of the bricks */
    double whole_kg;                      /* of the panels as they hang */
    double laying_cost; /* of every brick at the set's price and its hours, where the job
                           favours cost; 0: it does not */
    int pieces, unsupported, weak, longest_straight_joint;
    double quarter_lap;
    double use_hanging, use_most;    /* shares of what joints hold: hanging or standing, and in the
                                        worst case asked for; bounds from above */
    int coming_apart;                /* panels that are proven to, in a case asked for */
    double least_hold_n;             /* of what stands out; INFINITY: nothing does */
    long held_slightly, held_feebly; /* bricks that hold less than the job's touch, and FEEBLE_N */
} Measures;

/* The loads of a panel on what carries it; see statics.h. */
typedef struct PanelStatics {
    double centre_mm[3]; /* of mass: from the panel's left, its lower edge and the wall */
    double hanging_nm;   /* its weight about the plane of the wall, N m */
    double tipping_nm;   /* about the front edge of its base, standing; above 0 it falls forward */
    double fixing_n;     /* the load to reckon with on each fixing, N */
} PanelStatics;

/* What a panel weighs and how far it stands out. */
typedef struct PanelLoad {
    size_t bricks;
    double mass_g;         /* of the bricks */
    int depth;             /* tiers */
    double whole_kg;       /* of all that is lifted and hung; see model/mounting.h */
    double whole_depth_mm; /* from the wall */
    long headers;          /* bricks that lie across a wall; see figures/measure.h */
    int bare_courses;      /* of a wall: without a header */
    PanelStatics statics;
} PanelLoad;

/* How difficult the cards of a kit are, where they were cut to be alike; else cards is 0. */
typedef struct Evenness {
    CardSpread equal, now; /* of cards of one size (none where cards stay), and as they are */
} Evenness;

/* What a hollow core leaves out, and saves against the same mural laid solid. */
typedef struct Saving {
    int shell;    /* units; 0: solid was asked for */
    size_t units; /* left out */
    long bricks;  /* below 0: it takes more */
    double mass_kg;
    int filled_panels; /* whose core was filled again, at least in part, since bricks around it
                          outnumbered those of the panel laid solid; */
    double filled_kg;  /* and what that weighs */
} Saving;

/* What a place, or a whole layer, lost of its relief; see relief_losses.h. */
typedef struct ReliefLoss {
    int label;                /* its layer; 0 where there are none */
    int places;               /* 1; of a layer the number of its places */
    size_t cells;             /* that were lowered */
    long steps;               /* by so much in all */
    double mass_g;            /* of what was not laid */
    double look;              /* CIEDE2000 times cells */
    int column, row;          /* from 0: the cell that lost most, the first of several */
    int asked, stands, below; /* steps: its own, and those of the cell below it */
    bool loose;               /* in a panel's lowest course, with nothing above to hold it */
    int by_mass, by_look;     /* its rank, from 1 */
} ReliefLoss;

typedef struct ReliefLosses {
    size_t places;
    ReliefLoss *place; /* heaviest first */
    int layers;
    ReliefLoss layer[LAYERS_MOST]; /* the same */
} ReliefLosses;

enum { CAUTIONS_MOST = 20 };

/* Walls that were tried to find a thickness; how far is our choice: two-wide bricks hold less a
 * knob, so that units behind the second help little. */
enum { THICKNESS_TRIALS = 4 };
typedef struct ThicknessTrials {
    int count;
    double
        use[THICKNESS_TRIALS]; /* of walls of 1 unit and on: the largest in the cases asked for */
    int found;                 /* units; of walls that do as well the thinnest */
    bool safe, whole; /* that wall's joints take no more than the safety allows; than they hold */
} ThicknessTrials;

typedef struct Mural {
    const Job *job;
    int threads; /* to work with; never changes what is written */
    const Reference *reference;
    const Palette *palette;
    const Sizes *sizes;
    const Image *image; /* what the cells should look like */
    const Grid *grid;
    RegionMap regions;      /* label NULL: there are none */
    const uint8_t *pin;     /* rows x columns, see output/cells_png.h; NULL: there are none */
    const Subject *subject; /* the layers that tell its steps; NULL: there are none */
    Solid solid;
    const Panels *panels;
    const PanelLoad *load;           /* one for each panel */
    const StepChanges *step_changes; /* steps that are not as asked; NULL for none */
    const ReliefLosses *losses;      /* what that took away */
    const Laid *laid;                /* in building order */
    const Laid *standing;            /* of these, what stands already; NULL: nothing */
    const bool *stands;              /* the same as a mark for each of them; NULL: nothing */
    int offered;                  /* the palette's first colours; others are of bricks that stand */
    const Difference *difference; /* to the plan before this one; NULL: there is none */
    const Parts *parts;
    const Stock *stock; /* empty where none is given */
    const Bond *bond;
    const Holds *holds; /* NULL: not reckoned */
    Measures measures;
    Evenness even;
    Saving saving;
    ThicknessTrials thickness;    /* count 0: it was given */
    const MissingColour *missing; /* what the picture has and the palette lacks; NULL: nothing */
    double cell_width_mm, cell_height_mm; /* of the face */
    double step_mm;                       /* one tier */
    double lower_bound;                   /* bricks, proven */
    double lower_cost;                    /* of laying_cost, proven */
    int cautions;
    const char *caution[CAUTIONS_MOST];
} Mural;

static inline bool mural_stands(const Mural *m, size_t brick)
{
    return m->stands && m->stands[brick];
}

/* The job's title; where it has none, the picture's file name. */
static inline const char *mural_title(const Mural *m)
{
    return *m->job->title ? m->job->title : m->reference->file;
}

static inline double mural_width_mm(const Mural *m) { return m->grid->columns * m->cell_width_mm; }
static inline double mural_height_mm(const Mural *m) { return m->grid->rows * m->cell_height_mm; }

#endif
