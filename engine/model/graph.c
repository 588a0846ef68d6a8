/* Strongly connected components (Tarjan 1972) and layers over them, on a graph as large as the rules of a
 * pack, so nothing here calls itself. */
#include "model/inside.h"

#include <assert.h>

void graph_edge(graph_edges *edges, uint32_t from, uint32_t to, bool strict)
{
    if (edges->fill == NULL)
        edges->graph->first[from + 1]++;
    else
        edges->graph->to[edges->fill[from]++] = to | (strict ? GRAPH_STRICT : 0);
}

bool graph_make(layer_graph *graph, uint32_t count, graph_list list, const cw_builder *builder,
                cw_arena *arena)
{
    graph->count = count;
    graph->first = CW_NEW_ARRAY(arena, uint32_t, (size_t)count + 1);
    graph->layer = CW_NEW_ARRAY(arena, uint32_t, count);
    graph->component = CW_NEW_ARRAY(arena, uint32_t, count);
    uint32_t *fill = CW_NEW_ARRAY(arena, uint32_t, count);
    if (graph->first == NULL || graph->layer == NULL || graph->component == NULL || fill == NULL)
        return false;
    graph_edges edges = {graph, NULL};
    list(builder, &edges);
    for (uint32_t i = 0; i < count; i++) {
        graph->first[i + 1] += graph->first[i];
        fill[i] = graph->first[i];
    }
    graph->to = CW_NEW_ARRAY(arena, uint32_t, graph->first[count]);
    if (graph->to == NULL)
        return false;
    edges.fill = fill;
    list(builder, &edges);
    return true;
}

/* The state of one walk. A node on the path waits at edge `at`; `open` holds those whose component is not
 * known yet. */
typedef struct tarjan {
    layer_graph *graph;
    uint32_t *number, *low, *at; /* number 0: not seen yet */
    uint32_t *path, *open;
    uint32_t path_size, open_size, numbers, components;
} tarjan;

static const uint32_t unknown = UINT32_MAX;

static void enter(tarjan *walk, uint32_t node)
{
    walk->number[node] = walk->low[node] = ++walk->numbers;
    walk->at[node] = walk->graph->first[node];
    walk->path[walk->path_size++] = node;
    walk->open[walk->open_size++] = node;
}

/* Takes the component of `root` off the open nodes. All it depends on outside has its layer already. */
static void close_component(tarjan *walk, uint32_t root)
{
    const layer_graph *graph = walk->graph;
    uint32_t begin = walk->open_size;
    do {
        graph->component[walk->open[--begin]] = walk->components;
    } while (walk->open[begin] != root);
    uint32_t layer = 0;
    for (uint32_t i = begin; i < walk->open_size; i++) {
        uint32_t node = walk->open[i];
        for (uint32_t e = graph->first[node]; e < graph->first[node + 1]; e++) {
            uint32_t to = graph->to[e] & ~GRAPH_STRICT;
            uint32_t needed = graph->layer[to] + (graph->to[e] != to);
            if (graph->component[to] != walk->components && needed > layer)
                layer = needed;
        }
    }
    for (uint32_t i = begin; i < walk->open_size; i++)
        graph->layer[walk->open[i]] = layer;
    walk->open_size = begin;
    walk->components++;
}

/* One step at the end of the path: along its next edge, or back. */
static void step(tarjan *walk)
{
    const layer_graph *graph = walk->graph;
    uint32_t node = walk->path[walk->path_size - 1];
    if (walk->at[node] < graph->first[node + 1]) {
        uint32_t to = graph->to[walk->at[node]++] & ~GRAPH_STRICT;
        if (walk->number[to] == 0)
            enter(walk, to);
        else if (graph->component[to] == unknown && walk->number[to] < walk->low[node])
            walk->low[node] = walk->number[to];
        return;
    }
    walk->path_size--;
    if (walk->low[node] == walk->number[node])
        close_component(walk, node);
    if (walk->path_size > 0) {
        uint32_t before = walk->path[walk->path_size - 1];
        if (walk->low[node] < walk->low[before])
            walk->low[before] = walk->low[node];
    }
}

bool graph_layers(layer_graph *graph, cw_arena *arena)
{
    uint32_t *room = CW_NEW_ARRAY(arena, uint32_t, (size_t)graph->count * 5);
    if (room == NULL)
        return false;
    size_t n = graph->count;
    tarjan walk = {graph, room, room + n, room + 2 * n, room + 3 * n, room + 4 * n, 0, 0, 0, 0};
    for (uint32_t i = 0; i < graph->count; i++)
        graph->component[i] = unknown;
    for (uint32_t i = 0; i < graph->count; i++) {
        if (walk.number[i] != 0)
            continue;
        enter(&walk, i);
        while (walk.path_size > 0)
            step(&walk);
    }
    assert(walk.open_size == 0);
    return true;
}

/* Breadth first from `from` to `to` inside their component, noting in `before` whence each node was reached;
 * then turns the way round into `next`. */
static void close_circle(const layer_graph *graph, uint32_t from, uint32_t to, uint32_t *before,
                         uint32_t *queue, uint32_t *next)
{
    uint32_t head = 0, tail = 0;
    queue[tail++] = to;
    before[to] = to;
    while (before[from] == unknown) {
        assert(head < tail);
        uint32_t node = queue[head++];
        for (uint32_t e = graph->first[node]; e < graph->first[node + 1]; e++) {
            uint32_t after = graph->to[e] & ~GRAPH_STRICT;
            if (graph->component[after] == graph->component[to] && before[after] == unknown) {
                before[after] = node;
                queue[tail++] = after;
            }
        }
    }
    next[from] = to;
    for (uint32_t node = from; node != to; node = before[node])
        next[before[node]] = node;
    for (uint32_t i = 0; i < tail; i++)
        before[queue[i]] = unknown;
}

bool graph_circles(const layer_graph *graph, cw_arena *arena, graph_visit visit, void *context)
{
    size_t n = graph->count;
    uint32_t *room = CW_NEW_ARRAY(arena, uint32_t, n * 3);
    bool *told = CW_NEW_ARRAY(arena, bool, n);
    if (room == NULL || told == NULL)
        return false;
    uint32_t *before = room, *next = room + n, *queue = room + 2 * n;
    for (uint32_t i = 0; i < graph->count; i++)
        before[i] = next[i] = unknown;
    for (uint32_t node = 0; node < graph->count; node++) {
        for (uint32_t e = graph->first[node]; e < graph->first[node + 1]; e++) {
            uint32_t to = graph->to[e] & ~GRAPH_STRICT, component = graph->component[node];
            if (graph->to[e] == to || graph->component[to] != component || told[component])
                continue;
            told[component] = true;
            close_circle(graph, node, to, before, queue, next);
            if (!visit(context, next, node))
                return false;
            for (uint32_t i = node, after; next[i] != unknown; i = after) {
                after = next[i];
                next[i] = unknown;
            }
        }
    }
    return true;
}
