/* Files count by their bytes and their names without folders: a show that was moved or copied is
 * not planned again. A setting counts unless it is in the list of those that change no byte of a
 * plan; one that is forgotten there costs time and nothing else. */
#include "show/mural_key.h"

#include "base/folder.h"
#include "base/json_file.h"
#include "base/memory.h"

#include <stdio.h>
#include <string.h>

static const char *const idle[] = {"out",     "threads", "memory",  "quiet",       "sort",
                                   "colours", "keep",    "without", "price-weight"};

static bool counts(const char *setting)
{
    for (size_t i = 0; i < sizeof idle / sizeof *idle; i++)
        if (!strcmp(idle[i], setting)) return false;
    return true;
}

static Status add_file(Digest *digest, const char *path, Fault *fault)
{
    char sha256[DIGEST_TEXT];
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    const Status status = digest_file(path, sha256, fault);
    if (status) return status;
    digest_add(digest, name, strlen(name) + 1);
    digest_add(digest, sha256, sizeof sha256);
    return STATUS_OK;
}

static Status add_setting(Digest *digest, const Setting *s, const Job *job, Fault *fault)
{
    char value[JOB_TEXT + 64];
    job_show(job, s, value, sizeof value);
    digest_add(digest, s->name, strlen(s->name) + 1);
    if (s->type == SETTING_FILE && *value) return add_file(digest, value, fault);
    digest_add(digest, value, strlen(value) + 1);
    return STATUS_OK;
}

Status mural_key(const Job *job, const char *version, char key_out[DIGEST_TEXT], Fault *fault)
{
    Digest *digest;
    Status status = digest_create(&digest, fault);
    if (status) return status;
    digest_add(digest, version, strlen(version) + 1);
    for (size_t i = 0; i < settings_count && !status; i++)
        if (counts(settings[i].name)) status = add_setting(digest, &settings[i], job, fault);
    if (!status) digest_text(digest, key_out);
    digest_free(digest);
    return status;
}

static bool files_are_whole(const char *folder, json_t *files)
{
    const char *name;
    json_t *told;
    json_object_foreach(files, name, told)
    {
        char path[FOLDER_PATH], sha256[DIGEST_TEXT];
        const char *want = json_string_value(told);
        if (!want || !folder_join(path, folder, name) || digest_file(path, sha256, NULL) ||
            strcmp(sha256, want) != 0)
            return false;
    }
    return json_object_size(files) > 0;
}

bool mural_is_whole(const char *folder, const char *plan_sha256)
{
    char *bytes = NULL, sha256[DIGEST_TEXT] = "";
    size_t length = 0;
    json_t *plan = NULL;
    if (folder_read(folder, "plan.json", &bytes, &length, NULL)) return false;
    bool whole = !digest_of(bytes, length, sha256, NULL) && !strcmp(sha256, plan_sha256) &&
                 !json_parse(&plan, bytes, length, 0, NULL, NULL) && plan;
    memory_free(bytes);
    if (whole) whole = files_are_whole(folder, json_object_get(plan, "files"));
    json_decref(plan);
    return whole;
}
