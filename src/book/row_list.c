/* A row is a line of a table: its label, its runs from left to right, its sums at the right. Runs
 * go on in a second line where the first is full, and on a new page where that is full, with an
 * ellipsis for a label; a row that fits a page is never parted.
 *
 * The sums are over what is printed, so that a helper who adds up a line finds the panel's width or
 * a mistake. */
#include "book/row_list.h"

#include <stdio.h>

#define LABEL 6.0   /* mm from the margin: the tick box stands before it */
#define ITEMS 28.0  /* where the runs begin */
#define TOTALS 31.0 /* room at the right for the sums */
#define GAP 3.4     /* between runs */
#define LINE 3.9    /* between baselines */
#define AFTER 0.9   /* below a row */

static const Type type_label = {WEIGHT_BOLD, 8.5, 1.0};
static const Type type_head = {WEIGHT_BOLD, 8.5, 1.0};
/* Sizes and columns share one type and one ink, so that draw sets them in one call. */
static const Type type_tail = {WEIGHT_REGULAR, 8.2, 1.0};

void run_text(const Mural *mural, const Run *run, char *head, size_t head_size, char *tail,
              size_t tail_size)
{
    head[0] = tail[0] = '\0';
    if (run->kind == RUN_BRICKS) {
        snprintf(head, head_size, "%d×%s", run->count, mural->palette->colour[run->colour].id);
        snprintf(tail, tail_size, "%s%s", mural->sizes->size[run->size].name,
                 run->upright ? "↑" : "");
    } else {
        snprintf(tail, tail_size, run->kind == RUN_LAID ? "(%d laid)" : "(%d empty)", run->cells);
    }
}

void row_label(const Mural *mural, int row, int tier, char *text, size_t size)
{
    if (solid_depth(&mural->solid) > 1)
        snprintf(text, size, "row %d tier %d", row + 1, tier + 1);
    else
        snprintf(text, size, "row %d", row + 1);
}

typedef struct Item {
    char at[16], head[40], tail[32];
    double at_width, head_width, width;
} Item;

static Item item_of(const RowList *list, const Runs *runs, size_t i)
{
    const Sheet *s = list->sheet;
    const Run *run = &runs->run[i];
    Item item;
    snprintf(item.at, sizeof item.at, "%d:", runs->plane->panel->column + run->u + 1);
    run_text(s->mural, run, item.head, sizeof item.head, item.tail, sizeof item.tail);
    item.at_width = draw_text_width(s->draw, type_tail, item.at) + 0.8;
    item.head_width = item.head[0] ? draw_text_width(s->draw, type_head, item.head) + 0.8 : 0.0;
    item.width = item.at_width + item.head_width + draw_text_width(s->draw, type_tail, item.tail);
    return item;
}

static void close_table(RowList *list)
{
    if (list->open) draw_tag_end(list->sheet->draw, "Table");
    list->open = false;
}

void row_list_end(RowList *list) { close_table(list); }

/* Makes room for `need` mm, on a new page if it must. */
static Status need_room(RowList *list, double need, Fault *fault)
{
    Sheet *s = list->sheet;
    if (s->y + need > s->bottom) {
        close_table(list);
        const Status status = sheet_begin(s, list->head, false, fault);
        if (status) return status;
    }
    if (!list->open) draw_tag(s->draw, "Table");
    list->open = true;
    return STATUS_OK;
}

static void open_row(RowList *list, const char *label, bool tick)
{
    Sheet *s = list->sheet;
    const double y = s->y + 3.2;
    if (tick) sheet_tick(s, s->left, y - 2.7, 3.0);
    draw_tag(s->draw, "TR");
    draw_tag(s->draw, "TH");
    draw_text(s->draw, type_label, INK_TEXT, s->left + LABEL, y, label);
    draw_tag_end(s->draw, "TH");
    draw_tag(s->draw, "TD");
}

static void close_row(RowList *list)
{
    draw_tag_end(list->sheet->draw, "TD");
    draw_tag_end(list->sheet->draw, "TR");
}

static double items_left(const Sheet *s) { return s->left + ITEMS; }
static double items_right(const Sheet *s) { return s->right - TOTALS; }

