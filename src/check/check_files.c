#include "check/check_files.h"

#include "base/csv_stream.h"
#include "base/digest.h"
#include "base/memory.h"
#include "base/raster.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

typedef enum Need { NEED_ALWAYS, NEED_RELIEF, NEED_BOOK, NEED_MAY } Need;

/* What a plan is made of beside plan.json. */
static const struct {
    const char *name;
    Need need;
} part[] = {
    {"cells.png", NEED_ALWAYS},   {"steps.png", NEED_RELIEF},    {"bricks.csv", NEED_ALWAYS},
    {"rows.csv", NEED_ALWAYS},    {"parts.csv", NEED_ALWAYS},    {"panels.csv", NEED_ALWAYS},
    {"preview.png", NEED_ALWAYS}, {"distance.png", NEED_ALWAYS}, {"relief.png", NEED_RELIEF},
    {"relief.glb", NEED_RELIEF},  {"proof.jpg", NEED_ALWAYS},    {"book.pdf", NEED_BOOK},
    {"kit.pdf", NEED_MAY},        {"book.html", NEED_MAY},       {"order.csv", NEED_MAY},
    {"difference.csv", NEED_MAY}, {"left.csv", NEED_MAY},        {"quote.json", NEED_MAY},
    {"quote.pdf", NEED_MAY},
};
enum { PARTS_OF_PLAN = sizeof part / sizeof *part };

static bool listed(const PlanFacts *e, const char *name)
{
    return json_object_get(json_object_get(e->plan, "files"), name) != NULL;
}

static void check_needed(PlanFacts *e)
{
    const bool booked = !plan_facts_off(e, "book") && !plan_facts_on(e, "no-book");
    for (size_t i = 0; i < PARTS_OF_PLAN; i++) {
        const bool due = part[i].need == NEED_ALWAYS ||
                         (part[i].need == NEED_RELIEF && e->relief) ||
                         (part[i].need == NEED_BOOK && booked);
        if (due && !listed(e, part[i].name))
            verdict_broken(e->verdict, PROMISE_LISTED, "plan.json: files: %s: not listed",
                           part[i].name);
        if (part[i].need == NEED_RELIEF && !e->relief && listed(e, part[i].name))
            verdict_broken(e->verdict, PROMISE_LISTED,
                           "plan.json: files: %s: listed, but a plan without steps.png is flat",
                           part[i].name);
    }
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static bool belongs_to_plan(const char *name)
{
    for (size_t i = 0; i < PARTS_OF_PLAN; i++)
        if (strcmp(part[i].name, name) == 0) return true;
    return false;
}

static void say_unlisted(PlanFacts *e, const char *name)
{
    if (belongs_to_plan(name))
        verdict_broken(e->verdict, PROMISE_LISTED, "plan.json: files: %s: is there but not listed",
                       name);
    else
        voice_note(e->voice, "%s/%s: no file of the plan, left alone", e->folder, name);
}

/* Names that the folder holds and plan.json does not list, in the order of the alphabet. */
static Status gather_unlisted(PlanFacts *e, DIR *folder, char ***name_out, size_t *count_out,
                              Fault *fault)
{
    size_t capacity = 0;
    const struct dirent *entry;
    while ((entry = readdir(folder))) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0 ||
            strcmp(entry->d_name, "plan.json") == 0 || listed(e, entry->d_name))
            continue;
        const Status status =
            memory_grow(name_out, &capacity, *count_out + 1, sizeof **name_out, fault);
        if (status) return status;
        const size_t length = strlen(entry->d_name) + 1;
        char *copy = memory_create(length, 1);
        if (!copy) return memory_fault(fault, length, 1);
        memcpy(copy, entry->d_name, length);
        (*name_out)[(*count_out)++] = copy;
    }
    return STATUS_OK;
}

static Status check_unlisted(PlanFacts *e, Fault *fault)
{
    DIR *folder = opendir(e->folder);
    if (!folder)
        return fault_set(fault, STATUS_NO_INPUT, "%s: cannot be opened (%s); give a plan's folder",
                         e->folder, strerror(errno));
    char **name = NULL;
    size_t count = 0;
    const Status status = gather_unlisted(e, folder, &name, &count, fault);
    closedir(folder);
    if (!status && count) qsort(name, count, sizeof *name, by_name);
    for (size_t i = 0; i < count; i++) {
        if (!status) say_unlisted(e, name[i]);
        memory_free(name[i]);
    }
    memory_free(name);
    return status;
}

/* The digest of a file, "" where it is not there. */
static Status digest_present(const char *path, char text_out[DIGEST_TEXT], Fault *fault)
{
    struct stat what;
    *text_out = '\0';
    const bool present = stat(path, &what) == 0 && S_ISREG(what.st_mode);
    return present ? digest_file(path, text_out, fault) : STATUS_OK;
}

