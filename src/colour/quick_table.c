/* CIEDE2000's rotation (ISO/CIE 11664-6; numbers in comments are equations of Sharma, Wu and Dalal
 * 2005). Invariant: entries are even in x / (|x| + |y|), which asks for no angle, and one more than
 * are asked for stands at the end. */
#include "colour/quick_table.h"

#include <math.h>

void quick_init(Quick *quick)
{
    const double degree = M_PI / 180.0;
    for (int i = 0; i <= QUICK_TURNS + 1; i++) {
        const double u = i < QUICK_TURNS ? 2.0 * i / QUICK_TURNS - 1.0 : 1.0;
        const double h = 270.0 + atan2(u, 1.0 - fabs(u)) / degree;
        const double away = (h - 275.0) / 25.0;
        quick->turn[i] = (float)sin(60.0 * degree * exp(-away * away));
    }
}
