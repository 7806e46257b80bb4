#include "cells/joint_penalty.h"

#include <math.h>

/* In units of CIEDE2000 over one cell. From farther off a joint is worth more, because
 * there mixing saves more difference by each. */
static double least_price(double thrift, const Viewpoint *view)
{
    const double side = sqrt(view->cell_width_mm * view->cell_height_mm);
    const double cell = eye_degrees(side, view->distance_mm);
    const double far = fmin(fmax(sqrt(0.0573 / cell), 0.5), 2.0);
    return 38.0 * far * thrift * thrift * thrift;
}

static double joints_allowed(double thrift, Build build, const Grid *nearest)
{
    if (thrift <= 0.0) return INFINITY;
    const SearchState even = {.grid = (Grid *)nearest,
                              .build = build,
                              .columns = nearest->columns,
                              .rows = nearest->rows};
    /* Runs and squares of cells make more of their joints than the nearest's rags. */
    const double worth = build == BUILD_WALL ? 0.95 : 1.12;
    const double share = 0.5 / thrift;
    return worth * share * share * search_state_joints(&even);
}

JointPenalty joint_penalty_of(double thrift, Build build, const Viewpoint *view,
                              const Grid *nearest)
{
    /* A joint along a course is a brick; in a plaque a brick has joints on all sides. */
    const double price = least_price(thrift, view);
    return (JointPenalty){.least_x = build == BUILD_WALL ? 1.6 * price : price,
                          .least_y = build == BUILD_WALL ? 0.0 : price,
                          .allowed = joints_allowed(thrift, build, nearest)};
}

void joint_penalty_begin(const JointPenalty *t, SearchState *state)
{
    state->price_x = t->least_x;
    state->price_y = t->least_y;
}

void joint_penalty_adjust(const JointPenalty *t, SearchState *state, double *objective)
{
    if (state->price_x <= 0.0) return;
    const double over = search_state_joints(state) / fmax(t->allowed, 1.0);
    double factor = fmin(fmax(over, 0.6), 1.6);
    if (over > 0.97 && over < 1.0) factor = 1.0;
    factor = fmax(factor, t->least_x / state->price_x);
    *objective -= search_state_rest(state);
    state->price_x *= factor;
    state->price_y *= factor;
    *objective += search_state_rest(state);
}

double joint_penalty_score(const JointPenalty *t, const SearchState *state, double objective)
{
    /* Later sweeps still take joints away, but bring no mixing back that is not there. */
    static const double share = 0.3;
    if (state->price_x <= 0.0) return objective;
    const double over = fmax(search_state_joints(state) - t->allowed, 0.0);
    SearchState cheap = *state;
    cheap.price_x = share * t->least_x;
    cheap.price_y = share * t->least_y;
    return objective - search_state_rest(state) + search_state_rest(&cheap) + over * t->least_x;
}
