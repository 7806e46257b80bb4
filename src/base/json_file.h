/* JSON file: a document put together with jansson and written, one flag gathering
 * whether any step failed for lack of memory. */
#ifndef ROWLOCK_BASE_JSON_FILE_H
#define ROWLOCK_BASE_JSON_FILE_H

#include "base/memory_file.h"
#include "base/status.h"

#include <jansson.h>

#include <stdbool.h>
#include <stddef.h>

typedef struct Making {
    int failed;
} Making;

/* Both take the value over, also NULL, which is a step that failed. */
void json_set(Making *making, json_t *object, const char *name, json_t *value);
void json_append(Making *making, json_t *array, json_t *value);

/* Text from a file system, a table or a command line: what is not UTF-8 becomes '?'. */
json_t *json_text(const char *bytes);

/* A path, which may hold any byte: as it is where it is UTF-8; else, and where it begins with
 * "file:", as "file:" and its bytes percent-encoded (RFC 3986, section 2.1), so that it can be had
 * back. */
json_t *json_path(const char *bytes);

/* The path that json_path wrote; false where it is longer than `room` or not well encoded. */
bool json_path_bytes(char *out, size_t room, const char *text);

/* Parses a document; *root_out is NULL, and *error_out (which may be NULL) says why, where it is
 * none. Fault: no memory, which is no fault of the document. */
Status json_parse(json_t **root_out, const char *bytes, size_t length, size_t flags,
                  json_error_t *error_out, Fault *fault);

/* Writes the document and takes it over. */
Status json_save(const Making *making, json_t *root, const char *path, Fault *fault);

/* The same into memory. */
Status json_keep(const Making *making, json_t *root, MemoryFile *to, Fault *fault);

#endif
