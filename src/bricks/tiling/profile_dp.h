/* Profile dp: the best way to fill some cells of a region exactly, cell by cell, by a dynamic
 * program over the broken profile.
 *
 * It is exact as long as no cell's profiles outgrow the most that is kept; beyond, those of least
 * reduced cost (see tiling_duals.h) stay, as in a beam search, and the result is merely good. */
#ifndef ROWLOCK_BRICKS_TILING_PROFILE_DP_H
#define ROWLOCK_BRICKS_TILING_PROFILE_DP_H

#include "base/voice.h"
#include "bricks/tiling/region.h"

typedef struct ProfileDp ProfileDp;

/* Whoever searches with it hears the voice, borrowed; NULL: nobody stops it. */
Status profile_dp_create(ProfileDp **dp_out, const Voice *voice, Fault *fault);
const Voice *profile_dp_voice(const ProfileDp *dp);
void profile_dp_free(ProfileDp *dp);

typedef struct ProfileTask {
    const Region *region;
    const int32_t *reduced_cost; /* of each place, >= 0 */
    const int32_t *cell;         /* to be filled, ascending */
    int32_t cells;
    const int32_t *line; /* of the region, where all its cells are to be filled; NULL: nothing */
    int64_t limit;       /* the most reduced cost of a tiling that is of interest */
    int32_t most;        /* profiles kept at a time */
} ProfileTask;

/* The reduced cost of a cell left bare is put above any sum of others. */
#define PROFILE_BARE (INT64_C(1) << 44)

typedef struct ProfileResult {
    bool found;
    bool exact;           /* nothing was dropped: best if found, impossible if not */
    int64_t reduced_cost; /* of the tiling found */
    int32_t reached;      /* where not found: the first cell that no partial tiling filled */
    int32_t places;       /* of the tiling found */
    const int32_t *place; /* owned by the program, until its next run */
    const int32_t *first; /* the first cell of each */
    int64_t work;         /* profiles made */
} ProfileResult;

Status profile_dp_run(ProfileDp *dp, const ProfileTask *task, ProfileResult *result_out,
                      Fault *fault);

#endif
