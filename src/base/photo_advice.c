/* Two lamps at 45 degrees and a camera straight before the middle is how copy stands light what is
 * flat and glossy: nothing is mirrored into the lens. Common practice, as ISO 17321-1 has it for
 * charts and CIE 15 for colour meters (45:0). */
#include "base/photo_advice.h"

const PhotoAdvice photo_advice[PHOTO_ADVICE] = {
    {"Stand", "straight before the middle, two metres away or more and zoomed in, so that what is "
              "measured fills the middle half of the picture."},
    {"Light",
     "with two lamps of one kind, from left and right at 45 degrees and as far away as the "
     "camera, all other light shut out. No flash, no window. Lamps of daylight colour, 5000 to "
     "6500 K, tell bricks best; by incandescent or warm white ones colours are missed twice as "
     "far."},
    {"Lay", "the chart flat beside the bricks, in one plane with their faces, upright, its first "
            "patch at the upper left. A sheet of matt white paper under both shows how even the "
            "light is."},
    {"Look", "for anything that is mirrored in bricks or chart, and move lamps until nothing is."},
    {"Expose",
     "rather dark than light, so that the white patch is not clipped, without filters, "
     "HDR or portrait modes. A raw file, made into a 16-bit TIFF, is better than a JPEG."},
};
