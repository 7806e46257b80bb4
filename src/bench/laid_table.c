/* The build book counts bricks as bricks.csv lists them, so the table is that one, without the
 * lines of bricks that are not laid. */
#include "bench/laid_table.h"

#include "base/folder.h"
#include "base/memory.h"

#include <stdio.h>
#include <string.h>

static Status write_lines(const WorkState *s, const char *text, FILE *file, Fault *fault)
{
    const char *end = strchr(text, '\n');
    int brick = 0;
    if (!end) end = text;
    fwrite(text, 1, (size_t)(end + 1 - text), file); /* the header */
    for (const char *from = end + 1; (end = strchr(from, '\n')); from = end + 1, brick++)
        if (brick < s->plan->bricks && s->laid[brick])
            fwrite(from, 1, (size_t)(end + 1 - from), file);
    if (brick == s->plan->bricks) return STATUS_OK;
    return fault_set(
        fault, STATUS_DATA,
        "%.400s/bricks.csv: has %d bricks where plan.json says %d; run 'rowlock check'",
        s->plan->folder, brick, s->plan->bricks);
}

Status laid_table_write(const WorkState *s, Fault *fault)
{
    char *text = NULL, path[WORK_PATH];
    size_t length = 0;
    Status status = work_plan_path(s->plan, LAID_TABLE_FILE, path, fault);
    if (!status) status = folder_read(s->plan->folder, "bricks.csv", &text, &length, fault);
    if (status) return status;
    FILE *file = fopen(path, "wb");
    if (file) status = write_lines(s, text, file, fault);
    const bool failed = !file || ferror(file);
    if ((file && fclose(file)) || failed)
        status = fault_set(fault, STATUS_IO, "%.400s: cannot be written; free some space", path);
    memory_free(text);
    return status;
}
