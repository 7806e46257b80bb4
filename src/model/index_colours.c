/* Colours of layers go round the hues by the golden angle, which never comes near one that it had
 * a few steps before, on three levels of lightness; they grow duller and darker by what keeps
 * each different from all others in eight bits. */
#include "model/index_colours.h"

#include "colour/colour.h"

#include <math.h>
#include <string.h>

enum { DOZEN = 12 };
#define GOLDEN_ANGLE 2.399963229728653 /* radians */

static const uint8_t dozen[DOZEN][3] = {
    {24, 28, 60},   {36, 64, 160},  {30, 120, 210}, {20, 165, 180}, {30, 150, 80}, {110, 190, 40},
    {200, 215, 30}, {255, 220, 60}, {255, 165, 30}, {235, 95, 30},  {200, 30, 60}, {250, 240, 230}};

void step_colour(int steps, uint8_t rgb[3])
{
    const int round = steps / DOZEN;
    for (int k = 0; k < 3; k++) {
        const int pure = dozen[steps % DOZEN][k];
        /* Towards a grey, from which 22 rounds keep all apart. */
        rgb[k] = (uint8_t)(pure + (150 - pure) * round / 30);
    }
}

void layer_colour(int index, uint8_t rgb[3])
{
    if (index < 2) {
        memset(rgb, index ? 128 : 0, 3);
        return;
    }
    static const double level[3] = {58, 76, 42};
    const double angle = 0.7 + GOLDEN_ANGLE * (index - 2),
                 lightness = level[index % 3] - index / 25.0;
    const double chroma = 46 - index / 12.0;
    srgb8_from_lab((Lab){lightness, chroma * cos(angle), chroma * sin(angle)}, rgb);
}

void index_colours_init(IndexColours *out, void (*colour)(int index, uint8_t rgb_out[3]))
{
    for (int i = 0; i < INDEX_COLOURS; i++) colour(i, out->rgb[i]);
}

int index_of_colour(const IndexColours *colours, const uint8_t rgb[3])
{
    for (int i = 0; i < INDEX_COLOURS; i++)
        if (!memcmp(colours->rgb[i], rgb, sizeof colours->rgb[i])) return i;
    return -1;
}

void index_colours_read(const IndexColours *colours, const Raster *r, int index[256])
{
    bool ours = r->kind == RASTER_INDEXED;
    for (int i = 0; i < 256; i++)
        index[i] = i < r->colours ? index_of_colour(colours, r->rgb[i]) : -1;
    for (size_t i = 0; ours && i < (size_t)r->width * r->height; i++)
        ours = index[r->sample[i]] >= 0;
    for (int i = 0; !ours && i < 256; i++) index[i] = i;
}
