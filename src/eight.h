/* Eight floats side by side at any address, for long rows. A static function marked WIDE is
 * compiled twice, and the machine takes the one with vectors this wide where it has them;
 * the other does two of four, with the same result in each lane.
 *
 * Functions that take or return such vectors must be inlined, by address: the two ways
 * differ in how they are passed. */
#ifndef ROWLOCK_EIGHT_H
#define ROWLOCK_EIGHT_H

#include <stdint.h>
#include <string.h>

typedef float Eight __attribute__((vector_size(32), aligned(4), may_alias));
typedef int32_t EightWhole __attribute__((vector_size(32), aligned(4), may_alias));

enum { EIGHT = 8 };

#if defined(__x86_64__) && defined(__GLIBC__)
#define WIDE __attribute__((target_clones("avx2", "default")))
#else
#define WIDE
#endif
#define INLINED static inline __attribute__((always_inline))

#define eight(x) ((x) - (Eight){0.0f})
#define eight_at(p) (*(const Eight *)(p))
#define eight_put(p, x) (*(Eight *)(p) = (x))

#endif
