/* inspection.json tells where the panel was found, what was measured and the verdicts' sums;
 * face.png is the panel as the plan has it, a pixel a cell, and the photograph is there to the
 * byte: with these the inspection can be done again without the plan. */
#include "inspect/inspection_files.h"

#include "base/csv_sheet.h"
#include "base/file_format.h"
#include "base/folder.h"
#include "base/input_file.h"
#include "base/json_file.h"
#include "base/memory.h"
#include "base/output_file.h"
#include "base/output_list.h"
#include "inspect/marks_picture.h"
#include "output/cells_png.h"

#include <ctype.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>

static const char *file_name(OutputId id) { return strrchr(output_list[id].name, '/') + 1; }

static bool is_ours(const char *name)
{
    for (int id = 0; id < OUTPUTS; id++) {
        if (output_list[id].when != OUTPUT_INSPECTED) continue;
        const char *own = file_name((OutputId)id);
        const size_t length = strlen(own);
        if (!strcmp(name, own)) return true;
        if (id == OUTPUT_INSPECT_PHOTO && !strncmp(name, own, length) && name[length] == '.')
            return true;
    }
    return false;
}

static const FolderKind inspected_folder = {is_ours, "inspection.json", "\"rowlock-inspection\""};

/* ---- the list ---- */

static Status write_list(const Inspection *i, const char *path, Fault *fault)
{
    const EarlierPlan *plan = i->plan;
    CsvSheet sheet;
    const Status status = csv_sheet_open(&sheet, path, TABLE_INSPECTION, fault);
    if (status) return status;
    for (const BrickVerdict *v = i->judgement.brick; v < i->judgement.brick + i->judgement.bricks;
         v++) {
        const Brick *b = &plan->laid.brick[v->brick];
        csv_put_text(&sheet, i->ask->panel);
        csv_put_whole(&sheet, b->row + 1);
        csv_put_whole(&sheet, b->column + 1);
        csv_put_whole(&sheet, b->columns);
        csv_put_whole(&sheet, b->rows);
        csv_put_text(&sheet, plan->sizes.size[b->size].name);
        csv_put_text(&sheet, plan->palette.colour[b->colour].id);
        csv_put_text(&sheet, verdict_names[v->verdict]);
        csv_put_text(&sheet, v->looks == FACE_NOTHING ? "" : plan->palette.colour[v->looks].id);
        csv_put_whole(&sheet, v->right);
        csv_put_whole(&sheet, v->up);
        csv_put_number(&sheet, 1, (double)v->difference);
        csv_put_number(&sheet, 1, (double)v->seen_from);
        csv_put_text(&sheet, v->verdict == VERDICT_UNKNOWN ? obstacle_texts[v->obstacle] : "");
        csv_end_record(&sheet);
    }
    return csv_sheet_close(&sheet, fault);
}

/* ---- the account ---- */

static json_t *corners_json(Making *k, const Inspection *i)
{
    json_t *list = json_array();
    PlanePoint corner[4];
    pose_corners(&i->pose, &i->face, corner);
    for (int c = 0; c < 4; c++) {
        json_t *point = json_array();
        json_append(k, point, json_real(corner[c].x));
        json_append(k, point, json_real(corner[c].y));
        json_append(k, list, point);
    }
    return list;
}

static json_t *counts_json(Making *k, const Judgement *j)
{
    json_t *o = json_object();
    for (int v = 0; v < VERDICTS; v++)
        json_set(k, o, verdict_names[v], json_integer((json_int_t)j->count[v]));
    return o;
}

