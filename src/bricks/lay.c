#include "bricks/lay.h"

#include "bricks/lay_plaque.h"
#include "bricks/lay_wall.h"

Status lay(const Solid *solid, const Sizes *sizes, const Panels *panels, const LayOptions *options,
           Laid *laid_out, LayReport *report_out, const Voice *voice, Fault *fault)
{
    return (solid->build == BUILD_WALL ? lay_wall : lay_plaque)(solid, sizes, panels, options,
                                                                laid_out, report_out, voice, fault);
}
