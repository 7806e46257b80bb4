/* Ink on paper is not the brick's colour, and helpers may not see colours apart: so every colour in
 * use has a symbol, and colours that can be mistaken for each other have symbols of different
 * shape. Which can is found by CIEDE2000 on what a colour-blind eye sees, and by L* alone for grey
 * print; the first free symbol whose shape no such colour has is taken, in palette order, so the
 * deal depends on the palette and the colours in use alone.
 *
 * Sources: WCAG 2.1 (contrast of type); G. Machado, M. Oliveira and L. Fernandes, IEEE Transactions
 * on Visualization and Computer Graphics 15 (2009), severity 1.0 (the matrices); CIEDE2000 as in
 * colour/delta_e.h. How far apart is far enough is our choice, in the header. */
#include "book/legend.h"

#include "base/memory.h"
#include "colour/delta_e.h"

#include <math.h>
#include <string.h>

/* Marks in the order they are dealt, with their shape. All are in the typeface that
 * is built in, fill most of their em and stay apart at 5 points; letters and digits are
 * left to the ids. */
static const struct {
    char text[4];
    uint8_t shape;
} marks[] = {
    {"●", 0},  {"□", 1}, {"▲", 2}, {"◇", 3}, {"✚", 4},  {"☆", 5},  {"▬", 6}, {"♥", 7}, {"○", 0},
    {"■", 1},  {"▽", 2}, {"◆", 3}, {"✖", 8}, {"★", 5},  {"▮", 6},  {"♠", 7}, {"◐", 0}, {"◧", 1},
    {"▶", 2},  {"◈", 3}, {"≡", 9}, {"✶", 5}, {"♣", 7},  {"◎", 0},  {"▣", 1}, {"◁", 2}, {"∞", 10},
    {"◓", 0},  {"⬒", 1}, {"△", 2}, {"#", 9}, {"✳", 5},  {"♪", 11}, {"⊕", 0}, {"◪", 1}, {"▼", 2},
    {"∩", 10}, {"◑", 0}, {"◨", 1}, {"▷", 2}, {"∪", 10}, {"◒", 0},  {"◩", 1}, {"◀", 2},
};
enum { MARKS = sizeof marks / sizeof marks[0] };

int legend_marks(void) { return MARKS; }

const char *legend_mark(int index) { return marks[index].text; }

/* The symbol of this place in the order of dealing: first the single marks, then pairs of them. */
static void symbol_text(int place, char *out)
{
    out[0] = '\0';
    if (place >= MARKS) strcat(out, marks[place / MARKS - 1].text);
    strcat(out, marks[place % MARKS].text);
}

static int place_shape(int place)
{
    const int last = marks[place % MARKS].shape;
    return place < MARKS ? last : 16 * (1 + marks[place / MARKS - 1].shape) + last;
}

int legend_shape(const char *symbol)
{
    char text[SYMBOL_MOST];
    for (int place = 0; place < MARKS * (MARKS + 1); place++) {
        symbol_text(place, text);
        if (strcmp(text, symbol) == 0) return place_shape(place);
    }
    return -1;
}

/* WCAG 2.1, definitions of relative luminance and contrast ratio. Its threshold of 0.03928
 * is that of an early draft of sRGB; no 8-bit value lies between the two. */
static double luminance(const uint8_t c[3])
{
    return 0.2126 * srgb_decode(c[0] / 255.0) + 0.7152 * srgb_decode(c[1] / 255.0) +
           0.0722 * srgb_decode(c[2] / 255.0);
}

double contrast_ratio(const uint8_t a[3], const uint8_t b[3])
{
    const double first = luminance(a), second = luminance(b);
    return (fmax(first, second) + 0.05) / (fmin(first, second) + 0.05);
}

static double clip(double v) { return v < 0.0 ? 0.0 : v > 1.0 ? 1.0 : v; }