static Status write_account(const Inspection *i, const char *photo, const char *path, Fault *fault)
{
    Making k = {0};
    json_t *o = json_object();
    file_format_set(&k, o, FORMAT_INSPECTION);
    json_set(&k, o, "panel", json_text(i->ask->panel));
    json_set(&k, o, "column", json_integer(i->face.column + 1));
    json_set(&k, o, "row", json_integer(i->face.row + 1));
    json_set(&k, o, "columns", json_integer(i->face.columns));
    json_set(&k, o, "rows", json_integer(i->face.rows));
    json_set(&k, o, "cell_height", json_real(i->face.unit_y / i->face.unit_x));
    json_set(&k, o, "photo", json_text(photo));
    json_set(&k, o, "given", json_boolean(i->ask->corner != NULL));
    json_set(&k, o, "corners", corners_json(&k, i));
    json_set(&k, o, "likeness", json_real(i->proof.likeness));
    json_set(&k, o, "likeness_of_others", json_real(i->proof.others));
    json_set(&k, o, "median_de00", json_real(i->colours.fit));
    json_set(&k, o, "seen_de00", json_real(JUDGE_DIFFERENCE));
    json_set(&k, o, "seen_share", json_real(i->judgement.certain));
    json_set(&k, o, "bricks", counts_json(&k, &i->judgement));
    return json_save(&k, o, path, fault);
}

/* ---- what it was made from ---- */

/* The name in the folder: photo and the ending of the file, such as photo.jpg. */
static void photo_name(const Inspection *i, char name[32])
{
    const char *base = strrchr(i->ask->photo, '/');
    const char *dot = strrchr(base ? base : i->ask->photo, '.');
    size_t n = strlen(file_name(OUTPUT_INSPECT_PHOTO));
    memcpy(name, file_name(OUTPUT_INSPECT_PHOTO), n);
    const size_t first = n;
    if (dot && strlen(dot) < 8 &&
        strspn(dot + 1, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ") == strlen(dot + 1))
        for (; *dot; dot++) name[n++] = (char)tolower((unsigned char)*dot);
    name[n == first + 1 ? first : n] = 0;
}

/* Standard input has been read and is not copied. */
static Status copy_photo(const char *from, const char *to, Fault *fault)
{
    FILE *in = fopen(from, "rb"), *out = NULL;
    if (!in) return input_file_fault(from, errno, fault);
    Status status = output_file_open(&out, to, fault);
    char block[1 << 16];
    for (size_t n; !status && (n = fread(block, 1, sizeof block, in)) > 0;)
        if (fwrite(block, 1, n, out) != n) status = output_file_fault(to, errno, fault);
    if (!status && ferror(in))
        status = fault_set(fault, STATUS_IO, "%s: reading broke off; run it again", from);
    fclose(in);
    if (!status) return output_file_close(out, to, fault);
    if (out) fclose(out);
    return status;
}

static Status write_face(const Inspection *i, const char *path, Fault *fault)
{
    const Grid grid = {i->face.columns, i->face.rows, i->face.colour, NULL};
    const PaintPlace place = paint_file(path);
    return cells_png_write(&grid, &i->plan->palette, &place, fault);
}

static Status write_files(const Inspection *i, const Folder *folder, Fault *fault)
{
    char path[FOLDER_PATH], photo[32] = "";
    const bool copied = strcmp(i->ask->photo, "-") != 0;
    if (copied) photo_name(i, photo);
    folder_path(folder, file_name(OUTPUT_INSPECT_CSV), path);
    Status status = write_list(i, path, fault);
    folder_path(folder, file_name(OUTPUT_INSPECT_JSON), path);
    if (!status) status = write_account(i, photo, path, fault);
    folder_path(folder, file_name(OUTPUT_INSPECT_FACE), path);
    if (!status) status = write_face(i, path, fault);
    folder_path(folder, photo, path);
    if (!status && copied) status = copy_photo(i->ask->photo, path, fault);
    folder_path(folder, file_name(OUTPUT_INSPECT_PNG), path);
    const PaintPlace place = paint_file(path);
    return status ? status : marks_picture_write(i, &place, fault);
}

Status inspection_files_write(const Inspection *i, Fault *fault)
{
    Folder folder;
    Status status = folder_begin(&folder, i->ask->job->out, &inspected_folder, fault);
    if (!status) status = write_files(i, &folder, fault);
    if (!status) status = folder_commit(&folder, fault);
    folder_abandon(&folder);
    return status;
}
