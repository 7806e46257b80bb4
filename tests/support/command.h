/* Runs the built program as a user would and keeps what it said. Included by the tests
 * that look at the program from outside; each works in a folder of its own. */
#ifndef TESTS_COMMAND_H
#define TESTS_COMMAND_H

#include "support/scratch.h"

#include <limits.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static char command_room[SCRATCH_MOST], command_program[PATH_MAX], command_said[1 << 16];

/* Path of a file in the test's folder; four may be in use at once. */
static inline const char *in_room(const char *name)
{
    static char paths[4][PATH_MAX];
    static int next;
    char *path = paths[next++ % 4];
    snprintf(path, PATH_MAX, "%s/%s", command_room, name);
    return path;
}

static inline char *slurp(const char *path, size_t *size_out)
{
    FILE *file = fopen(path, "rb");
    if (!file) return NULL;
    fseek(file, 0, SEEK_END);
    const long size = ftell(file);
    rewind(file);
    char *bytes = malloc((size_t)size + 1);
    if (size_out)
        *size_out = fread(bytes, 1, (size_t)size, file);
    else if (fread(bytes, 1, (size_t)size, file) != (size_t)size)
        abort();
    bytes[size] = 0;
    fclose(file);
    return bytes;
}

/* Runs a shell line in the test's folder; rowlock is the built program. Its output, both
 * streams, is in command_said after. Returns the exit code, 128 + n for signal n. */
__attribute__((format(printf, 1, 2))) static inline int shell(const char *format, ...)
{
    static char line[8192], whole[8192 + 2 * PATH_MAX];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    snprintf(whole, sizeof whole, "cd '%s' && rowlock() { '%s' \"$@\"; } && { %s\n} > said 2>&1",
             command_room, command_program, line);
    const int code = system(whole);
    char *said = slurp(in_room("said"), NULL);
    snprintf(command_said, sizeof command_said, "%s", said ? said : "");
    free(said);
    return WIFSIGNALED(code) ? 128 + WTERMSIG(code) : WEXITSTATUS(code);
}

/* Writes a small picture of many colours, PNM; 0 where that went well. */
static inline int speckle(const char *path, int columns, int rows)
{
    FILE *file = fopen(path, "wb");
    if (!file) return -1;
    fprintf(file, "P6 %d %d 255\n", columns, rows);
    for (int i = 0; i < columns * rows * 3; i++) putc(i * 37 % 256, file);
    return fclose(file);
}

static inline int command_setup(void **state)
{
    (void)state;
    const char *build = getenv("B");
    char relative[PATH_MAX - 16];
    snprintf(relative, sizeof relative, "%s", build ? build : "build/release");
    if (!realpath(relative, command_program)) return -1;
    strcat(command_program, "/rowlock");
    return scratch_folder(command_room) ? 0 : -1;
}

static inline int command_teardown(void **state)
{
    (void)state;
    return scratch_clear(command_room);
}

#endif
