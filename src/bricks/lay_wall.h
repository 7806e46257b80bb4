/* Lay wall: fills a wall with bricks, course by course, so that each panel holds together.
 *
 * Flat, one thick: every course at the least number of bricks, save where one more buys a lap.
 * Thicker, and in relief: bricks behind the face cross the joints that colours force on it.
 * In order of weight: one joined piece; no brick that falls off, or parts the panel, with
 * one other; no joint right through in line over three courses; the fewest bricks. */
#ifndef ROWLOCK_BRICKS_LAY_WALL_H
#define ROWLOCK_BRICKS_LAY_WALL_H

#include "base/status.h"
#include "base/voice.h"
#include "model/laid.h"
#include "model/laying.h"

/* As lay() in lay.h. The report's bound, summed over panels: one brick thick, in relief, and
 * where some joint had to stay in line over three courses, it holds for every laying; else for
 * every laying with no joint right through in line over three courses that a brick could cross. */
Status lay_wall(const LayTask *task, const LayOptions *options, Laid *laid_out,
                LayReport *report_out, const Voice *voice, Fault *fault);

#endif
