/* JSON file: a document put together with jansson and written, one flag gathering
 * whether any step failed for lack of memory. */
#ifndef ROWLOCK_BASE_JSON_FILE_H
#define ROWLOCK_BASE_JSON_FILE_H

#include "base/status.h"

#include <jansson.h>

typedef struct Making {
    int failed;
} Making;

/* Both take the value over, also NULL, which is a step that failed. */
void json_set(Making *making, json_t *object, const char *name, json_t *value);
void json_append(Making *making, json_t *array, json_t *value);

/* Text from a file system, a table or a command line: what is not UTF-8 becomes '?'. */
json_t *json_text(const char *bytes);

/* Writes the document and takes it over. */
Status json_save(const Making *making, json_t *root, const char *path, Fault *fault);

#endif
