#include "base/json_file.h"

#include "base/memory.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

void json_set(Making *making, json_t *object, const char *name, json_t *value)
{
    making->failed |= json_object_set_new(object, name, value) != 0;
}

void json_append(Making *making, json_t *array, json_t *value)
{
    making->failed |= json_array_append_new(array, value) != 0;
}

json_t *json_text(const char *bytes)
{
    json_t *value = json_string(bytes);
    if (value) return value;
    char plain[1200];
    snprintf(plain, sizeof plain, "%s", bytes);
    for (char *c = plain; *c; c++)
        if ((unsigned char)*c >= 0x80) *c = '?';
    return json_string(plain);
}

Status json_save(const Making *making, json_t *root, const char *path, Fault *fault)
{
    if (!root || making->failed) {
        json_decref(root);
        return memory_fault(fault, 1, sizeof *making);
    }
    FILE *file = fopen(path, "wb");
    if (!file) {
        json_decref(root);
        return fault_set(fault, STATUS_NO_CREATE, "%s: cannot be created (%s); check the folder",
                         path, strerror(errno));
    }
    int broken =
        json_dumpf(root, file, JSON_INDENT(2) | JSON_REAL_PRECISION(12)) || putc('\n', file) == EOF;
    json_decref(root);
    broken |= ferror(file);
    if (fclose(file) || broken)
        return fault_set(fault, STATUS_IO, "%s: cannot be written (%s); free some space", path,
                         strerror(errno));
    return STATUS_OK;
}
