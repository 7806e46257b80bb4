/* A version grows where a reader of the one before would misread what is written; a member that is
 * only new is no reason. */
#include "base/file_format.h"

#include <string.h>

const FileFormat file_formats[FILE_FORMATS] = {
    [FORMAT_PLAN] = {"plan.json", "rowlock-plan", 1},
    [FORMAT_QUOTE] = {"quote.json", "rowlock-quote", 2},
    [FORMAT_SHOW] = {"show.json", "rowlock-show", 1},
    [FORMAT_BENCH_RECORD] = {"bench record", "rowlock-bench-events", 1},
    [FORMAT_TRAIL] = {"trail.jsonl", "rowlock-trail", 1},
    [FORMAT_INSPECTION] = {"inspection.json", "rowlock-inspection", 1},
};

void file_format_set(Making *making, json_t *object, FileFormatId id)
{
    json_set(making, object, "format", json_string(file_formats[id].name));
    json_set(making, object, "version", json_integer(file_formats[id].version));
}

FormatFit file_format_fit(FileFormatId id, const json_t *root)
{
    const char *name = json_string_value(json_object_get(root, "format"));
    const json_int_t version = json_integer_value(json_object_get(root, "version"));
    if (!name || strcmp(name, file_formats[id].name) != 0 || version < 1) return FORMAT_FOREIGN;
    return version > file_formats[id].version ? FORMAT_NEWER : FORMAT_KNOWN;
}

Status file_format_fault(FileFormatId id, const json_t *root, const char *where, Fault *fault)
{
    return fault_set(fault, STATUS_DATA,
                     "%.400s: is of version %lld of its format, and this program knows version "
                     "%d; use the program that wrote it, or a newer one",
                     where, (long long)json_integer_value(json_object_get(root, "version")),
                     file_formats[id].version);
}
