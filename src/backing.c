#include "backing.h"

#include "memory.h"

#include <math.h>

/* What hidden bricks of one size may be. */
typedef struct Shelf {
    long over[PALETTE_MOST]; /* on the shelf and not shown */
    int rest;                /* the colour once the shelf is empty */
} Shelf;

static void fill_shelves(Shelf *shelf, const Palette *palette, const Sizes *sizes,
                         const Stock *stock, int fill)
{
    for (int s = 0; s < sizes->count; s++) {
        double least = INFINITY;
        shelf[s].rest = fill;
        for (int c = 0; c < palette->count; c++) {
            const StockLine *line = stock_find(stock, c, s);
            if (!line) continue;
            shelf[s].over[c] = line->quantity;
            if (line->price < least) { /* never so where it is not told */
                least = line->price;
                shelf[s].rest = c;
            }
        }
    }
}

/* The colour with the most bricks left, the first of several; takes one. */
static int take(Shelf *shelf, const Palette *palette, int current)
{
    if (current < 0 || shelf->over[current] <= 0) {
        current = 0;
        for (int c = 1; c < palette->count; c++)
            if (shelf->over[c] > shelf->over[current]) current = c;
    }
    if (shelf->over[current] <= 0) return shelf->rest;
    shelf->over[current]--;
    return current;
}

Status backing_colours(const Palette *palette, const Sizes *sizes, const Stock *stock, int fill,
                       Laid *laid, Fault *fault)
{
    Shelf *shelf = memory_create((size_t)sizes->count, sizeof *shelf);
    if (!shelf) return memory_fault(fault, (size_t)sizes->count, sizeof *shelf);
    fill_shelves(shelf, palette, sizes, stock, fill);
    int current[SIZES_MOST];
    for (int s = 0; s < sizes->count; s++) current[s] = -1;
    for (size_t i = 0; i < laid->count; i++)
        if (laid->brick[i].shown) shelf[laid->brick[i].size].over[laid->brick[i].colour]--;
    for (size_t i = 0; i < laid->count; i++) {
        Brick *b = &laid->brick[i];
        if (b->shown) continue;
        const int colour = take(&shelf[b->size], palette, current[b->size]);
        if (shelf[b->size].over[colour] >= 0) current[b->size] = colour;
        b->colour = (uint8_t)colour;
    }
    memory_free(shelf);
    return STATUS_OK;
}
