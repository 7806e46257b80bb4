/* The folder in which murals under way are planned again: pictures, palettes, sets of bricks. */
#ifndef ROWLOCK_TESTS_REPLAN_ROOM_H
#define ROWLOCK_TESTS_REPLAN_ROOM_H

#include "support/command.h"

static inline int replan_setup(void **state)
{
    char here[PATH_MAX];
    if (command_setup(state) || !getcwd(here, sizeof here)) return -1;
    strcat(here, "/");
    if (shell("cp '%stests/data/pictures/coffee.png' . && cp '%stests/data/pictures/astronaut.png' "
              "other.png "
              "&& cp '%spalettes/bricks-12.csv' 12.csv && cp '%spalettes/greys-8.csv' greys.csv && "
              "cp '%spalettes/bricks-24.cgats' 24.cgats && "
              "printf 'size,mass_g\\n1x1,1\\n1x2,2\\n2x2,4\\n2x4,8\\n' > light.csv && "
              "printf 'size,mass_g\\n1x1,900\\n1x2,2\\n2x2,4\\n2x4,8\\n' > heavy.csv",
              here, here, here, here, here))
        return -1;
    return speckle(in_room("tiny.ppm"), 9, 6);
}

#endif
