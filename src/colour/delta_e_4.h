/* The parts of CIEDE2000 (delta_e_lanes.h) for four colours side by side. */
#ifndef ROWLOCK_COLOUR_DELTA_E_4_H
#define ROWLOCK_COLOUR_DELTA_E_4_H

#include "base/simd4.h"
#include "base/simd8.h"
#include "colour/quick_table.h"

#define Lanes Simd4
#define LanesWhole Simd4Whole
#define LANES(name) name##_4
#define lanes simd4
#define lanes_either simd4_either
#define lanes_size simd4_size
#define lanes_any(mask) (((*mask)[0] | (*mask)[1]) | ((*mask)[2] | (*mask)[3]))
#define lanes_root(x, root) (*(root) = simd4_root(*(x)))
#define lanes_from(t, i)                                                                           \
    {                                                                                              \
        (t)[(i)[0]], (t)[(i)[1]], (t)[(i)[2]], (t)[(i)[3]]                                         \
    }
#include "colour/delta_e_lanes.h"

#endif
