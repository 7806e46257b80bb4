#include "look.h"

#include "board.h"
#include "match.h"
#include "memory.h"
#include "scarce.h"
#include "sweep.h"

#include <assert.h>
#include <math.h>

typedef struct Search {
    const LookOptions *options;
    Board board;
    double least_price; /* between columns; what thrift asks for at the least */
    double allowed;     /* joints */
    double objective;
    LookReport report;
    const Voice *voice;
} Search;

/* What thrift asks for at the least, in units of CIEDE2000 over one cell. From farther
 * off a joint is worth more, because there mixing saves more difference by each. */
static void least_prices(Search *s)
{
    const LookOptions *o = s->options;
    const double side = sqrt(o->viewpoint.cell_width_mm * o->viewpoint.cell_height_mm);
    const double cell = eye_degrees(side, o->viewpoint.distance_mm);
    const double far = fmin(fmax(sqrt(0.0573 / cell), 0.5), 2.0);
    const double price = 38.0 * far * o->thrift * o->thrift * o->thrift;
    /* A joint along a course is a brick; in a plaque a brick has joints on all sides. */
    s->board.price_x = s->least_price = o->build == BUILD_WALL ? 1.6 * price : price;
    s->board.price_y = o->build == BUILD_WALL ? 0.0 : price;
}

/* Pictures differ: where the plain nearest colour makes large even fields, mixing makes
 * bricks at any price. So thrift also caps the joints at a share of what the nearest
 * colour has: as many at 0.5, a quarter at 1, four times at 0.25. */
static Status joints_allowed(Search *s, const Image *target, const Palette *palette,
                             const Grid *grid, Fault *fault)
{
    s->allowed = INFINITY;
    if (s->options->thrift <= 0.0) return STATUS_OK;
    Match *match;
    Grid nearest;
    Status status = match_create(&match, palette, fault);
    if (status) return status;
    status = grid_init(&nearest, target->columns, target->rows, false, fault);
    if (status == STATUS_OK)
        status = match_image(match, target, s->options->threads, &nearest, s->voice, fault);
    if (status == STATUS_OK) {
        const bool *kept = s->options->keep.cell;
        for (size_t i = 0, n = (size_t)target->columns * (size_t)target->rows; kept && i < n; i++)
            if (kept[i]) nearest.colour[i] = grid->colour[i];
        const Board even = {.grid = &nearest,
                            .build = s->options->build,
                            .columns = target->columns,
                            .rows = target->rows};
        /* Runs and squares of cells make more of their joints than the nearest's rags. */
        const double worth = s->options->build == BUILD_WALL ? 0.95 : 1.12;
        const double share = 0.5 / s->options->thrift;
        s->allowed = worth * share * share * board_joints(&even);
    }
    grid_clear(&nearest);
    match_free(match);
    return status;
}

/* Moves the price toward where the joints come out as allowed, never below the least. */
static void adjust_price(Search *s)
{
    Board *board = &s->board;
    if (board->price_x <= 0.0) return;
    const double over = board_joints(board) / fmax(s->allowed, 1.0);
    double factor = fmin(fmax(pow(over, 1.5), 0.7), 2.0);
    if (over > 0.97 && over < 1.0) factor = 1.0;
    factor = fmax(factor, s->least_price / board->price_x);
    s->objective -= board_rest(board);
    board->price_x *= factor;
    board->price_y *= factor;
    s->objective += board_rest(board);
}

static Status sweep(Search *s, Fault *fault)
{
    const double most = (double)s->options->sweeps;
    voice_progress(s->voice, "look", fmin((double)s->board.sweep / most, 1.0));
    if (voice_stopped(s->voice))
        return fault_set(fault, STATUS_INTERRUPTED, "look: stopped; run the plan again");
    s->report.changes += sweep_board(&s->board, &s->objective);
    s->board.sweep++;
    return STATUS_OK;
}

enum { PRICE_SWEEPS = 3 }; /* in which the price may still move */

/* Sweeps until next to nothing changes. The first few linearise anew. */
static Status sweep_until_still(Search *s, bool priced, Fault *fault)
{
    Board *board = &s->board;
    const long still = (long)board->columns * (long)board->rows / 150;
    const int start = board->sweep, fresh = start + s->options->reweighings;
    const int steady = priced ? start + PRICE_SWEEPS : fresh;
    bool calm = false;
    while (board->sweep < start + s->options->sweeps) {
        board->everywhere = board->sweep <= steady || calm;
        if (board->sweep < fresh) s->objective = board_weigh(board);
        if (board->sweep < steady && priced) adjust_price(s);
        const long before = s->report.changes;
        const Status status = sweep(s, fault);
        if (status) return status;
        /* Small faces are swept until a whole sweep finds nothing. */
        const long changes = s->report.changes - before;
        if (board->sweep > steady && changes <= still && (still > 0 || board->everywhere)) break;
        calm = changes == 0;
    }
    return STATUS_OK;
}

/* Prices on scarce colours first, so that the cells that need them most keep them; then
 * by force; then swaps. */
static Status search_limits(Search *s, Fault *fault)
{
    enum { TAX_SWEEPS = 12 };
    Board *board = &s->board;
    Status status = STATUS_OK;
    board->everywhere = true;
    for (int i = 0; i < TAX_SWEEPS && status == STATUS_OK && scarce_tax(board); i++) {
        s->objective = board_objective(board);
        status = sweep(s, fault);
    }
    if (status == STATUS_OK) status = scarce_relieve(board, fault);
    if (status == STATUS_OK) status = sweep_hold_limits(board, fault);
    if (status) return status;
    s->objective = board_objective(board);
    return sweep_until_still(s, false, fault);
}

static Status search(Search *s, const Image *target, const Palette *palette, Grid *grid,
                     Fault *fault)
{
    Board *board = &s->board;
    board->build = s->options->build;
    board->limit = s->options->limit;
    board->keep = s->options->keep;
    least_prices(s);
    Status status = joints_allowed(s, target, palette, grid, fault);
    if (status == STATUS_OK)
        status = board_init(board, target, palette, grid, &s->options->viewpoint,
                            s->options->detail, s->options->threads, fault);
    if (status == STATUS_OK) status = scarce_check(board, fault);
    if (status) return status;
    /* The first sweep chooses each cell while those not chosen yet show the target. */
    board->everywhere = true;
    status = sweep(s, fault);
    if (status) return status;
    s->objective = board_objective(board);
    status = sweep_until_still(s, isfinite(s->allowed), fault);
    if (status == STATUS_OK && board->limit) status = search_limits(s, fault);
    return status;
}

Status look_search(const Image *target, const Palette *palette, const LookOptions *options,
                   Grid *grid, LookReport *report_out, const Voice *voice, Fault *fault)
{
    assert(palette->count > 0 && palette->count < NONE);
    assert(grid->columns == target->columns && grid->rows == target->rows);
    Search *s = memory_create(1, sizeof *s);
    if (!s) return memory_fault(fault, 1, sizeof *s);
    s->options = options;
    s->voice = voice;
    const Status status = search(s, target, palette, grid, fault);
    if (status == STATUS_OK && report_out) {
        *report_out = s->report;
        report_out->followed = s->objective;
        report_out->objective = board_objective(&s->board);
        report_out->price_x = s->board.price_x;
        report_out->price_y = s->board.price_y;
        report_out->sweeps = s->board.sweep;
    }
    board_clear(&s->board);
    memory_free(s);
    return status;
}
