#include "look.h"

#include "board.h"
#include "memory.h"
#include "scarce.h"
#include "start.h"
#include "sweep.h"

#include <assert.h>
#include <math.h>

typedef struct Search {
    const LookOptions *options;
    Task task;
    Board board;
    Grid nearest;
    double objective;
    LookReport report;
} Search;

static Status sweep(Search *s, Fault *fault)
{
    const double most = (double)s->options->sweeps;
    voice_progress(s->task.voice, "look", fmin((double)s->board.sweep / most, 1.0));
    if (voice_stopped(s->task.voice))
        return fault_set(fault, STATUS_INTERRUPTED, "look: stopped; run the plan again");
    s->report.changes += sweep_board(&s->board, &s->objective);
    s->board.sweep++;
    return STATUS_OK;
}

/* The best start, by rough samples. */
static Status begin(Search *s, Grid *grid, Fault *fault)
{
    const LookOptions *o = s->options;
    LookReport *r = &s->report;
    Status status = start_nearest(&s->task, grid, &s->nearest, fault);
    if (!status && o->start == STARTS) status = start_try(&s->task, r->score, fault);
    if (!status)
        status = board_init(&s->board, s->task.target, s->task.palette, grid, &o->viewpoint,
                            o->detail, o->threads, fault);
    if (!status) status = scarce_check(&s->board, fault);
    if (status) return status;
    r->start = o->start < STARTS ? o->start : START_DRAWN;
    for (StartKind kind = 0; o->start == STARTS && kind < STARTS; kind++)
        if (r->score[kind] < r->score[r->start]) r->start = kind;
    const Thrift thrift = thrift_of(o->thrift, o->build, &o->viewpoint, &s->nearest);
    return start_take(&s->task, r->start, &s->nearest, &thrift, &s->board, &s->objective, fault);
}

/* Sweeps until next to nothing changes. The first few linearise anew. */
static Status sweep_until_still(Search *s, Fault *fault)
{
    Board *board = &s->board;
    /* Swaps go on for long, and bring little. */
    const long still = (long)board->columns * (long)board->rows / (board->quota ? 30 : 60);
    const int start = board->sweep, fresh = start + s->options->reweighings;
    bool calm = false;
    while (board->sweep < start + s->options->sweeps) {
        board->everywhere = board->sweep <= fresh || calm;
        if (board->sweep < fresh) s->objective = board_weigh(board);
        const long before = s->report.changes;
        const Status status = sweep(s, fault);
        if (status) return status;
        /* Small faces are swept until a whole sweep finds nothing. */
        const long changes = s->report.changes - before;
        if (board->sweep > fresh && changes <= still && (still > 0 || board->everywhere)) break;
        calm = changes == 0;
    }
    return STATUS_OK;
}

/* Duties on scarce colours first, so that the cells that need them most keep them; then
 * by force; then swaps. */
static Status search_limits(Search *s, Fault *fault)
{
    enum { TAX_SWEEPS = 4 };
    static const double first_step = 0.8, next_step = 0.9;
    Board *board = &s->board;
    Status status = STATUS_OK;
    double step = first_step;
    const long few = (long)board->columns * (long)board->rows / 50;
    board->everywhere = true;
    for (int i = 0; i < TAX_SWEEPS && !status && scarce_excess(board) > few; i++) {
        if (i < s->options->reweighings) board_weigh(board);
        status = scarce_tax(board, step, s->task.voice, fault);
        if (!status) status = sweep(s, fault);
        step *= next_step;
    }
    if (status == STATUS_OK) status = scarce_relieve(board, fault);
    if (status == STATUS_OK) status = sweep_hold_limits(board, fault);
    if (status) return status;
    s->objective = board_objective(board);
    return sweep_until_still(s, fault);
}

/* What a brick is worth, where joints at what they cost in bricks are worth as much in all
 * as they were at their price. */
static double price_of_brick(const Board *board, const JointCost *joint)
{
    const double bricks = joint->x * joint->joints_x + joint->y * joint->joints_y;
    const double price = board->price_x * joint->joints_x + board->price_y * joint->joints_y;
    return bricks > 0.0 ? price / bricks : 0.0;
}

/* Lays the face as it is, learns from it what a joint costs, and fuses bricks; twice, since
 * bricks come to lie otherwise. */
static Status spare_bricks(Search *s, Fault *fault)
{
    enum { LAYINGS = 2, SWEEPS = 3, WINDOW = 16 };
    const LookLayer *layer = s->options->layer;
    Board *board = &s->board;
    LookReport *r = &s->report;
    Status status = STATUS_OK;
    for (int i = 0; i < LAYINGS && !status; i++) {
        Pieces pieces = {0};
        status = layer->lay(layer->self, board->grid, &pieces, fault);
        if (!status && i == 0)
            status =
                pieces_joint_cost(&pieces, board->grid, board->build, WINDOW, &r->joint, fault);
        if (!status && i == 0) r->price_brick = price_of_brick(board, &r->joint);
        Fusing fusing = {&pieces, layer->sizes, layer->cost, r->price_brick};
        for (int k = 0; k < SWEEPS && !status; k++) r->changes += fuse_sweep(&fusing, board);
        pieces_clear(&pieces);
    }
    s->objective = board_objective(board);
    return status == STATUS_DATA ? STATUS_OK : status; /* laying in earnest will tell */
}

static Status search(Search *s, Grid *grid, Fault *fault)
{
    Board *board = &s->board;
    board->build = s->options->build;
    board->limit = s->options->limit;
    board->keep = s->options->keep;
    Status status = begin(s, grid, fault);
    if (status == STATUS_OK) status = board_look_closer(board, s->task.target, fault);
    if (status) return status;
    s->objective = board_objective(board);
    /* Limits that the start keeps are likely to be kept as it is. */
    if (scarce_excess(board) == 0) {
        status = sweep_until_still(s, fault);
        if (status == STATUS_OK && board->price_x > 0.0 && s->options->layer)
            status = spare_bricks(s, fault);
    }
    return status || scarce_excess(board) == 0 ? status : search_limits(s, fault);
}

Status look_search(const Image *target, const Palette *palette, const LookOptions *options,
                   Grid *grid, LookReport *report_out, const Voice *voice, Fault *fault)
{
    assert(palette->count > 0 && palette->count < NONE);
    assert(grid->columns == target->columns && grid->rows == target->rows);
    Search *s = memory_create(1, sizeof *s);
    if (!s) return memory_fault(fault, 1, sizeof *s);
    s->options = options;
    s->task = (Task){.target = target,
                     .palette = palette,
                     .viewpoint = options->viewpoint,
                     .build = options->build,
                     .thrift = options->thrift,
                     .detail = options->detail,
                     .keep = options->keep,
                     .reweigh = options->reweighings > 0,
                     .threads = options->threads,
                     .voice = voice};
    const Status status = search(s, grid, fault);
    if (status == STATUS_OK && report_out) {
        *report_out = s->report;
        report_out->followed = s->objective;
        report_out->objective = board_objective(&s->board);
        report_out->price_x = s->board.price_x;
        report_out->price_y = s->board.price_y;
        report_out->sweeps = s->board.sweep;
    }
    grid_clear(&s->nearest);
    board_clear(&s->board);
    memory_free(s);
    return status;
}
