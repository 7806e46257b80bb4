/* One entry to both ways of building: a plaque is tiled tier by tier (lay_plaque.h), a wall is laid
 * course by course (lay_wall.h). */
#include "bricks/lay.h"

#include "bricks/lay_plaque.h"
#include "bricks/lay_wall.h"

Status lay(const LayTask *task, const LayOptions *options, Laid *laid_out, LayReport *report_out,
           const Voice *voice, Fault *fault)
{
    const bool wall = task->solid->build == BUILD_WALL;
    return (wall ? lay_wall : lay_plaque)(task, options, laid_out, report_out, voice, fault);
}
