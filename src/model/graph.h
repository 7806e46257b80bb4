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

/* What a survey finds; all are the caller's, `nodes` items each. */
typedef struct GraphSurvey {
    uint32_t pieces;        /* number of components, 0 for no nodes */
    uint32_t *piece;        /* the component of each node, numbered by lowest node */
    uint8_t *weak;          /* 1 for a node without which its component falls apart */
    const uint32_t *weight; /* of each node; NULL: losses are not asked for */
    uint64_t *lost;         /* with a weight: without the node, the weight of all that then hangs
                               together with less than the heaviest part does */
} GraphSurvey;

Status graph_survey(const Graph *graph, uint32_t nodes, GraphSurvey *survey, Fault *fault);

#endif
