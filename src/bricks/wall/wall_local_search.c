/* A neighbourhood of a few courses.
 *
 * Idea. Sweeps stop where no single course can do better. Here one course is laid across every line
 * where it has a joint, so that those on either side need not be, and these are laid to suit it;
 * all stay if the panel has become cheaper.
 *
 * Invariants. The panel never becomes dearer: what does not pay is put back.
 *
 * Source. Local search with perturbed objectives ("noising", Charon and Hudry 1993, Oper. Res.
 * Lett. 14:133-137, from memory). */
#include "bricks/wall/wall_local_search.h"

#include "bricks/wall/wall_sweep.h"

/* Courses on either side that are laid anew; the price of one shows in those of the two above. */
enum { AROUND = 2, SPAN = 2 * AROUND + 1, REACH = 2 };

/* Bricks that the courses around have beyond their least, so many of which make it worth while. By
 * trial on small reliefs two thick: from 1 on, one brick of 2652 fewer. */
static const double WORTH_WHILE = 3;

typedef struct LocalSearch {
    WallPanel *w;
    Course kept[SPAN]; /* the courses from row - AROUND on as they were */
} LocalSearch;

static bool is_row(const WallPanel *w, int row) { return row >= 0 && row < w->panel->rows; }

static Status price_around(LocalSearch *d, int row, long *sum, Fault *fault)
{
    Status status = STATUS_OK;
    *sum = 0;
    for (int y = row - AROUND - 1; y <= row + AROUND + REACH && !status; y++) {
        long price = 0;
        if (is_row(d->w, y)) status = wall_sweep_price(d->w, y, &price, fault);
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

static Status lay_row(WallPanel *w, int row, Fault *fault)
{
    return is_row(w, row) ? wall_sweep_lay(w, row, fault) : STATUS_OK;
}

/* Lays a course across every line where it has a joint, then those around it to suit it. */
static Status cross_all(LocalSearch *d, int row, Fault *fault)
{
    WallPanel *w = d->w;
    static const int order[SPAN] = {1, -1, 2, -2, 0};
    uint8_t *cross = wall_panel_line(w, w->cross, row);
    const uint8_t *parted = wall_panel_line(w, w->parted, row);
    for (int x = 1; x < w->panel->columns; x++) cross[x] = parted[x];
    Status status = lay_row(w, row, fault);
    for (int x = 1; x < w->panel->columns; x++) cross[x] = 0;
    for (int i = 0; i < SPAN && !status; i++) status = lay_row(w, row + order[i], fault);
    return status;
}

static Status search_row(LocalSearch *d, int row, Fault *fault)
{
    WallPanel *w = d->w;
    long before = 0, after = 0;
    if (row < w->standing || !has_more_than_least(w, row)) return STATUS_OK;
    Status status = price_around(d, row, &before, fault);
    for (int i = 0; i < SPAN && !status; i++)
        if (is_row(w, row - AROUND + i))
            status = course_copy(&d->kept[i], &w->course[row - AROUND + i], fault);
    if (!status) status = cross_all(d, row, fault);
    if (!status) status = price_around(d, row, &after, fault);
    if (status || after < before) return status;
    for (int i = 0; i < SPAN && !status; i++)
        if (is_row(w, row - AROUND + i))
            status = wall_panel_put(w, row - AROUND + i, &d->kept[i], fault);
    return status;
}

Status wall_local_search(WallPanel *w, int rounds, Fault *fault)
{
    LocalSearch d = {.w = w};
    Status status = STATUS_OK;
    for (int round = 0; round < rounds; round++)
        for (int row = 0; row < w->panel->rows && !status; row++)
            status = search_row(&d, row, fault);
    for (int i = 0; i < SPAN; i++) course_clear(&d.kept[i]);
    return status;
}
