/* A folder with a plan.json is a plan's; whether that can be read shows when a photograph is held
 * to it. */
#include "desk/held_plans.h"

#include "base/json_file.h"

#include <string.h>
#include <unistd.h>

#define PLAN_MARK "plan.json"

/* "harbour" of "harbour.desk"; false where the working folder's name does not end so. */
static bool folder_beside(const Commission *c, char path_out[ROWLOCK_SETTING_TEXT])
{
    static const char ending[] = WORKING_ENDING;
    const size_t length = strlen(c->folder.path), tail = sizeof ending - 1;
    if (length <= tail || strcmp(c->folder.path + length - tail, ending) != 0) return false;
    return snprintf(path_out, ROWLOCK_SETTING_TEXT, "%.*s", (int)(length - tail), c->folder.path) <
           ROWLOCK_SETTING_TEXT;
}

static bool has_plan(const char *folder)
{
    char path[ROWLOCK_SETTING_TEXT + sizeof PLAN_MARK];
    snprintf(path, sizeof path, "%s/" PLAN_MARK, folder);
    return !access(path, R_OK);
}

bool held_plan_folder(const Commission *c, int plan, char path_out[ROWLOCK_SETTING_TEXT])
{
    if (plan < 0 || plan >= HELD_PLANS) return false;
    if (!(plan ? folder_beside(c, path_out) : commission_made_folder(c, path_out))) return false;
    return has_plan(path_out);
}

json_t *held_plans_tell(const Commission *c)
{
    Making m = {0};
    json_t *list = json_array();
    for (int i = 0; i < HELD_PLANS; i++) {
        char path[ROWLOCK_SETTING_TEXT];
        const bool there = held_plan_folder(c, i, path);
        const char *slash = there ? strrchr(path, '/') : NULL;
        json_append(&m, list, there ? json_text(slash ? slash + 1 : path) : json_null());
    }
    if (!m.failed) return list;
    json_decref(list);
    return NULL;
}
