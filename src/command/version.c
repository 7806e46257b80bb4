/* The library tells of itself; the three libraries that the program alone links are added here. */
#include "command/version.h"

#include "rowlock.h"

#include <microhttpd.h>
#include <qrencode.h>
#include <sqlite3.h>

static void say_parts(RowlockPartKind kind, const char *heading, FILE *file)
{
    RowlockPart part;
    const char *before = heading;
    for (size_t i = 0; rowlock_part_at(i, &part); i++) {
        if (part.kind != kind) continue;
        fprintf(file, "%s%s%s%s", before, part.name, *part.version ? " " : "", part.version);
        before = ", ";
    }
}

void version_print(FILE *file)
{
    fprintf(file, "rowlock %s\n", rowlock_version());
    say_parts(ROWLOCK_LIBRARY, "libraries: ", file);
    fprintf(file, ", libmicrohttpd %s, SQLite %s, libqrencode %s\n", MHD_get_version(),
            sqlite3_libversion(), QRcode_APIVersionString());
    say_parts(ROWLOCK_FORMAT, "formats: ", file);
    say_parts(ROWLOCK_FEATURE, "\nfeatures: ", file);
    putc('\n', file);
}
