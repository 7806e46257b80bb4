/* Squared distances are whole numbers: along the columns by counting, then along each row as the
 * lower envelope of a parabola at every cell. */
#include "layers/edge_distance.h"

#include "base/memory.h"

#include <math.h>
#include <stdbool.h>

typedef struct Envelope {
    double *height; /* of each parabola's foot: the squared distance within its column */
    int *foot;      /* where the parabolas of the envelope stand */
    double *from;   /* where each of them begins to be the lowest */
} Envelope;

/* Distance along the column, upward and downward. */
static void measure_columns(const uint8_t *inside, int columns, int rows, float *distance)
{
    const size_t width = (size_t)columns, cells = width * (size_t)rows;
    for (size_t i = 0; i < cells; i++)
        distance[i] = !inside[i] ? 0 : i < width ? INFINITY : distance[i - width] + 1;
    for (size_t i = cells - width; i-- > 0;)
        distance[i] = fminf(distance[i], distance[i + width] + 1);
}

/* Where the parabola at q comes to lie below that at p < q. */
static double meeting(const Envelope *e, int p, int q)
{
    return ((e->height[q] + (double)q * q) - (e->height[p] + (double)p * p)) / (2.0 * (q - p));
}

static int build_envelope(Envelope *e, int columns)
{
    int count = 0;
    for (int q = 0; q < columns; q++) {
        if (isinf(e->height[q])) continue;
        double from = -INFINITY;
        while (count && (from = meeting(e, e->foot[count - 1], q)) <= e->from[count - 1]) count--;
        e->from[count] = count ? from : -INFINITY;
        e->foot[count++] = q;
    }
    return count;
}

static void measure_row(Envelope *e, int columns, float *distance)
{
    for (int q = 0; q < columns; q++) e->height[q] = (double)distance[q] * (double)distance[q];
    const int count = build_envelope(e, columns);
    for (int q = 0, k = 0; count && q < columns; q++) {
        while (k + 1 < count && e->from[k + 1] < q) k++;
        const double away = q - e->foot[k];
        distance[q] = (float)sqrt(away * away + e->height[e->foot[k]]);
    }
}

Status edge_distance(const uint8_t *inside, int columns, int rows, float *distance, Fault *fault)
{
    const size_t width = (size_t)columns;
    Envelope e = {memory_create(width, sizeof *e.height), memory_create(width, sizeof *e.foot),
                  memory_create(width, sizeof *e.from)};
    const bool room = e.height && e.foot && e.from;
    if (room) {
        measure_columns(inside, columns, rows, distance);
        for (int row = 0; row < rows; row++)
            measure_row(&e, columns, distance + (size_t)row * width);
    }
    memory_free(e.height);
    memory_free(e.foot);
    memory_free(e.from);
    return room ? STATUS_OK : memory_fault(fault, width, sizeof *e.height);
}
