/* A penalty method with a target (Nocedal and Wright, Numerical Optimization, chapter 17): the
 * price of a joint is raised or lowered from sweep to sweep until the face has as many joints as
 * it may. Invariant: a price never falls below what the user's thrift asks for by itself.
 *
 * All numbers here are judged by tests/bench/bench_look, column bricks. */
#include "cells/joint_penalty.h"

#include <math.h>

/* Of a joint at thrift 1, in CIEDE2000 over one cell, where a cell is REFERENCE_CELL wide to the
 * eye: 8 mm from 8 m. The price grows exponentially with thrift, from 0: then the bricks of a face
 * fall about evenly with it, which tests/cells/test_merge_bricks checks. */
#define PRICE_AT_FULL_THRIFT 11.65
#define PRICE_GROWTH 4.0
#define REFERENCE_CELL 0.0573 /* degrees */

/* From farther off a joint is worth more, because there mixing saves more difference by each:
 * with the root of the distance, to these factors at most. */
#define DISTANCE_FACTOR_LEAST 0.5
#define DISTANCE_FACTOR_MOST 2.0

/* A joint along a course of a wall is a brick; in a plaque a brick has joints on all sides. */
#define WALL_JOINT_WORTH 1.6

/* Joints allowed at thrift 1, by the nearest colours' own. */
#define ALLOWED_PLAQUE 0.62
#define ALLOWED_WALL 0.52

/* Of a price, from one sweep to the next; and how near to the allowed is near enough. */
#define FACTOR_LEAST 0.6
#define FACTOR_MOST 1.6
#define NEAR_ENOUGH 0.97

/* What a joint of an initial face counts for, by its least price: later sweeps still take joints
 * away, but bring no mixing back that is not there. */
#define SCORE_SHARE 0.3

/* By the price at thrift 1. */
static double price_share(double thrift)
{
    return expm1(PRICE_GROWTH * thrift) / expm1(PRICE_GROWTH);
}

static double least_price(double thrift, const Viewpoint *view)
{
    const double side = sqrt(view->cell_width_mm * view->cell_height_mm);
    const double cell = eye_degrees(side, view->distance_mm);
    const double distance =
        fmin(fmax(sqrt(REFERENCE_CELL / cell), DISTANCE_FACTOR_LEAST), DISTANCE_FACTOR_MOST);
    return PRICE_AT_FULL_THRIFT * distance * price_share(thrift);
}

/* Joints that cost bricks: in a wall those along its courses. They count as they are priced, so
 * that a region of little thrift takes none from the others. */
static double count_joints(const Grid *grid, const SearchProblem *problem)
{
    const bool wall = problem->build == BUILD_WALL;
    const float *thrift = problem->weights.thrift;
    double count = 0.0;
    for (int row = 0; row < grid->rows; row++)
        for (int column = 0; column < grid->columns; column++) {
            const size_t at = (size_t)row * (size_t)grid->columns + (size_t)column;
            const uint8_t *colour = grid->colour + at;
            if (column && colour[-1] != *colour) count += cell_weight_between(thrift, at, at - 1);
            if (row && !wall && *(colour - grid->columns) != *colour)
                count += cell_weight_between(thrift, at, at - (size_t)grid->columns);
        }
    return count;
}

static double joints_of_state(const SearchState *state)
{
    return count_joints(state->grid, &state->problem);
}

static double joints_allowed(double thrift, const SearchProblem *problem, const Grid *nearest)
{
    if (thrift <= 0.0) return INFINITY;
    return (problem->build == BUILD_WALL ? ALLOWED_WALL : ALLOWED_PLAQUE) *
           pow(price_share(thrift), -2.0 / 3.0) * count_joints(nearest, problem);
}

JointPenalty joint_penalty_of(double thrift, const SearchProblem *problem, const Grid *nearest)
{
    const bool wall = problem->build == BUILD_WALL;
    const double price = least_price(thrift, &problem->viewpoint);
    return (JointPenalty){.least_x = wall ? WALL_JOINT_WORTH * price : price,
                          .least_y = wall ? 0.0 : price,
                          .allowed = joints_allowed(thrift, problem, nearest)};
}

void joint_penalty_begin(const JointPenalty *penalty, SearchState *state)
{
    state->joint_price_x = penalty->least_x;
    state->joint_price_y = penalty->least_y;
}

void joint_penalty_adjust(const JointPenalty *penalty, SearchState *state)
{
    if (state->joint_price_x <= 0.0) return;
    const double over = joints_of_state(state) / fmax(penalty->allowed, 1.0);
    double factor = fmin(fmax(over, FACTOR_LEAST), FACTOR_MOST);
    if (over > NEAR_ENOUGH && over < 1.0) factor = 1.0;
    factor = fmax(factor, penalty->least_x / state->joint_price_x);
    state->objective -= search_state_joints(state);
    state->joint_price_x *= factor;
    state->joint_price_y *= factor;
    state->objective += search_state_joints(state);
}

double joint_penalty_score(const JointPenalty *penalty, const SearchState *state)
{
    if (state->joint_price_x <= 0.0) return state->objective;
    const double over = fmax(joints_of_state(state) - penalty->allowed, 0.0);
    const double joints = search_state_joints(state) / state->joint_price_x;
    return state->objective + joints * (SCORE_SHARE * penalty->least_x - state->joint_price_x) +
           over * penalty->least_x;
}
