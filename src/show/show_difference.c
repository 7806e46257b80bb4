/* A line is one colour and size in one mural; a mural that is new has all of its lines from
 * nothing, one that was dropped has them to nothing. So a sum over the table is the change of the
 * whole show. */
#include "show/show_difference.h"

#include "base/csv_guard.h"
#include "base/csv_sheet.h"
#include "base/csv_stream.h"
#include "base/memory.h"
#include "base/output_file.h"

#include <stdio.h>
#include <string.h>

enum { LINES_MOST = 1 << 20, COUNT_MOST = 1000000000 };

/* ---- lines ---- */

/* The key of a line stays where it is while lines are added: the table borrows it, so lines are
 * counted first. */
static ShowChange *find_line(ShowDifference *d, const char *mural, const char *colour,
                             const char *size)
{
    char key[sizeof d->line->key];
    snprintf(key, sizeof key, "%.39s\n%.16s\n%.15s", mural, colour, size);
    const long at = name_table_find(&d->index, key);
    if (at >= 0) return &d->line[at];
    if (d->count == d->capacity) return NULL;
    ShowChange *line = &d->line[d->count];
    snprintf(line->mural, sizeof line->mural, "%.39s", mural);
    snprintf(line->colour, sizeof line->colour, "%.16s", colour);
    snprintf(line->size, sizeof line->size, "%.15s", size);
    memcpy(line->key, key, sizeof key);
    name_table_enter(&d->index, line->key, (uint32_t)d->count++);
    return line;
}

static Status parts_damaged(const CsvStream *s, Fault *fault)
{
    return fault_set(fault, STATUS_DATA,
                     "%s:%d: not a line of a show's parts; remove the file and run it again",
                     s->name, s->line);
}

static Status take_before(ShowDifference *d, CsvStream *s, Fault *fault)
{
    const int mural = csv_stream_column(s, "mural"), colour = csv_stream_column(s, "colour"),
              size = csv_stream_column(s, "size"), count = csv_stream_column(s, "count");
    bool more = mural >= 0 && colour >= 0 && size >= 0 && count >= 0;
    Status status = more ? STATUS_OK : parts_damaged(s, fault);
    while (!status && more) {
        status = csv_stream_next(s, &more, fault);
        if (status || !more) break;
        ShowChange *line =
            find_line(d, s->field[mural], csv_unguarded(s->field[colour]), s->field[size]);
        if (!line || !field_whole(s->field[count], 0, COUNT_MOST, &line->before))
            status = parts_damaged(s, fault);
    }
    return status;
}

static void take_after(ShowDifference *d, const Show *show, const ShowOrder *order)
{
    const Studio *studio = order->studio;
    for (int m = 0; m < show->count; m++)
        for (int i = 0; i < order->whole.count; i++) {
            const Part *p = &order->whole.part[i];
            const long count = show_order_count(order, i, m);
            if (!count) continue;
            ShowChange *line =
                find_line(d, show->mural[m].name, studio->palette.colour[p->colour].id,
                          studio->sizes.size[p->size].name);
            if (line) line->after = count;
        }
}

/* Lines that the table of before has at most: the line ends in it. */
static size_t lines_of(const CsvStream *s)
{
    size_t lines = 1;
    for (size_t i = 0; i < s->length; i++) lines += s->bytes[i] == '\n';
    return lines;
}

/* ---- what it comes to ---- */

/* A mural is counted where it is met first. Its lines stand together, those of before first, so
 * most lines are told by the one above them. */
static bool met_before(const ShowDifference *d, size_t line)
{
    if (line && !strcmp(d->line[line - 1].mural, d->line[line].mural)) return true;
    for (size_t i = 0; i < line; i++)
        if (!strcmp(d->line[i].mural, d->line[line].mural)) return true;
    return false;
}

static void count_mural(ShowDifference *d, const char *mural)
{
    long before = 0, after = 0;
    bool differs = false;
    for (size_t i = 0; i < d->count; i++) {
        const ShowChange *line = &d->line[i];
        if (strcmp(line->mural, mural) != 0) continue;
        before += line->before;
        after += line->after;
        differs |= line->before != line->after;
    }
    if (!before)
        d->added++;
    else if (!after && !d->dropped++)
        snprintf(d->first_dropped, sizeof d->first_dropped, "%s", mural);
    else if (after && differs)
        d->changed++;
}

static void sum_up(ShowDifference *d)
{
    for (size_t i = 0; i < d->count; i++) {
        const long change = d->line[i].after - d->line[i].before;
        if (change > 0) d->more += change;
        if (change < 0) d->fewer -= change;
        if (!met_before(d, i)) count_mural(d, d->line[i].mural);
    }
}

/* ---- the whole ---- */

static Status make_lines(ShowDifference *d, size_t lines, Fault *fault)
{
    if (lines > LINES_MOST)
        return fault_set(fault, STATUS_DATA, "parts.csv: longer than any show's; remove it");
    d->capacity = lines;
    d->line = memory_create(lines, sizeof *d->line);
    if (!d->line) return memory_fault(fault, lines, sizeof *d->line);
    return name_table_init(&d->index, lines, fault);
}

Status show_difference_init(ShowDifference *d, const ShowFolder *folder, const Show *show,
                            const ShowOrder *order, Fault *fault)
{
    CsvStream s;
    *d = (ShowDifference){.earlier = false};
    Status status = csv_stream_open(&s, folder->path, "parts.csv", fault);
    if (status == STATUS_NO_INPUT) return STATUS_OK;
    if (status) return status;
    d->earlier = true;
    status = make_lines(d, lines_of(&s) + (size_t)order->whole.count * (size_t)show->count, fault);
    if (!status) status = take_before(d, &s, fault);
    if (!status) take_after(d, show, order);
    if (!status) sum_up(d);
    csv_stream_close(&s);
    return status;
}

void show_difference_clear(ShowDifference *d)
{
    name_table_clear(&d->index);
    memory_free(d->line);
    *d = (ShowDifference){0};
}

/* ---- the table ---- */

static Status keep_table(const ShowFolder *folder, const char *path, Fault *fault)
{
    char *bytes = NULL;
    size_t length = 0;
    FILE *file;
    if (folder_read(folder->path, "difference.csv", &bytes, &length, NULL)) return STATUS_OK;
    Status status = output_file_open(&file, path, fault);
    if (!status) {
        fwrite(bytes, 1, length, file);
        status = output_file_close(file, path, fault);
    }
    memory_free(bytes);
    return status;
}

Status show_difference_write(const ShowDifference *d, const ShowFolder *folder, const char *path,
                             Fault *fault)
{
    CsvSheet sheet;
    if (!d->earlier) return STATUS_OK;
    if (!d->more && !d->fewer) return keep_table(folder, path, fault);
    const Status status = csv_sheet_open(&sheet, path, TABLE_SHOW_DIFFERENCE, fault);
    if (status) return status;
    for (size_t i = 0; i < d->count; i++) {
        const ShowChange *line = &d->line[i];
        if (line->before == line->after) continue;
        csv_put_text(&sheet, line->mural);
        csv_put_text(&sheet, line->colour);
        csv_put_text(&sheet, line->size);
        csv_put_whole(&sheet, line->before);
        csv_put_whole(&sheet, line->after);
        csv_put_whole(&sheet, line->after - line->before);
        csv_end_record(&sheet);
    }
    return csv_sheet_close(&sheet, fault);
}
