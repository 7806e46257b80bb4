/* The library tells of one brick after another, and each becomes a line of what is told. */
#include "serve/panel_photo.h"

#include "base/csv.h"
#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { FOLDER_ROOM = 4096, PANEL_ROOM = 24, SHEET_ROOM = 24, TO_MOST = 1000000 };

typedef struct PanelPhoto {
    LookTask task;
    char folder[FOLDER_ROOM], panel[PANEL_ROOM], sheet[SHEET_ROOM];
    int to;
    bool has_corners;
    double corner[4][2];
} PanelPhoto;

static void hear_found(void *self, const double corner[4][2])
{
    LookTask *task = self;
    json_t *list = json_array();
    for (int k = 0; k < 4; k++)
        json_append(&task->making, list, json_pack("[f, f]", corner[k][0], corner[k][1]));
    json_set(&task->making, task->told, "corners", list);
}

static void hear_seen(void *self, const RowlockSeenBrick *b)
{
    static const char *const names[] = {[ROWLOCK_RIGHT] = "right",
                                        [ROWLOCK_WRONG] = "wrong",
                                        [ROWLOCK_MISSING] = "missing",
                                        [ROWLOCK_SHIFTED] = "shifted",
                                        [ROWLOCK_UNTOLD] = "untold"};
    LookTask *task = self;
    json_append(&task->making, json_object_get(task->told, "bricks"),
                json_pack("[I, i, i, s, s?, i, i, s, i, i, s, s]", (json_int_t)b->brick, b->row,
                          b->column, names[b->verdict], b->looks, b->right, b->up, b->obstacle,
                          b->rows, b->columns, b->size, b->colour));
}

static RowlockStatus run(LookTask *task, const RowlockVoice *voice, RowlockFault *fault)
{
    const PanelPhoto *p = (PanelPhoto *)task;
    RowlockJob *job;
    const RowlockInspection what = {.folder = p->folder,
                                    .photo = task->photo,
                                    .panel = p->panel,
                                    .to = p->to,
                                    .corner = p->has_corners ? (const double(*)[2])p->corner : NULL,
                                    .sheet = *p->sheet ? p->sheet : NULL,
                                    .found = hear_found,
                                    .seen = hear_seen};
    json_set(&task->making, task->told, "bricks", json_array());
    RowlockStatus status = rowlock_job_create(&job, fault);
    if (!status) status = rowlock_inspect(job, &what, voice, fault);
    rowlock_job_free(job);
    return status;
}

/* False where the text is not eight numbers with commas between. */
static bool read_corners(const char *text, double corner[4][2])
{
    for (int k = 0; k < 8; k++) {
        char number[32];
        const size_t length = strcspn(text, ",");
        if (length >= sizeof number || (k < 7) != (text[length] == ',')) return false;
        memcpy(number, text, length);
        number[length] = 0;
        if (!number_parse(number, &corner[k / 2][k % 2])) return false;
        text += length + (k < 7);
    }
    return true;
}

LookTask *panel_photo_create(const char *folder, const Ask *ask, Fault *fault)
{
    const char *corners = ask_text(ask, "corners");
    PanelPhoto *p = memory_create(1, sizeof *p);
    if (!p) {
        memory_fault(fault, 1, sizeof *p);
        return NULL;
    }
    p->task.run = run;
    p->to = (int)fmin(fmax(ask_number(ask, "to"), 0), TO_MOST);
    snprintf(p->folder, sizeof p->folder, "%s", folder);
    snprintf(p->panel, sizeof p->panel, "%s", ask_text(ask, "panel"));
    snprintf(p->sheet, sizeof p->sheet, "%s", ask_text(ask, "sheet"));
    p->has_corners = *corners != 0;
    if (!p->has_corners || read_corners(corners, p->corner)) return &p->task;
    memory_free(p);
    fault_set(fault, STATUS_USAGE, "corners: give four, as x,y each");
    return NULL;
}
