/* A course as a list of bricks that grows, and the lengths that fill each depth. */
#include "bricks/wall/course.h"

#include "base/memory.h"

#include <math.h>
#include <string.h>

enum { DEAREST = 1000 /* no brick counts as more than so many of average cost */ };

void cuts_init(Cuts *cuts, const Sizes *sizes, const double *cost)
{
    *cuts = (Cuts){0};
    double sum = 0;
    int used = 0;
    for (int i = 0; i < sizes->count; i++) {
        if (cost && !isfinite(cost[i])) continue;
        sum += cost ? cost[i] : 1;
        used++;
    }
    for (int i = 0; i < sizes->count; i++) {
        const double share = cost && sum > 0 ? cost[i] * used / sum : 1;
        cuts->price[i] = (int64_t)lround(COURSE_PRICE_ONE * fmin(share, DEAREST));
    }
    for (int depth = 1; depth <= SIZE_LONGEST; depth++)
        for (int length = 1; length <= SIZE_LONGEST; length++) {
            int best = -1;
            for (int i = 0; i < sizes->count; i++) {
                const int w = sizes->size[i].width, l = sizes->size[i].length;
                if (!((w == depth && l == length) || (w == length && l == depth))) continue;
                if (cost && !isfinite(cost[i])) continue; /* not used */
                if (best < 0 || cuts->price[i] < cuts->price[best]) best = i;
            }
            if (best < 0) continue;
            const int n = cuts->count[depth]++;
            cuts->length[depth][n] = length;
            cuts->size[depth][n] = (uint8_t)best;
            if (length > cuts->longest) cuts->longest = length;
        }
}

Status course_add(Course *course, const CourseBrick *brick, Fault *fault)
{
    const Status status = memory_grow(&course->brick, &course->capacity, course->count + 1,
                                      sizeof *course->brick, fault);
    if (!status) course->brick[course->count++] = *brick;
    return status;
}

bool course_same(const Course *a, const Course *b)
{
    return a->count == b->count &&
           (a->count == 0 || memcmp(a->brick, b->brick, a->count * sizeof *a->brick) == 0);
}

Status course_copy(Course *to, const Course *from, Fault *fault)
{
    const Status status =
        memory_grow(&to->brick, &to->capacity, from->count, sizeof *to->brick, fault);
    if (status) return status;
    to->count = from->count;
    if (from->count) memcpy(to->brick, from->brick, from->count * sizeof *to->brick);
    return STATUS_OK;
}

void course_clear(Course *course)
{
    memory_free(course->brick);
    *course = (Course){0};
}
