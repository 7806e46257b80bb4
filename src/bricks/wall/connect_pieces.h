/* Connect pieces: joins the loose pieces of a panel, each by one brick that from then on stays. */
#ifndef ROWLOCK_BRICKS_WALL_CONNECT_PIECES_H
#define ROWLOCK_BRICKS_WALL_CONNECT_PIECES_H

#include "bricks/wall/wall_panel.h"

/* piece[first[row] + i] is the piece that brick i of a course belongs to, below `pieces`;
 * `nodes` bricks in all. Joins every piece but the largest where a brick can do it, and marks
 * the courses that change. */
Status connect_pieces(WallPanel *w, const size_t *first, const uint32_t *piece, uint32_t pieces,
                      size_t nodes, Fault *fault);

#endif
