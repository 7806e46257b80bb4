/* Components and articulation nodes by one depth-first search. The search keeps its own stack,
 * since a wall is deeper than any call stack; the links of a node lie side by side, by a counting
 * sort.
 *
 * Source: Tarjan 1972, SIAM J. Comput. 1(2):146-160; Hopcroft and Tarjan 1973, CACM 16(6):372-378.
 */
#include "model/graph.h"

#include "base/memory.h"

#include <stdbool.h>
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

/* Weights about a node of the search tree. */
typedef struct Hanging {
    uint64_t below;   /* of its subtree, itself included */
    uint64_t parted;  /* of the subtrees of its children that come off without it */
    uint64_t largest; /* of these, the heaviest */
} Hanging;

typedef struct DepthFirst {
    size_t *first;   /* nodes + 1: where a node's neighbours begin in `other` */
    uint32_t *other; /* twice the links */
    size_t *next;    /* the neighbour to look at next */
    uint32_t *found; /* 1 + order of discovery; 0: not yet */
    uint32_t *low;   /* lowest order reached from the subtree by one link back */
    uint32_t *above; /* parent in the search tree; itself at a root */
    Hanging *hangs;  /* NULL: no weights */
    GraphSurvey *survey;
} DepthFirst;

static void depth_first_clear(DepthFirst *s)
{
    memory_free(s->first);
    memory_free(s->other);
    memory_free(s->next);
    memory_free(s->found);
    memory_free(s->low);
    memory_free(s->above);
    memory_free(s->hangs);
    *s = (DepthFirst){0};
}

static Status depth_first_init(DepthFirst *s, const Graph *graph, uint32_t nodes,
                               GraphSurvey *survey, Fault *fault)
{
    const size_t n = nodes;
    bool made = true;
    *s = (DepthFirst){.first = memory_create(n + 1, sizeof *s->first), .survey = survey};
    if (s->first) s->other = memory_create(2 * graph->links, sizeof *s->other);
    if (s->other) s->next = memory_create(n + 1, sizeof *s->next);
    if (s->next) s->found = memory_create(n, sizeof *s->found);
    if (s->found) s->low = memory_create(n, sizeof *s->low);
    if (s->low) s->above = memory_create(n, sizeof *s->above);
    if (s->above && survey->weight) made = (s->hangs = memory_create(n, sizeof *s->hangs));
    if (!s->above || !made) {
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
 * `node` reaches beyond it; a root is one if it has several children. */
static void return_to_parent(DepthFirst *s, uint32_t root, uint32_t node, uint32_t *root_children)
{
    const uint32_t up = s->above[node];
    if (s->low[node] < s->low[up]) s->low[up] = s->low[node];
    const bool parts = s->low[node] >= s->found[up];
    if (up == root)
        ++*root_children;
    else if (parts)
        s->survey->weak[up] = 1;
    if (!s->hangs) return;
    Hanging *h = &s->hangs[up];
    const uint64_t below = s->hangs[node].below;
    h->below += below;
    if (!parts) return;
    h->parted += below;
    if (below > h->largest) h->largest = below;
}

static void discover(DepthFirst *s, uint32_t node, uint32_t above, uint32_t *order)
{
    s->above[node] = above;
    s->found[node] = s->low[node] = ++*order;
    s->survey->piece[node] = s->survey->pieces;
    if (s->hangs) s->hangs[node].below = s->survey->weight[node];
}

static void explore(DepthFirst *s, uint32_t root, uint32_t *order)
{
    uint32_t at = root, root_children = 0;
    discover(s, root, root, order);
    for (;;) {
        if (s->next[at] < s->first[at + 1]) {
            const uint32_t other = s->other[s->next[at]++];
            if (s->found[other]) {
                if (s->found[other] < s->low[at]) s->low[at] = s->found[other];
                continue;
            }
            discover(s, other, at, order);
            at = other;
        } else {
            if (at == root) break;
            return_to_parent(s, root, at, &root_children);
            at = s->above[at];
        }
    }
    if (root_children > 1) s->survey->weak[root] = 1;
}

/* Without a node its component is what came off below it, and all the rest. */
static void reckon_losses(const DepthFirst *s, uint32_t nodes, uint64_t *whole)
{
    const GraphSurvey *v = s->survey;
    for (uint32_t i = 0; i < nodes; i++)
        if (s->above[i] == i) whole[v->piece[i]] = s->hangs[i].below;
    for (uint32_t i = 0; i < nodes; i++) {
        const Hanging *h = &s->hangs[i];
        const uint64_t others = whole[v->piece[i]] - v->weight[i], rest = others - h->parted;
        v->lost[i] = others - (rest > h->largest ? rest : h->largest);
    }
}

Status graph_survey(const Graph *graph, uint32_t nodes, GraphSurvey *survey, Fault *fault)
{
    DepthFirst s;
    Status status = depth_first_init(&s, graph, nodes, survey, fault);
    if (status) return status;
    memset(survey->weak, 0, nodes);
    uint32_t order = 0;
    survey->pieces = 0;
    for (uint32_t i = 0; i < nodes; i++) {
        if (s.found[i]) continue;
        explore(&s, i, &order);
        survey->pieces++;
    }
    if (s.hangs) {
        uint64_t *whole = memory_create(survey->pieces, sizeof *whole);
        if (whole) reckon_losses(&s, nodes, whole);
        if (!whole) status = memory_fault(fault, survey->pieces, sizeof *whole);
        memory_free(whole);
    }
    depth_first_clear(&s);
    return status;
}
