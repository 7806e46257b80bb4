/* Cells are sorted by cubes of Lab, and each cube gives one sample, the mean in linear light of
 * its cells. Cubes grow by steps until there are few enough. The order of cells within a cube
 * is total, so that sums do not depend on how they were sorted. */
#include "study/histogram.h"

#include "base/memory.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

/* Sides of the cubes, in Lab: of the first, and how much longer each next one is. Ours; no bench
 * set them. */
#define FIRST_SIDE 1.0
#define GROWTH 1.25

/* A cell, and the cube that it lies in. */
typedef struct Entry {
    uint64_t cube;
    size_t cell; /* counted through all images, so that the order is total */
    Lab lab;
    float xyz[3];
    double weight;
} Entry;

static uint64_t cube_of(Lab lab, double side)
{
    const uint64_t L = (uint64_t)floor((lab.L + 1000) / side);
    const uint64_t a = (uint64_t)floor((lab.a + 1000) / side);
    const uint64_t b = (uint64_t)floor((lab.b + 1000) / side);
    return L << 42 | a << 21 | b;
}

static int by_cube(const void *left, const void *right)
{
    const Entry *x = left, *y = right;
    if (x->cube != y->cube) return x->cube < y->cube ? -1 : 1;
    return x->cell < y->cell ? -1 : x->cell > y->cell;
}

static void fill_entries(Entry *entry, const Image *images, int count)
{
    size_t n = 0;
    for (int i = 0; i < count; i++) {
        const size_t cells = (size_t)images[i].columns * (size_t)images[i].rows;
        for (size_t c = 0; c < cells; c++, n++) {
            const float *p = images[i].xyz + 3 * c;
            const Xyz xyz = {(double)p[0], (double)p[1], (double)p[2]};
            entry[n] = (Entry){.cell = n,
                               .lab = lab_from_xyz(xyz),
                               .xyz = {p[0], p[1], p[2]},
                               .weight = 1.0 / ((double)count * (double)cells)};
        }
    }
}

/* Sorts by cubes of this side; returns how many there are. */
static size_t sort_cubes(Entry *entry, size_t entries, double side)
{
    size_t cubes = 0;
    for (size_t i = 0; i < entries; i++) entry[i].cube = cube_of(entry[i].lab, side);
    qsort(entry, entries, sizeof *entry, by_cube);
    for (size_t i = 0; i < entries; i++) cubes += i == 0 || entry[i].cube != entry[i - 1].cube;
    return cubes;
}

static void fill_samples(Histogram *h, const Entry *entry, size_t entries)
{
    int n = 0;
    for (size_t i = 0; i < entries; n++) {
        const uint64_t cube = entry[i].cube;
        double sum[3] = {0}, weight = 0;
        for (; i < entries && entry[i].cube == cube; i++) {
            for (int c = 0; c < 3; c++) sum[c] += entry[i].weight * (double)entry[i].xyz[c];
            weight += entry[i].weight;
        }
        h->lab[n] = lab_from_xyz((Xyz){sum[0] / weight, sum[1] / weight, sum[2] / weight});
        h->weight[n] = weight;
    }
    h->samples = n;
}

Status histogram_init(Histogram *h, const Image *images, int count, int most, Fault *fault)
{
    size_t entries = 0;
    for (int i = 0; i < count; i++) entries += (size_t)images[i].columns * (size_t)images[i].rows;
    *h = (Histogram){0};
    Entry *entry = memory_create(entries, sizeof *entry);
    if (!entry) return memory_fault(fault, entries, sizeof *entry);
    fill_entries(entry, images, count);
    double side = FIRST_SIDE;
    size_t cubes = sort_cubes(entry, entries, side);
    while (cubes > (size_t)most) cubes = sort_cubes(entry, entries, side *= GROWTH);
    h->lab = memory_create(cubes, sizeof *h->lab);
    h->weight = memory_create(cubes, sizeof *h->weight);
    const bool room = h->lab && h->weight;
    if (room) fill_samples(h, entry, entries);
    memory_free(entry);
    if (room) return STATUS_OK;
    histogram_clear(h);
    return memory_fault(fault, cubes, sizeof *h->lab);
}

void histogram_clear(Histogram *h)
{
    memory_free(h->lab);
    memory_free(h->weight);
    *h = (Histogram){0};
}
