/* A penalty method with a target (Nocedal and Wright, Numerical Optimization, chapter 17): the
 * price of bricks is raised or lowered from sweep to sweep until the face is guessed to take as
 * many as it may. Invariant: a price never falls below what the user's thrift asks for by itself.
 *
 * All numbers here are judged by tests/bench/bench_look, column bricks. */
#include "cells/brick_penalty.h"

#include <math.h>

/* Of half a brick of a plaque and of a joint of a wall at thrift 1, in CIEDE2000 over one cell,
 * where a cell is REFERENCE_CELL wide to the eye: 8 mm from 8 m. The price grows exponentially with
 * thrift, from 0: then the bricks of a face fall about evenly with it, which
 * tests/cells/test_merge_bricks checks. */
#define PRICE_PLAQUE 14.5
#define PRICE_WALL 18.64
#define PRICE_GROWTH 4.0
#define REFERENCE_CELL 0.0573 /* degrees */

/* From farther off a brick is worth more, because there mixing saves more difference by each:
 * with the root of the distance, to these factors at most. */
#define DISTANCE_FACTOR_LEAST 0.5
#define DISTANCE_FACTOR_MOST 2.0

/* Allowed at thrift 1, by what the nearest colours take. */
#define ALLOWED_PLAQUE 0.62
#define ALLOWED_WALL 0.52

/* Of a price, from one sweep to the next; and how near to the allowed is near enough. */
#define FACTOR_LEAST 0.6
#define FACTOR_MOST 1.6
#define NEAR_ENOUGH 0.97

/* What bricks of an initial face count for, by their least price: later sweeps still take some
 * away, but bring no mixing back that is not there. */
#define SCORE_SHARE 0.3

/* By the price at thrift 1. */
static double price_share(double thrift)
{
    return expm1(PRICE_GROWTH * thrift) / expm1(PRICE_GROWTH);
}

static double least_price(double thrift, const SearchProblem *problem)
{
    const Viewpoint *view = &problem->viewpoint;
    const double side = sqrt(view->cell_width_mm * view->cell_height_mm);
    const double cell = eye_degrees(side, view->distance_mm);
    const double distance =
        fmin(fmax(sqrt(REFERENCE_CELL / cell), DISTANCE_FACTOR_LEAST), DISTANCE_FACTOR_MOST);
    return (problem->build == BUILD_WALL ? PRICE_WALL : PRICE_PLAQUE) * distance *
           price_share(thrift);
}

static double count(const Grid *grid, const SearchProblem *problem)
{
    const BrickGuess guess = search_problem_bricks(problem, grid);
    return brick_guess_count(&guess);
}

static double count_allowed(double thrift, const SearchProblem *problem, const Grid *nearest)
{
    if (thrift <= 0.0) return INFINITY;
    return (problem->build == BUILD_WALL ? ALLOWED_WALL : ALLOWED_PLAQUE) *
           pow(price_share(thrift), -2.0 / 3.0) * count(nearest, problem);
}

BrickPenalty brick_penalty_of(double thrift, const SearchProblem *problem, const Grid *nearest)
{
    return (BrickPenalty){.least = least_price(thrift, problem),
                          .allowed = count_allowed(thrift, problem, nearest)};
}

void brick_penalty_begin(const BrickPenalty *penalty, SearchState *state)
{
    state->bricks.price = penalty->least;
}

void brick_penalty_adjust(const BrickPenalty *penalty, SearchState *state)
{
    BrickGuess *bricks = &state->bricks;
    if (bricks->price <= 0.0) return;
    const double counted = brick_guess_count(bricks);
    const double over = counted / fmax(penalty->allowed, 1.0), was = bricks->price;
    double factor = fmin(fmax(over, FACTOR_LEAST), FACTOR_MOST);
    if (over > NEAR_ENOUGH && over < 1.0) factor = 1.0;
    bricks->price = fmax(was * factor, penalty->least);
    state->objective += (bricks->price - was) * counted;
}

double brick_penalty_score(const BrickPenalty *penalty, const SearchState *state)
{
    const BrickGuess *bricks = &state->bricks;
    if (bricks->price <= 0.0) return state->objective;
    const double counted = brick_guess_count(bricks);
    return state->objective + counted * (SCORE_SHARE * penalty->least - bricks->price) +
           fmax(counted - penalty->allowed, 0.0) * penalty->least;
}
