#include "bricks/wall/wall_local_search.h"

/* A change of one course shows in the prices of the two above it. */
enum { VARIANTS = 2, SPAN = 3, REACH = 2 };

typedef struct Dress {
    WallPanel *m;
    Course kept[SPAN]; /* the courses row - 1 to row + 1 as they were */
} Dress;

static bool there(const WallPanel *m, int row) { return row >= 0 && row < m->panel->rows; }

static int64_t price_around(const Dress *d, int row)
{
    int64_t sum = 0;
    for (int y = row - 1; y <= row + 1 + REACH; y++)
        if (there(d->m, y)) sum += wall_panel_price(d->m, y);
    return sum;
}

static Status lay_plainly(WallPanel *m, int row, Fault *fault)
{
    if (!there(m, row)) return STATUS_OK;
    const BondPrices prices = wall_panel_prices(m, row);
    return wall_panel_lay(m, row, &prices, fault);
}

/* *moved is false where the course is laid as before at the other prices too. */
static Status vary(Dress *d, int row, int variant, bool *moved, Fault *fault)
{
    BondPrices prices = wall_panel_prices(d->m, row);
    if (variant == 0) {
        prices.forced *= 6;
    } else {
        prices.forced = 0;
        prices.third = 0;
    }
    Status status = wall_panel_lay(d->m, row, &prices, fault);
    *moved = !course_same(&d->m->course[row], &d->kept[1]);
    if (status || !*moved) return status;
    status = lay_plainly(d->m, row + 1, fault);
    if (!status) status = lay_plainly(d->m, row - 1, fault);
    if (!status) status = lay_plainly(d->m, row, fault);
    return status;
}

static Status dress_row(Dress *d, int row, int variant, Fault *fault)
{
    WallPanel *m = d->m;
    const int64_t before = price_around(d, row);
    Status status = STATUS_OK;
    for (int i = 0; i < SPAN && !status; i++)
        if (there(m, row - 1 + i))
            status = course_copy(&d->kept[i], &m->course[row - 1 + i], fault);
    bool moved = false;
    if (!status) status = vary(d, row, variant, &moved, fault);
    if (status || !moved || price_around(d, row) < before) return status;
    for (int i = 0; i < SPAN && !status; i++)
        if (there(m, row - 1 + i)) status = wall_panel_put(m, row - 1 + i, &d->kept[i], fault);
    return status;
}

Status wall_local_search(WallPanel *m, int rounds, Fault *fault)
{
    if (m->relief || m->depth == 1) return STATUS_OK;
    Dress d = {.m = m};
    Status status = STATUS_OK;
    for (int round = 0; round < rounds; round++)
        for (int row = 0; row < m->panel->rows && !status; row++)
            for (int variant = 0; variant < VARIANTS && !status; variant++)
                status = dress_row(&d, row, variant, fault);
    for (int i = 0; i < SPAN; i++) course_clear(&d.kept[i]);
    return status;
}
