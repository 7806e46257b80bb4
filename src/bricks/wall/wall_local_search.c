/* A neighbourhood of three courses.
 *
 * Idea. Sweeps stop where no single course can do better. Here one course is laid at other prices,
 * crossing more or fewer of the joints that colours force, its neighbours are laid to suit it, and
 * it to suit them; the three stay if the panel has become cheaper.
 *
 * Invariants. The panel never becomes dearer: what does not pay is put back.
 *
 * Source. Local search with perturbed objectives ("noising", Charon and Hudry 1993, Oper. Res.
 * Lett. 14:133-137, from memory). */
#include "bricks/wall/wall_local_search.h"

/* A change of one course shows in the prices of the two above it. */
enum { SPAN = 3, REACH = 2 };

/* The other prices: joints that colours force are crossed more often, at so many times their price,
 * or, at none, freely left. */
typedef enum Variant { CROSS_MORE, CROSS_LESS, VARIANTS } Variant;
enum { CROSS_MORE_TIMES = 6 }; /* by trial; half or twice changes the bricks by 0.05 % */

typedef struct LocalSearch {
    WallPanel *w;
    Course kept[SPAN]; /* the courses row - 1 to row + 1 as they were */
} LocalSearch;

static bool is_row(const WallPanel *w, int row) { return row >= 0 && row < w->panel->rows; }

static int64_t price_around(const LocalSearch *d, int row)
{
    int64_t sum = 0;
    for (int y = row - 1; y <= row + 1 + REACH; y++)
        if (is_row(d->w, y)) sum += wall_panel_price(d->w, y);
    return sum;
}

static Status lay_plainly(WallPanel *w, int row, Fault *fault)
{
    if (!is_row(w, row)) return STATUS_OK;
    const BondPrices prices = wall_panel_prices(w, row);
    return wall_panel_lay(w, row, &prices, fault);
}

/* *moved is false where the course is laid as before at the other prices too. */
static Status vary(LocalSearch *d, int row, int variant, bool *moved, Fault *fault)
{
    BondPrices prices = wall_panel_prices(d->w, row);
    if (variant == CROSS_MORE) {
        prices.forced *= CROSS_MORE_TIMES;
    } else {
        prices.forced = 0;
        prices.third = 0;
    }
    Status status = wall_panel_lay(d->w, row, &prices, fault);
    *moved = !course_same(&d->w->course[row], &d->kept[1]);
    if (status || !*moved) return status;
    status = lay_plainly(d->w, row + 1, fault);
    if (!status) status = lay_plainly(d->w, row - 1, fault);
    if (!status) status = lay_plainly(d->w, row, fault);
    return status;
}

static Status search_row(LocalSearch *d, int row, int variant, Fault *fault)
{
    WallPanel *w = d->w;
    const int64_t before = price_around(d, row);
    Status status = STATUS_OK;
    for (int i = 0; i < SPAN && !status; i++)
        if (is_row(w, row - 1 + i))
            status = course_copy(&d->kept[i], &w->course[row - 1 + i], fault);
    bool moved = false;
    if (!status) status = vary(d, row, variant, &moved, fault);
    if (status || !moved || price_around(d, row) < before) return status;
    for (int i = 0; i < SPAN && !status; i++)
        if (is_row(w, row - 1 + i)) status = wall_panel_put(w, row - 1 + i, &d->kept[i], fault);
    return status;
}

Status wall_local_search(WallPanel *w, int rounds, Fault *fault)
{
    if (w->relief || w->depth == 1) return STATUS_OK;
    LocalSearch d = {.w = w};
    Status status = STATUS_OK;
    for (int round = 0; round < rounds; round++)
        for (int row = 0; row < w->panel->rows && !status; row++)
            for (int variant = 0; variant < VARIANTS && !status; variant++)
                status = search_row(&d, row, variant, fault);
    for (int i = 0; i < SPAN; i++) course_clear(&d.kept[i]);
    return status;
}