Rgb vision_simulate(Vision vision, Rgb c)
{
    static const double matrix[3][9] = {
        {0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116,
         1.051998},
        {0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.011820, 0.042940,
         0.968881},
        {1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367,
         0.303900},
    };
    const double *m = matrix[vision];
    return (Rgb){clip(m[0] * c.r + m[1] * c.g + m[2] * c.b),
                 clip(m[3] * c.r + m[4] * c.g + m[5] * c.b),
                 clip(m[6] * c.r + m[7] * c.g + m[8] * c.b)};
}

static void find_alike(Legend *key, const Palette *palette)
{
    Lab seen[PALETTE_MOST][3];
    for (int i = 0; i < key->count; i++) {
        const uint8_t *s = palette->colour[i].srgb;
        const Rgb linear = {srgb_decode(s[0] / 255.0), srgb_decode(s[1] / 255.0),
                            srgb_decode(s[2] / 255.0)};
        for (int v = 0; v < 3; v++)
            seen[i][v] = lab_from_xyz(xyz_from_linear(vision_simulate((Vision)v, linear)));
    }
    for (int i = 0; i < key->count; i++)
        for (int j = 0; j < i; j++) {
            if (!key->colour[i].used || !key->colour[j].used) continue;
            int why = 0;
            if (fabs(palette->colour[i].lab.L - palette->colour[j].lab.L) < ALIKE_GREY_DL)
                why |= ALIKE_GREY;
            for (int v = 0; v < 3; v++)
                if (delta_e_2000(seen[i][v], seen[j][v]) < ALIKE_VISION_DE)
                    why |= ALIKE_PROTAN << v;
            key->alike[i][j] = key->alike[j][i] = (uint8_t)why;
        }
}

/* True if a colour that is alike has this shape already. */
static bool shape_taken(const Legend *key, const int *place, int colour, int shape)
{
    for (int other = 0; other < key->count; other++)
        if (place[other] >= 0 && key->alike[colour][other] && place_shape(place[other]) == shape)
            return true;
    return false;
}

/* In palette order each colour takes the first free symbol whose shape no colour that is alike
 * has; where there is none, the first free one. */
static void deal_symbols(Legend *key)
{
    int place[PALETTE_MOST];
    bool taken[2 * (PALETTE_MOST + MARKS)] = {false};
    int used = 0;
    for (int i = 0; i < key->count; i++) {
        place[i] = -1;
        used += key->colour[i].used;
    }
    const int stock = used <= MARKS ? MARKS : used + MARKS;
    for (int i = 0; i < key->count; i++) {
        if (!key->colour[i].used) continue;
        int free_one = -1, best = -1;
        for (int p = 0; p < stock && best < 0; p++) {
            if (taken[p]) continue;
            if (free_one < 0) free_one = p;
            if (!shape_taken(key, place, i, place_shape(p))) best = p;
        }
        place[i] = best >= 0 ? best : free_one;
        taken[place[i]] = true;
        symbol_text(place[i], key->colour[i].symbol);
    }
}

Status legend_create(Legend **key_out, const Palette *palette, const bool *used, Fault *fault)
{
    static const uint8_t black[3] = {0, 0, 0}, white[3] = {255, 255, 255};
    Legend *key = memory_create(1, sizeof *key);
    if (!key) return memory_fault(fault, 1, sizeof *key);
    key->count = palette->count;
    for (int i = 0; i < palette->count; i++) {
        const double dark = contrast_ratio(palette->colour[i].srgb, black);
        const double light = contrast_ratio(palette->colour[i].srgb, white);
        key->colour[i].used = used[i];
        key->colour[i].white = light > dark;
        key->colour[i].contrast = fmax(dark, light);
    }
    find_alike(key, palette);
    deal_symbols(key);
    *key_out = key;
    return STATUS_OK;
}

Status legend_of_laid(Legend **key_out, const Palette *palette, const Laid *laid, Fault *fault)
{
    bool used[PALETTE_MOST] = {false};
    for (size_t i = 0; i < laid->count; i++) used[laid->brick[i].colour] = true;
    return legend_create(key_out, palette, used, fault);
}

void legend_free(Legend *key) { memory_free(key); }
