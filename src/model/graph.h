/* Graph: which bricks hold on to which, and what comes apart without one of them.
 *
 * Nodes are bricks, links are joints between neighbouring layers. Components and
 * articulation nodes come from one depth-first search (Tarjan 1972, SIAM J. Comput.
 * 1(2):146-160; Hopcroft and Tarjan 1973, CACM 16(6):372-378), O(nodes + links). */
#ifndef ROWLOCK_MODEL_GRAPH_H
#define ROWLOCK_MODEL_GRAPH_H

#include "base/status.h"

#include <stddef.h>
#include <stdint.h>

typedef struct Link {
    uint32_t a, b;
} Link;

typedef struct Graph {
    size_t links, capacity;
    Link *link;
} Graph;

Status graph_link(Graph *graph, uint32_t a, uint32_t b, Fault *fault);
void graph_clear(Graph *graph);

/* Number of components, 0 for no nodes. piece_out[node] is its component, numbered by
 * lowest node; weak_out[node] is 1 if its component falls apart without it. Both hold
 * `nodes` items. */
Status graph_survey(const Graph *graph, uint32_t nodes, uint32_t *piece_out, uint8_t *weak_out,
                    uint32_t *pieces_out, Fault *fault);

#endif
