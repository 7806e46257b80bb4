/* A line a colour: a box to tick, its swatch and name, then each size with its count in slots of
 * one width, so that counts of a size are looked for at a glance; a colour of many sizes has
 * several lines. A line is never parted. */
#include "book/bags.h"

#include "base/text.h"

#include <math.h>

#define TICK 5.0   /* mm, with its space */
#define GUTTER 4.0 /* between columns of bags */

/* Widths and heights of a look, mm, and its type: by eye. */
typedef struct BagMeasures {
    double swatch, name, slot, together; /* together: of the sum at the right */
    double line, more;                   /* more: of a colour's further lines */
    double type;                         /* points */
} BagMeasures;

static const BagMeasures measures[] = {
    [BAGS_ROOMY] = {15.0, 30.0, 12.8, 13.0, 4.5, 3.8, 9.0},
    [BAGS_CLOSE] = {15.0, 28.0, 11.2, 13.0, 4.2, 3.4, 8.0},
    [BAGS_NAMELESS] = {12.0, 0.0, 9.7, 10.0, 3.9, 3.1, 7.5},
};

/* The column in hand. */
typedef struct Column {
    const BagMeasures *set;
    double x, width, top;
    int slots;
} Column;

static Column column_at(const Bags *bags, double x, double width, double top)
{
    Column c = {&measures[bags->look], x, width, top, 0};
    c.slots = (int)((width - TICK - c.set->swatch - c.set->name - c.set->together) / c.set->slot);
    if (c.slots < 1) c.slots = 1;
    return c;
}

static double slots_left(const Column *c) { return c->x + TICK + c->set->swatch + c->set->name; }

/* Sizes in the bag, and bricks. */
static int bag_sizes(const Bags *bags, int colour, long *bricks_out)
{
    const long *count = &bags->count[(size_t)colour * SIZES_MOST];
    int sizes = 0;
    *bricks_out = 0;
    for (int size = 0; size < bags->sheet->mural->sizes->count; size++) {
        sizes += count[size] > 0;
        *bricks_out += count[size];
    }
    return sizes;
}

static double bag_height(const Column *c, int sizes)
{
    return c->set->line + (sizes - 1) / c->slots * c->set->more;
}

double bags_height(const Bags *bags)
{
    const Column c = column_at(bags, bags->x, bags->width, bags->top);
    double height = 0.0;
    for (int colour = 0; colour < bags->sheet->mural->palette->count; colour++) {
        long bricks;
        const int sizes = bag_sizes(bags, colour, &bricks);
        if (sizes) height += bag_height(&c, sizes);
    }
    return height;
}

static void draw_head(const Bags *bags, const Column *c)
{
    const Sheet *s = bags->sheet;
    const double y = c->top - 1.4;
    draw_tag(s->draw, "TR");
    sheet_column_head(s, c->x + TICK, y, "colour");
    sheet_column_head(s, slots_left(c), y, "size and bricks");
    sheet_column_head_right(s, c->x + c->width - GUTTER, y, "together");
    draw_tag_end(s->draw, "TR");
}

static double baseline(const Sheet *s, const Column *c) { return s->y + 0.73 * c->set->line; }

static void draw_slots(const Bags *bags, const Column *c, int colour)
{
    const Sheet *s = bags->sheet;
    const Sizes *sizes = s->mural->sizes;
    const Type plain = {WEIGHT_REGULAR, c->set->type, 1.0}, strong = {WEIGHT_BOLD, c->set->type, 1};
    int place = 0;
    for (int size = 0; size < sizes->count; size++) {
        const long count = bags->count[(size_t)colour * SIZES_MOST + (size_t)size];
        if (!count) continue;
        const double x = slots_left(c) + place % c->slots * c->set->slot;
        const double y = baseline(s, c) + place / c->slots * c->set->more;
        const char *name = sizes->size[size].name;
        const double wide = draw_text_width(s->draw, plain, name) + 1.3;
        char text[32];
        place++;
        number_text(text, sizeof text, (double)count, 0);
        draw_text(s->draw, plain, INK_SOFT, x, y, name);
        draw_text(s->draw, sheet_squeeze(s, strong, c->set->slot - wide - 1.2, text), INK_TEXT,
                  x + wide, y, text);
    }
}

static void draw_bag(const Bags *bags, const Column *c, int colour, long bricks)
{
    const Sheet *s = bags->sheet;
    const BagMeasures *set = c->set;
    const Type type = {WEIGHT_REGULAR, set->type, 1.0}, strong = {WEIGHT_BOLD, set->type, 1.0};
    char text[32];
    draw_tag(s->draw, "TR");
    draw_tag(s->draw, "TH");
    sheet_tick(s, c->x, s->y + 0.7, 3.0);
    sheet_swatch(s, colour, c->x + TICK, s->y + 0.3, set->swatch - 2.0, set->line - 0.9);
    const char *name = s->mural->palette->colour[colour].name;
    if (set->name > 0.0)
        draw_text(s->draw, sheet_squeeze(s, type, set->name - 2.0, name), INK_TEXT,
                  c->x + TICK + set->swatch, baseline(s, c), name);
    draw_tag_end(s->draw, "TH");
    draw_tag(s->draw, "TD");
    draw_slots(bags, c, colour);
    draw_tag_end(s->draw, "TD");
    draw_tag(s->draw, "TD");
    number_text(text, sizeof text, (double)bricks, 0);
    draw_text_right(s->draw, strong, INK_ACCENT, c->x + c->width - GUTTER, baseline(s, c), text);
    draw_tag_end(s->draw, "TD");
    draw_tag_end(s->draw, "TR");
}

/* The next column, or the next page with columns over its whole width. */
static Status next_column(Bags *bags, Column *c, Fault *fault)
{
    Sheet *s = bags->sheet;
    bags->end = fmax(bags->end, s->y);
    if (c->x + 2.0 * c->width < s->right + GUTTER + 1.0) {
        c->x += c->width;
    } else {
        draw_tag_end(s->draw, "Table");
        const Status status = sheet_begin(s, bags->head, false, fault);
        if (status) return status;
        bags->go_on = true;
        bags->end = 0.0;
        *c = column_at(bags, s->left, 0.5 * (s->right - s->left + GUTTER), s->top + 5.0);
        draw_tag(s->draw, "Table");
    }
    s->y = c->top;
    draw_head(bags, c);
    return STATUS_OK;
}

Status bags_draw(Bags *bags, Fault *fault)
{
    Sheet *s = bags->sheet;
    Column c = column_at(bags, bags->x, bags->width, bags->top);
    draw_tag(s->draw, "Table");
    s->y = c.top;
    draw_head(bags, &c);
    for (int colour = 0; colour < s->mural->palette->count; colour++) {
        long bricks;
        const int sizes = bag_sizes(bags, colour, &bricks);
        if (!sizes) continue;
        if (s->y + bag_height(&c, sizes) > s->bottom) {
            const Status status = next_column(bags, &c, fault);
            if (status) return status;
        }
        draw_bag(bags, &c, colour, bricks);
        s->y += bag_height(&c, sizes);
    }
    draw_tag_end(s->draw, "Table");
    s->y = bags->end = fmax(s->y, bags->end);
    return STATUS_OK;
}
