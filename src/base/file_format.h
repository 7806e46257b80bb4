/* File format: the JSON documents of ours, each opening with its format's name and version. What
 * is written is of the last version; every version up to it is read. */
#ifndef ROWLOCK_BASE_FILE_FORMAT_H
#define ROWLOCK_BASE_FILE_FORMAT_H

#include "base/json_file.h"

typedef enum FileFormatId {
    FORMAT_PLAN,
    FORMAT_QUOTE,
    FORMAT_SHOW,
    FORMAT_BENCH_RECORD,
    FORMAT_TRAIL,
    FORMAT_INSPECTION,
    FILE_FORMATS
} FileFormatId;

typedef struct FileFormat {
    const char *file; /* how the file is called */
    const char *name; /* its member `format` */
    int version;      /* the last */
} FileFormat;

extern const FileFormat file_formats[FILE_FORMATS];

/* Sets `format` and `version`, which come before all else. */
void file_format_set(Making *making, json_t *object, FileFormatId id);

typedef enum FormatFit {
    FORMAT_FOREIGN, /* not of this format, or it does not say its version */
    FORMAT_KNOWN,
    FORMAT_NEWER /* of a version that was not known when this program was made */
} FormatFit;

/* Tells of a document, which may be NULL. */
FormatFit file_format_fit(FileFormatId id, const json_t *root);

/* FORMAT_NEWER as a fault of the file `where`. */
Status file_format_fault(FileFormatId id, const json_t *root, const char *where, Fault *fault);

#endif
