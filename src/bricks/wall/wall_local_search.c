/* A neighbourhood of a few courses.
 *
 * Idea. Sweeps stop where no single course can do better. Here one course is laid at other prices,
 * crossing more or fewer of the joints that colours force, its neighbours are laid to suit it, and
 * it to suit them; the three stay if the panel has become cheaper. In relief it is laid across
 * every line where it has a joint, so that the two courses on either side need not be.
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

/* ---- in relief ---- */

enum { AROUND = 2, SPAN_RELIEF = 2 * AROUND + 1 };

/* Bricks that the courses around have beyond their least, so many of which make it worth while. */
static const double WORTH_WHILE = 3;

typedef struct ReliefSearch {
    WallPanel *w;
    Course kept[SPAN_RELIEF];
} ReliefSearch;

static Status relief_price(ReliefSearch *d, int row, int64_t *sum, Fault *fault)
{
    Status status = STATUS_OK;
    *sum = 0;
    for (int y = row - AROUND - 1; y <= row + AROUND + 2 && !status; y++) {
        int64_t price = 0;
        if (is_row(d->w, y)) status = wall_panel_relief_price(d->w, y, &price, fault);
        *sum += price;
    }
    return status;
}

static bool has_more_than_least(const WallPanel *w, int row)
{
    double more = 0;
    for (int y = row - 1; y <= row + 1; y++)
        if (is_row(w, y)) more += (double)w->course[y].count - w->least[y];
    return more >= WORTH_WHILE;
}

/* Lays a course across every line where it has a joint, then those around it to suit it. */
static Status cross_all(ReliefSearch *d, int row, Fault *fault)
{
    WallPanel *w = d->w;
    static const int order[] = {1, -1, 2, -2, 0};
    uint8_t *cross = wall_panel_line(w, w->cross, row);
    const uint8_t *parted = wall_panel_line(w, w->parted, row);
    for (int x = 1; x < w->panel->columns; x++) cross[x] = parted[x];
    Status status = lay_plainly(w, row, fault);
    for (int x = 1; x < w->panel->columns; x++) cross[x] = 0;
    for (int i = 0; i < SPAN_RELIEF && !status; i++) status = lay_plainly(w, row + order[i], fault);
    return status;
}

static Status search_relief_row(ReliefSearch *d, int row, Fault *fault)
{
    WallPanel *w = d->w;
    int64_t before = 0, after = 0;
    if (row < w->standing || !has_more_than_least(w, row)) return STATUS_OK;
    Status status = relief_price(d, row, &before, fault);
    for (int i = 0; i < SPAN_RELIEF && !status; i++)
        if (is_row(w, row - AROUND + i))
            status = course_copy(&d->kept[i], &w->course[row - AROUND + i], fault);
    if (!status) status = cross_all(d, row, fault);
    if (!status) status = relief_price(d, row, &after, fault);
    if (status || after < before) return status;
    for (int i = 0; i < SPAN_RELIEF && !status; i++)
        if (is_row(w, row - AROUND + i))
            status = wall_panel_put(w, row - AROUND + i, &d->kept[i], fault);
    return status;
}

static Status search_relief(WallPanel *w, int rounds, Fault *fault)
{
    ReliefSearch d = {.w = w};
    Status status = STATUS_OK;
    for (int round = 0; round < rounds; round++)
        for (int row = 0; row < w->panel->rows && !status; row++)
            status = search_relief_row(&d, row, fault);
    for (int i = 0; i < SPAN_RELIEF; i++) course_clear(&d.kept[i]);
    return status;
}

Status wall_local_search(WallPanel *w, int rounds, Fault *fault)
{
    if (w->relief) return search_relief(w, rounds, fault);
    if (w->depth == 1) return STATUS_OK;
    LocalSearch d = {.w = w};
    Status status = STATUS_OK;
    for (int round = 0; round < rounds; round++)
        for (int row = 0; row < w->panel->rows && !status; row++)
            for (int variant = 0; variant < VARIANTS && !status; variant++)
                status = search_row(&d, row, variant, fault);
    for (int i = 0; i < SPAN; i++) course_clear(&d.kept[i]);
    return status;
}