static Status check_listed(PlanFacts *e, const char *name, const json_t *value, Fault *fault)
{
    char path[CSV_STREAM_PATH], digest[DIGEST_TEXT];
    const char *said = json_string_value(value);
    if (strchr(name, '/') || *name == '.' || *name == '\0' || strcmp(name, "plan.json") == 0 ||
        !csv_stream_path(path, e->folder, name)) {
        verdict_broken(e->verdict, PROMISE_LISTED,
                       "plan.json: files: '%s': no name of a plan's file", name);
        return STATUS_OK;
    }
    const Status status = digest_present(path, digest, fault);
    if (status) return status;
    if (*digest == '\0')
        verdict_broken(e->verdict, PROMISE_LISTED, "%s: listed in plan.json but not there", name);
    else if (!said || strcmp(said, digest) != 0)
        verdict_broken(e->verdict, PROMISE_DIGESTS, "%s: its SHA-256 is %s, plan.json says %s",
                       name, digest, said ? said : "none");
    return STATUS_OK;
}

static void unreadable(PlanFacts *e, const char *name, const char *what)
{
    verdict_broken(e->verdict, PROMISE_READABLE, "%s: %s", name, what);
}

static Status check_picture(PlanFacts *e, const char *name, Fault *fault)
{
    Raster raster;
    const Status status = raster_read(&raster, e->folder, name, 0, 0, fault);
    if (status == STATUS_DATA) {
        unreadable(e, name, "not a PNG that can be read");
        return STATUS_OK;
    }
    raster_clear(&raster);
    return status == STATUS_NO_INPUT ? STATUS_OK : status;
}

static uint32_t little(const char *bytes)
{
    const unsigned char *b = (const unsigned char *)bytes;
    return (uint32_t)b[0] | (uint32_t)b[1] << 8 | (uint32_t)b[2] << 16 | (uint32_t)b[3] << 24;
}

/* glTF 2.0, 4.4: a header of 12 bytes, then the JSON chunk. */
static void check_model(PlanFacts *e, const char *name, const char *bytes, size_t length)
{
    if (length < 20 || memcmp(bytes, "glTF", 4) != 0 || little(bytes + 4) != 2) {
        unreadable(e, name, "not glTF 2.0 binary");
        return;
    }
    const uint32_t chunk = little(bytes + 12);
    if (little(bytes + 8) != length || memcmp(bytes + 16, "JSON", 4) != 0 || chunk > length - 20) {
        unreadable(e, name, "its glTF header does not fit its length");
        return;
    }
    json_t *root = json_loadb(bytes + 20, chunk, 0, NULL);
    const char *version =
        json_string_value(json_object_get(json_object_get(root, "asset"), "version"));
    if (!version || strcmp(version, "2.0") != 0)
        unreadable(e, name, "its JSON chunk has no asset.version 2.0");
    json_decref(root);
}

static void check_pdf(PlanFacts *e, const char *name, const char *bytes, size_t length)
{
    if (length < 5 || memcmp(bytes, "%PDF-", 5) != 0)
        unreadable(e, name, "does not start with %PDF-");
    else if (!memmem(bytes + (length > 1024 ? length - 1024 : 0), length > 1024 ? 1024 : length,
                     "%%EOF", 5))
        unreadable(e, name, "does not end with %%EOF");
}

static void check_jpeg(PlanFacts *e, const char *name, const char *bytes, size_t length)
{
    if (length < 4 || memcmp(bytes, "\xff\xd8\xff", 3) != 0)
        unreadable(e, name, "does not start as a JPEG does");
    else if (memcmp(bytes + length - 2, "\xff\xd9", 2) != 0)
        unreadable(e, name, "does not end as a JPEG does");
}

static void check_html(PlanFacts *e, const char *name, const char *bytes, size_t length)
{
    if (length < 15 || strncasecmp(bytes, "<!doctype html>", 15) != 0)
        unreadable(e, name, "does not start with <!DOCTYPE html>");
}

typedef void CheckBytes(PlanFacts *e, const char *name, const char *bytes, size_t length);

static Status check_content(PlanFacts *e, const char *name, CheckBytes *check, Fault *fault)
{
    char *bytes;
    size_t length;
    if (!listed(e, name)) return STATUS_OK;
    const Status status = folder_read(e->folder, name, &bytes, &length, fault);
    if (status == STATUS_NO_INPUT) return STATUS_OK; /* said already */
    if (status) return status;
    check(e, name, bytes, length);
    memory_free(bytes);
    return STATUS_OK;
}

static Status check_contents(PlanFacts *e, Fault *fault)
{
    static const char *const picture[] = {"preview.png", "distance.png", "relief.png"};
    static const struct {
        const char *name;
        CheckBytes *check;
    } other[] = {{"relief.glb", check_model}, {"proof.jpg", check_jpeg}, {"book.pdf", check_pdf},
                 {"kit.pdf", check_pdf},      {"quote.pdf", check_pdf},  {"book.html", check_html}};
    Status status = STATUS_OK;
    for (size_t i = 0; i < sizeof picture / sizeof *picture && !status; i++)
        if (listed(e, picture[i])) status = check_picture(e, picture[i], fault);
    for (size_t i = 0; i < sizeof other / sizeof *other && !status; i++)
        status = check_content(e, other[i].name, other[i].check, fault);
    return status;
}

Status check_files(PlanFacts *e, Fault *fault)
{
    json_t *files = json_object_get(e->plan, "files");
    if (!json_is_object(files)) return STATUS_OK;
    check_needed(e);
    const char *name;
    json_t *value;
    json_object_foreach(files, name, value)
    {
        const Status status = check_listed(e, name, value, fault);
        if (status) return status;
    }
    const Status status = check_unlisted(e, fault);
    return status ? status : check_contents(e, fault);
}
