/* Stage: the steps of a plan, what each reads, and how it is known whether one must be taken again.
 *
 * A key tells all that a stage made something from: the settings that count for it, the files that
 * these name, as they lay on the disk, and the keys of the stages that it reads. So what has the
 * key that is wanted is what would be made now. */
#ifndef ROWLOCK_PLAN_STAGE_H
#define ROWLOCK_PLAN_STAGE_H

#include "base/digest.h"
#include "base/status.h"
#include "model/job.h"

/* In the order in which they are taken. */
typedef enum Stage {
    STAGE_STUDIO,  /* what there is to build with */
    STAGE_CELLS,   /* the user's own cells */
    STAGE_READING, /* the reference's pixels, if they are held */
    STAGE_PICTURE, /* the reference as an image of cells */
    STAGE_REGIONS, /* the cells of each region; not made where there is none */
    STAGE_RULES,   /* what is asked of single cells; not made where nothing is */
    STAGE_TONE,    /* that image within what the palette can show */
    STAGE_FACE,    /* colours */
    STAGE_SKETCH,  /* a first face, soon there, while the other is not */
    STAGE_RELIEF,  /* steps, as they are asked for */
    STAGE_BRICKS,  /* the mural in bricks, and how they hold */
    STAGE_HOLDS,   /* how hard their joints must hold */
    STAGE_PARTS,   /* the bricks counted, with what is to be bought */
    STAGE_LOOK,    /* how it looks, measured */
    STAGE_FIGURES, /* what is reckoned of all that */
    STAGES
} Stage;

/* A set of stages: a bit for each. */
#define STAGE_BIT(stage) (1U << (stage))

/* The stages that this one reads, where the job is this one; all of them come before it. */
unsigned stage_reads(Stage stage, const Job *job);

/* Whether it reads all that another one made, or of the studio all but prices and stock. */
bool stage_reads_whole(Stage stage, Stage other, const Job *job);

/* Whether both jobs say the same in all settings that count for the stage by themselves. */
bool stage_is_asked_alike(Stage stage, const Job *a, const Job *b);

/* key[] has the keys of the stages that it reads. Fault: no memory. */
Status stage_key(Stage stage, const Job *job, char (*const key[STAGES])[DIGEST_TEXT],
                 char key_out[DIGEST_TEXT], Fault *fault);

#endif
