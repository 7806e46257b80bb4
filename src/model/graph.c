/* Components and articulation nodes by one depth-first search. The search keeps its own stack,
 * since a wall is deeper than any call stack; the links of a node lie side by side, by a counting
 * sort.
 *
 * Source: Tarjan 1972, SIAM J. Comput. 1(2):146-160; Hopcroft and Tarjan 1973, CACM 16(6):372-378.
 */
#include "model/graph.h"

#include "base/memory.h"

#include <string.h>

Status graph_link(Graph *graph, uint32_t a, uint32_t b, Fault *fault)
{
    if (graph->links == graph->capacity) {
        const Status status = memory_grow(&graph->link, &graph->capacity, graph->links + 1,
                                          sizeof *graph->link, fault);
        if (status) return status;
    }
    graph->link[graph->links++] = (Link){a, b};
    return STATUS_OK;
}

void graph_clear(Graph *graph)
{
    memory_free(graph->link);
    *graph = (Graph){0};
}

typedef struct DepthFirst {
    size_t *first;   /* nodes + 1: where a node's neighbours begin in `other` */
    uint32_t *other; /* twice the links */
    size_t *next;    /* the neighbour to look at next */
    uint32_t *found; /* 1 + order of discovery; 0: not yet */
    uint32_t *low;   /* lowest order reached from the subtree by one link back */
    uint32_t *above; /* parent in the search tree; itself at a root */
} DepthFirst;

static void depth_first_clear(DepthFirst *s)
{
    memory_free(s->first);
    memory_free(s->other);
    memory_free(s->next);
    memory_free(s->found);
    memory_free(s->low);
    memory_free(s->above);
    *s = (DepthFirst){0};
}

static Status depth_first_init(DepthFirst *s, const Graph *graph, uint32_t nodes, Fault *fault)
{
    const size_t n = nodes;
    *s = (DepthFirst){.first = memory_create(n + 1, sizeof *s->first)};
    if (s->first) s->other = memory_create(2 * graph->links, sizeof *s->other);
    if (s->other) s->next = memory_create(n + 1, sizeof *s->next);
    if (s->next) s->found = memory_create(n, sizeof *s->found);
    if (s->found) s->low = memory_create(n, sizeof *s->low);
    if (s->low) s->above = memory_create(n, sizeof *s->above);
    if (!s->above) {
        depth_first_clear(s);
        return memory_fault(fault, n, sizeof *s->first);
    }
    for (size_t i = 0; i < graph->links; i++) {
        s->first[graph->link[i].a + 1]++;
        s->first[graph->link[i].b + 1]++;
    }
    for (size_t i = 0; i < n; i++) s->first[i + 1] += s->first[i];
    memcpy(s->next, s->first, (n + 1) * sizeof *s->next);
    for (size_t i = 0; i < graph->links; i++) {
        const Link l = graph->link[i];
        s->other[s->next[l.a]++] = l.b;
        s->other[s->next[l.b]++] = l.a;
    }
    memcpy(s->next, s->first, (n + 1) * sizeof *s->next);
    return STATUS_OK;
}

/* Goes back from `node` to its parent, which is an articulation node if nothing in the subtree of
 * `node` reaches beyond it. */
static void return_to_parent(DepthFirst *s, uint32_t root, uint32_t node, uint8_t *weak,
                             uint32_t *root_children)
{
    const uint32_t up = s->above[node];
    if (s->low[node] < s->low[up]) s->low[up] = s->low[node];
    if (up == root)
        ++*root_children;
    else if (s->low[node] >= s->found[up])
        weak[up] = 1;
}

static void explore(DepthFirst *s, uint32_t root, uint32_t piece, uint32_t *order, uint32_t *pieces,
                    uint8_t *weak)
{
    uint32_t at = root, root_children = 0;
    s->above[root] = root;
    s->found[root] = s->low[root] = ++*order;
    pieces[root] = piece;
    for (;;) {
        if (s->next[at] < s->first[at + 1]) {
            const uint32_t other = s->other[s->next[at]++];
            if (s->found[other]) {
                if (s->found[other] < s->low[at]) s->low[at] = s->found[other];
                continue;
            }
            s->above[other] = at;
            s->found[other] = s->low[other] = ++*order;
            pieces[other] = piece;
            at = other;
        } else {
            if (at == root) break;
            return_to_parent(s, root, at, weak, &root_children);
            at = s->above[at];
        }
    }
    if (root_children > 1) weak[root] = 1;
}

Status graph_survey(const Graph *graph, uint32_t nodes, uint32_t *piece_out, uint8_t *weak_out,
                    uint32_t *pieces_out, Fault *fault)
{
    DepthFirst s;
    const Status status = depth_first_init(&s, graph, nodes, fault);
    if (status) return status;
    memset(weak_out, 0, nodes);
    uint32_t order = 0;
    *pieces_out = 0;
    for (uint32_t i = 0; i < nodes; i++)
        if (!s.found[i]) explore(&s, i, (*pieces_out)++, &order, piece_out, weak_out);
    depth_first_clear(&s);
    return STATUS_OK;
}
