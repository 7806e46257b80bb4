/* A document is put together without looking at each step: one flag remembers that some step found
 * no memory, and then nothing is written. Numbers are printed to twelve digits, so that the last
 * bits of a sum, which no reader needs, are not in the file.
 *
 * Source: RFC 8259, by jansson. */
#include "base/json_file.h"

#include "base/memory.h"
#include "base/output_file.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>

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
    FILE *file;
    const Status status = output_file_open(&file, path, fault);
    if (status) {
        json_decref(root);
        return status;
    }
    const bool dumped = !json_dumpf(root, file, JSON_INDENT(2) | JSON_REAL_PRECISION(12));
    const int why = errno;
    json_decref(root);
    putc('\n', file);
    if (dumped) return output_file_close(file, path, fault);
    fclose(file);
    return output_file_fault(path, why, fault);
}
