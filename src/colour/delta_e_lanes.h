/* Lanes: the arithmetic of delta_e_quick for vectors of any width, included there once for
 * each, with
 *   Lanes, LanesWhole                                    the vector, and its masks
 *   LANES(name)                                          a name for this width
 *   lanes, lanes_either, lanes_size, lanes_any           as in simd4.h and simd8.h,
 *   lanes_root(x, root), lanes_from(table, index)        by address, and a look-up
 * which it takes back at its end. Vectors go by address: see simd8.h. */

#define tiny 1e-20f /* added to what is divided by and may be 0 */

INLINED void LANES(saturation_of)(const Lanes *chroma, Lanes *saturation)
{
    const Lanes c = *chroma * (1.0f / 25.0f), c3 = c * c * c, c7 = c3 * c3 * c;
    const Lanes square = c7 / (c7 + 1.0f);
    lanes_root(&square, saturation);
}

INLINED void LANES(turn_of)(const Quick *quick, const Lanes *x, const Lanes *y, Lanes *turn)
{
    const LanesWhole below = *y < 0.0f;
    *turn = lanes(0.0f);
    if (!lanes_any(&below)) return;
    const Lanes place = lanes_either(
        below, (*x / (lanes_size(*x) + lanes_size(*y)) + 1.0f) * (float)(QUICK_TURNS / 2), *turn);
    const LanesWhole i = __builtin_convertvector(place, LanesWhole);
    const float *t = quick->turn;
    const Lanes low = lanes_from(t, i);
    t++;
    const Lanes high = lanes_from(t, i);
    const Lanes all = low + (high - low) * (place - __builtin_convertvector(i, Lanes));
    *turn = lanes_either(below, all, *turn);
}

/* (15) for mean hues of cosine c and sine s. */
INLINED void LANES(hue_weight)(const Lanes *cosine, const Lanes *sine, Lanes *weight)
{
    const Lanes c = *cosine, s = *sine;
    const float cos30 = 0.866025404f, sin30 = 0.5f;
    const float cos6 = 0.994521895f, sin6 = 0.104528463f;
    const float cos63 = 0.453990500f, sin63 = 0.891006524f;
    const Lanes c2 = c * c - s * s, s2 = 2.0f * s * c;
    const Lanes c3 = c2 * c - s2 * s, s3 = s2 * c + c2 * s;
    const Lanes c4 = c2 * c2 - s2 * s2, s4 = 2.0f * s2 * c2;
    *weight = 1.0f - 0.17f * (c * cos30 + s * sin30) + 0.24f * c2 +
              0.32f * (c3 * cos6 - s3 * sin6) - 0.20f * (c4 * cos63 + s4 * sin63);
}

typedef struct LANES(Colours) {
    Lanes L, a, b, chroma;
} LANES(Colours);

/* A pair as far as Y and X: what Z still needs of it. */
typedef struct LANES(Pair) {
    Lanes yy, x, a1, a2, b1, b2, c1, c2;
} LANES(Pair);

/* Quotients are joined where they can be: division takes longest here. */
INLINED void LANES(pair_of)(const LANES(Colours) * one, const LANES(Colours) * two,
                            LANES(Pair) * pair)
{
    const Lanes b1 = one->b, b2 = two->b;

    /* Y */
    const Lanes away = (two->L + one->L) * 0.5f - 50.0f, away2 = away * away;
    const Lanes above_20 = away2 + 20.0f;
    Lanes root;
    lanes_root(&above_20, &root);
    const Lanes y = (two->L - one->L) * root / (root + 0.015f * away2);

    const Lanes mean = (two->chroma + one->chroma) * 0.5f;
    Lanes saturation;
    LANES(saturation_of)(&mean, &saturation);
    const Lanes stretch = 1.5f - 0.5f * saturation;
    const Lanes a1 = stretch * one->a, a2 = stretch * two->a;
    const Lanes square1 = a1 * a1 + b1 * b1, square2 = a2 * a2 + b2 * b2;
    Lanes c1, c2;
    lanes_root(&square1, &c1);
    lanes_root(&square2, &c2);
    const Lanes sum = c1 + c2;

    /* X, from the difference of the squares, which cancels less. */
    const Lanes dc = stretch * (two->a - one->a) * (a1 + a2) + (b2 - b1) * (b1 + b2);
    const Lanes x = dc / ((sum + tiny) * (1.0f + 0.0225f * sum));
    *pair = (LANES(Pair)){y * y, x, a1, a2, b1, b2, c1, c2};
}

INLINED void LANES(pair_square)(const Quick *quick, const LANES(Pair) * p, Lanes *square)
{
    const Lanes mean = (p->c1 + p->c2) * 0.5f, product = p->c1 * p->c2;

    /* The sum of the unit vectors, times both chromas, points to the mean hue. Its
     * length is 2 cos(dh/2), the cross product is sin(dh) = 2 sin(dh/2) cos(dh/2). */
    const Lanes mx = p->a1 * p->c2 + p->a2 * p->c1, my = p->b1 * p->c2 + p->b2 * p->c1;
    const Lanes length2 = mx * mx + my * my;
    Lanes length, root, t, turn, saturation;
    lanes_root(&length2, &length);
    length += tiny;
    const Lanes per_length = 1.0f / length;
    const Lanes cosine = mx * per_length, sine = my * per_length;
    LANES(hue_weight)(&cosine, &sine, &t);
    lanes_root(&product, &root);
    const Lanes h = 2.0f * (p->a1 * p->b2 - p->a2 * p->b1) * root * per_length;
    const Lanes z = h / (1.0f + 0.015f * mean * t);
    LANES(turn_of)(quick, &mx, &my, &turn);
    LANES(saturation_of)(&mean, &saturation);
    const Lanes rho = 2.0f * turn * saturation;
    const LanesWhole fork = (length < product * 0.01f) & (product > 1e-6f);
    /* At the fork |RT| <= sqrt(3) and T <= 1.5725, and Z is as good as 2 root / SH. */
    const Lanes most = 1.99f * root / (1.0f + 0.0236f * mean);
    const Lanes least = p->yy + 0.13f * (p->x * p->x + most * most) + tiny;
    *square = lanes_either(fork, -least, p->yy + p->x * p->x + z * z - rho * p->x * z);
}

#undef tiny
#undef Lanes
#undef LanesWhole
#undef LANES
#undef lanes
#undef lanes_either
#undef lanes_size
#undef lanes_any
#undef lanes_root
#undef lanes_from