double row_list_height(const RowList *list, const Runs *runs)
{
    const Sheet *s = list->sheet;
    double x = items_left(s);
    int lines = 1;
    for (size_t i = 0; i < runs->count; i++) {
        const Item item = item_of(list, runs, i);
        if (x + item.width > items_right(s) && x > items_left(s)) lines++, x = items_left(s);
        x += item.width + GAP;
    }
    return lines * LINE + AFTER;
}

static void draw_item(const Sheet *s, const Item *item, double x, double y)
{
    draw_text(s->draw, type_tail, INK_SOFT, x, y, item->at);
    draw_text(s->draw, type_head, INK_TEXT, x + item->at_width, y, item->head);
    draw_text(s->draw, type_tail, INK_SOFT, x + item->at_width + item->head_width, y, item->tail);
}

static void draw_sums(const Sheet *s, const Runs *runs, double y)
{
    char text[48];
    snprintf(text, sizeof text, "%d bricks", runs->bricks);
    draw_text_right(s->draw, type_tail, INK_SOFT, s->right - 15.5, y, text);
    snprintf(text, sizeof text, "%d cells", runs->cells);
    draw_text_right(s->draw, type_head, INK_TEXT, s->right, y, text);
}

static void rule_row(RowList *list)
{
    Sheet *s = list->sheet;
    s->y += LINE + AFTER;
    draw_line(s->draw, s->left, s->y - 0.55, s->right, s->y - 0.55);
    draw_stroke(s->draw, INK_FAINT, 0.15);
}

Status row_list_add(RowList *list, const Runs *runs, const char *label, Fault *fault)
{
    Sheet *s = list->sheet;
    const double page = s->bottom - s->top, need = row_list_height(list, runs);
    /* A row that is longer than a page starts where it stands. */
    Status status = need_room(list, need < page ? need : LINE + AFTER, fault);
    if (status) return status;
    open_row(list, label, true);
    double x = items_left(s);
    for (size_t i = 0; i < runs->count; i++) {
        const Item item = item_of(list, runs, i);
        if (x + item.width > items_right(s) && x > items_left(s)) {
            x = items_left(s);
            s->y += LINE;
            if (s->y + LINE + AFTER > s->bottom) {
                close_row(list);
                status = need_room(list, LINE + AFTER, fault);
                if (status) return status;
                open_row(list, "…", false);
            }
        }
        draw_item(s, &item, x, s->y + 3.2);
        x += item.width + GAP;
    }
    draw_sums(s, runs, s->y + 3.2);
    close_row(list);
    rule_row(list);
    return STATUS_OK;
}

/* The label, and what there is to say of it. */
static void say_row(RowList *list, const char *label, const char *note, bool tick)
{
    const Sheet *s = list->sheet;
    open_row(list, label, tick);
    draw_text(s->draw, type_tail, INK_SOFT,
              s->left + LABEL + draw_text_width(s->draw, type_label, label) + GAP, s->y + 3.2,
              note);
    close_row(list);
}

Status row_list_note(RowList *list, const char *label, const char *note, Fault *fault)
{
    const Status status = need_room(list, LINE + AFTER, fault);
    if (status) return status;
    say_row(list, label, note, false);
    rule_row(list);
    return STATUS_OK;
}

Status row_list_standing(RowList *list, const char *label, size_t bricks, Fault *fault)
{
    const Status status = need_room(list, LINE + AFTER, fault);
    if (status) return status;
    const Sheet *s = list->sheet;
    char note[64];
    snprintf(note, sizeof note, "%zu %s already", bricks,
             bricks == 1 ? "brick stands" : "bricks stand");
    say_row(list, label, note, true);
    draw_line(s->draw, s->left + 0.6, s->y + 2.0, s->left + 1.3, s->y + 2.8);
    draw_line_on(s->draw, s->left + 2.5, s->y + 1.1);
    draw_stroke(s->draw, INK_SOFT, 0.4);
    rule_row(list);
    return STATUS_OK;
}

Status row_list_span(RowList *list, const RowSpan *span, Fault *fault)
{
    char label[48];
    if (span->kind == ROW_TO_LAY || span->from == span->to) return STATUS_OK;
    snprintf(label, sizeof label, span->to > span->from + 1 ? "rows %d to %d" : "row %d",
             span->from + 1, span->to);
    return span->kind == ROW_EMPTY ? row_list_note(list, label, "nothing in this tier", fault)
                                   : row_list_standing(list, label, span->bricks, fault);
}
