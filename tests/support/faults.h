/* What every reader's test needs: the malformed files of tests/data/bad, each named after what
 * is bad, with the place that the fault must name. */
#ifndef ROWLOCK_TESTS_FAULTS_H
#define ROWLOCK_TESTS_FAULTS_H

#include "base/memory.h"
#include "base/status.h"
#include "base/voice.h"

#include <dirent.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h> /* needs those above */

typedef struct Bad {
    const char *file;  /* in tests/data/bad */
    const char *place; /* "line" or "line:column" */
    const char *word;  /* the message holds it */
} Bad;

/* Reads the file and clears whatever came of it. */
typedef Status Reader(const char *path, Fault *fault);

static void check_bad(const Bad *bad, Reader *reader)
{
    char path[256], start[300];
    Fault fault = {0};
    snprintf(path, sizeof path, "tests/data/bad/%s", bad->file);
    snprintf(start, sizeof start, "%s:%s: ", path, bad->place);
    const Status status = reader(path, &fault);
    const char *mend = strrchr(fault.text, ';');
    if (status == STATUS_DATA && fault.status == STATUS_DATA && mend && mend[1] == ' ' &&
        strncmp(fault.text, start, strlen(start)) == 0 && strstr(fault.text, bad->word))
        return;
    print_error("%s: status %d, '%s'; wanted '%s ... %s ...; ...'\n", path, (int)status, fault.text,
                start, bad->word);
    fail();
}

/* Every file whose name starts with prefix is in the table, and faults as it says. */
static inline void check_bad_files(const Bad *bad, size_t count, const char *prefix, Reader *reader)
{
    DIR *folder = opendir("tests/data/bad");
    size_t files = 0;
    assert_non_null(folder);
    for (struct dirent *entry; (entry = readdir(folder));)
        files += strncmp(entry->d_name, prefix, strlen(prefix)) == 0;
    closedir(folder);
    assert_int_equal(files, count);
    for (size_t i = 0; i < count; i++) check_bad(&bad[i], reader);
}

/* Each allocation of a run is failed in turn: the run must say so and leave nothing behind
 * (the sanitizer build sees what is left). */
static inline void fail_each_allocation(Reader *reader, const char *path)
{
    for (long n = 0; n < 100000; n++) {
        Fault fault = {0};
        memory_fail_after(n);
        const Status status = reader(path, &fault);
        const int failed = memory_countdown() < 0;
        memory_fail_after(-1);
        if (!failed) {
            assert_int_equal(status, STATUS_OK);
            assert_true(n > 0);
            return;
        }
        assert_int_equal(status, STATUS_NO_RESOURCE);
        assert_int_equal(fault.status, STATUS_NO_RESOURCE);
    }
    fail();
}

/* Collects notes, one a line. */
typedef struct Notes {
    char text[4096];
} Notes;

static inline void take_note(void *self, const char *text)
{
    Notes *notes = self;
    const size_t used = strlen(notes->text);
    snprintf(notes->text + used, sizeof notes->text - used, "%s\n", text);
}

/* A file of the build folder to write to. */
static inline void write_file(const char *path, const char *bytes, size_t length)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    assert_int_equal(fclose(file), 0);
}

#endif
