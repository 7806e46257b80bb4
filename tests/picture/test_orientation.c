/* Orientations of pictures, and what turning and mirroring makes of them. The outside source: the
 * table of Exif 2.32, tag 0x0112, which says for each where row 0 and column 0 are seen; and turns
 * and mirrors of a small picture, pixel by pixel, by their definition. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "picture/source.h"

#include <string.h>

enum { SIDE = 3, PIXELS = SIDE * (SIDE - 1) };

typedef struct Small {
    int width, height;
    char pixel[PIXELS];
} Small;

static char at(const Small *s, int x, int y) { return s->pixel[y * s->width + x]; }

/* "T" top, "B" bottom, "L" left, "R" right: the side on which row 0 is seen, then column 0. */
static const char *const sides[9] = {"", "TL", "TR", "BR", "BL", "LT", "RT", "RB", "LB"};

static Small upright(const Small *stored, int orientation)
{
    const char *side = sides[orientation];
    const bool swapped = orientation >= 5;
    Small out = {
        swapped ? stored->height : stored->width, swapped ? stored->width : stored->height, {0}};
    for (int row = 0; row < stored->height; row++)
        for (int column = 0; column < stored->width; column++) {
            const int along = swapped ? row : column, up = swapped ? column : row;
            const char across_side = swapped ? side[0] : side[1];
            const char down_side = swapped ? side[1] : side[0];
            const int x = across_side == 'R' ? out.width - 1 - along : along;
            const int y = down_side == 'B' ? out.height - 1 - up : up;
            out.pixel[y * out.width + x] = at(stored, column, row);
        }
    return out;
}

/* The upper left corner goes to the upper right. */
static Small to_the_right(const Small *s)
{
    Small out = {s->height, s->width, {0}};
    for (int y = 0; y < s->height; y++)
        for (int x = 0; x < s->width; x++)
            out.pixel[x * out.width + out.width - 1 - y] = at(s, x, y);
    return out;
}

static Small mirrored(const Small *s)
{
    Small out = *s;
    for (int y = 0; y < s->height; y++)
        for (int x = 0; x < s->width; x++) out.pixel[y * s->width + s->width - 1 - x] = at(s, x, y);
    return out;
}

static void a_turn_is_what_it_does_to_pixels(void **state)
{
    (void)state;
    Small stored = {SIDE, SIDE - 1, {0}};
    memcpy(stored.pixel, "abcdef", PIXELS);
    for (int orientation = 1; orientation <= 8; orientation++)
        for (int quarters = 0; quarters < 4; quarters++)
            for (int mirror = 0; mirror < 2; mirror++) {
                Small wanted = upright(&stored, orientation);
                for (int i = 0; i < quarters; i++) wanted = to_the_right(&wanted);
                if (mirror) wanted = mirrored(&wanted);
                const Small got =
                    upright(&stored, orientation_turned(orientation, quarters, mirror));
                assert_int_equal(got.width, wanted.width);
                assert_memory_equal(got.pixel, wanted.pixel, PIXELS);
            }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_turn_is_what_it_does_to_pixels)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
