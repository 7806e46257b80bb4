/* The parts of CIEDE2000 (delta_e_lanes.h) for eight colours side by side. */
#ifndef ROWLOCK_COLOUR_DELTA_E_8_H
#define ROWLOCK_COLOUR_DELTA_E_8_H

#include "base/simd8.h"
#include "colour/quick_table.h"

#define Lanes Simd8
#define LanesWhole Simd8Whole
#define LANES(name) name##_8
#define lanes simd8
#define lanes_either simd8_either
#define lanes_size simd8_size
#define lanes_any simd8_any
#define lanes_root simd8_root
#define lanes_from(t, i)                                                                           \
    {                                                                                              \
        (t)[(i)[0]], (t)[(i)[1]], (t)[(i)[2]], (t)[(i)[3]], (t)[(i)[4]], (t)[(i)[5]], (t)[(i)[6]], \
            (t)[(i)[7]]                                                                            \
    }
#include "colour/delta_e_lanes.h"

#endif
