/* Folders against the rules that they promise: whole or not at all, one run at a time, nothing of
 * the user's own lost, on the disk before the earlier one goes. The last is held against the
 * order of the system calls: a file's data is safe once fsync(2) of it returned, its name once
 * fsync of its folder did (POSIX.1-2017, fsync; rename). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/folder.h"

#include "support/scratch.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

static char room[SCRATCH_MOST];

/* ---- the calls as they were made; they stand before the C library's own ---- */

enum { CALLS_MOST = 200, CALL_TEXT = 300 };
static char call[CALLS_MOST][CALL_TEXT];
static int calls;

static void note(const char *verb, const char *path)
{
    if (calls < CALLS_MOST) snprintf(call[calls++], CALL_TEXT, "%s %s", verb, path);
}

int fsync(int descriptor)
{
    char link[64], path[CALL_TEXT - 20];
    snprintf(link, sizeof link, "/proc/self/fd/%d", descriptor);
    const ssize_t length = readlink(link, path, sizeof path - 1);
    path[length > 0 ? length : 0] = 0;
    note("sync", path);
    return (int)syscall(SYS_fsync, descriptor);
}

/* Not every C library has it: musl's system is asked past it, where nothing can stand before. */
int renameat2(int from_folder, const char *from, int to_folder, const char *to, unsigned flags);
int renameat2(int from_folder, const char *from, int to_folder, const char *to, unsigned flags)
{
    const int failed = (int)syscall(SYS_renameat2, from_folder, from, to_folder, to, flags);
    if (!failed) note("place", to);
    return failed;
}

int rename(const char *from, const char *to)
{
    const int failed = (int)syscall(SYS_renameat2, AT_FDCWD, from, AT_FDCWD, to, 0);
    if (!failed) note("place", to);
    return failed;
}

int unlink(const char *path)
{
    const int failed = (int)syscall(SYS_unlinkat, AT_FDCWD, path, 0);
    if (!failed) note("remove", path);
    return failed;
}

/* The first call of this kind on a path that ends so, from a place in the list on; -1: none. */
static int find_call(int from, const char *verb, const char *ending)
{
    for (int i = from; i < calls; i++) {
        const size_t length = strlen(call[i]), tail = strlen(ending);
        if (!strncmp(call[i], verb, strlen(verb)) && length >= tail &&
            !strcmp(call[i] + length - tail, ending))
            return i;
    }
    return -1;
}

/* ---- a small plan of three files ---- */

static const char *const names[] = {"plan.json", "cells.png", "bricks.csv"};
enum { NAMES = sizeof names / sizeof *names };

static bool is_ours(const char *name)
{
    for (int i = 0; i < NAMES; i++)
        if (!strcmp(name, names[i])) return true;
    return false;
}

static const FolderKind kind = {is_ours, "plan.json", "rowlock-plan"};

static void put(const char *path, const char *text)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

static void get(const char *path, char text[64])
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    text[fread(text, 1, 63, file)] = 0;
    fclose(file);
}

static Status write_plan(const char *path, int id, Fault *fault)
{
    Folder folder;
    Status status = folder_begin(&folder, path, &kind, fault);
    char text[64], file[FOLDER_PATH];
    snprintf(text, sizeof text, "rowlock-plan %d\n", id);
    for (int i = 0; i < NAMES && !status; i++) {
        folder_path(&folder, names[i], file);
        put(file, text);
    }
    if (!status) status = folder_commit(&folder, fault);
    folder_abandon(&folder);
    return status;
}

/* The three files are of one run. */
static void assert_whole(const char *path)
{
    char first[64], other[64], file[FOLDER_PATH];
    for (int i = 0; i < NAMES; i++) {
        snprintf(file, sizeof file, "%s/%s", path, names[i]);
        get(file, i ? other : first);
        if (i) assert_string_equal(first, other);
    }
}

static bool there(const char *path)
{
    struct stat about;
    return !lstat(path, &about);
}

/* ---- the rules ---- */

static void all_is_on_the_disk_before_the_earlier_plan_goes(void **state)
{
    (void)state;
#if defined(__linux__) && !defined(__GLIBC__)
    skip(); /* the exchange is not seen, as said above */
#endif
    Fault fault;
    assert_int_equal(write_plan("synced", 1, &fault), STATUS_OK);
    put("synced/note.txt", "mine");
    calls = 0;
    assert_int_equal(write_plan("synced", 2, &fault), STATUS_OK);
    const int placed = find_call(0, "place", "/synced");
    assert_true(placed > 0);
    for (int i = 0; i < NAMES; i++) {
        char ending[64];
        snprintf(ending, sizeof ending, ".synced.partial/%s", names[i]);
        const int synced = find_call(0, "sync", ending);
        assert_true(synced >= 0 && synced < placed);
    }
    const int folder = find_call(0, "sync", "/.synced.partial");
    assert_true(folder >= 0 && folder < placed);
    const int parent = find_call(placed, "sync", room), gone = find_call(placed, "remove", ".json");
    assert_true(parent > placed && gone > parent);
    assert_whole("synced");
    assert_true(there("synced/note.txt"));
    assert_false(there(".synced.partial") || there(".synced.lock"));
}

static void files_of_the_users_own_are_never_replaced(void **state)
{
    (void)state;
    Fault fault;
    char text[64];
    assert_int_equal(mkdir("own", 0777), 0);
    put("own/cells.png", "a picture of mine");
    assert_int_equal(write_plan("own", 3, &fault), STATUS_NO_CREATE);
    assert_non_null(strstr(fault.text, "own: holds 'cells.png'"));
    get("own/cells.png", text);
    assert_string_equal(text, "a picture of mine");
    /* A file of that name which is not a plan's does not make the folder a plan. */
    put("own/plan.json", "{}");
    assert_int_equal(write_plan("own", 3, &fault), STATUS_NO_CREATE);
    put("own/plan.json", "rowlock-plan");
    assert_int_equal(write_plan("own", 3, &fault), STATUS_OK);
    assert_whole("own");
}

static void a_folder_within_is_said_before_the_work_and_blocks_nothing(void **state)
{
    (void)state;
    Fault fault;
    Folder folder;
    assert_int_equal(write_plan("nest", 4, &fault), STATUS_OK);
    assert_int_equal(unlink("nest/cells.png"), 0);
    assert_int_equal(mkdir("nest/cells.png", 0777), 0);
    put("nest/cells.png/deep.txt", "mine");
    assert_int_equal(folder_begin(&folder, "nest", &kind, &fault), STATUS_NO_CREATE);
    assert_non_null(strstr(fault.text, "'cells.png/deep.txt'"));
    assert_true(there("nest/cells.png/deep.txt"));
    assert_false(there(".nest.partial") || there(".nest.lock"));
    assert_int_equal(rename("nest/cells.png", "moved"), 0);
    assert_int_equal(write_plan("nest", 5, &fault), STATUS_OK);
    assert_whole("nest");
}

static void a_run_that_has_the_folder_is_named(void **state)
{
    (void)state;
    Fault fault;
    Folder folder;
    char number[32];
    assert_int_equal(folder_begin(&folder, "held", &kind, &fault), STATUS_OK);
    assert_int_equal(write_plan("held", 6, &fault), STATUS_NO_CREATE);
    snprintf(number, sizeof number, "process %ld", (long)getpid());
    assert_non_null(strstr(fault.text, number));
    assert_true(there(".held.partial")); /* nobody deletes another's files */
    folder_abandon(&folder);
    assert_int_equal(write_plan("held", 7, &fault), STATUS_OK);
}

static void what_was_killed_between_two_renames_is_put_back(void **state)
{
    (void)state;
    Fault fault;
    Folder folder;
    assert_int_equal(write_plan("cut", 8, &fault), STATUS_OK);
    assert_int_equal(rename("cut", ".cut.earlier"), 0);
    assert_int_equal(folder_begin(&folder, "cut", &kind, &fault), STATUS_OK);
    folder_abandon(&folder);
    assert_whole("cut");
    assert_false(there(".cut.earlier"));
}

/* Two to five runs at once, some begun while others end; half of them killed on the way. */
static void runs_at_once_leave_one_whole_plan(void **state)
{
    (void)state;
    enum { TRIALS = 100, RUNS_MOST = 5, WRITINGS = 6 };
    for (int trial = 0; trial < TRIALS; trial++) {
        const int runs = 2 + trial % (RUNS_MOST - 1);
        pid_t child[RUNS_MOST];
        for (int i = 0; i < runs; i++) {
            child[i] = fork();
            assert_true(child[i] >= 0);
            if (child[i]) continue;
            int failed = 0;
            for (int n = 0; n < WRITINGS; n++) {
                Fault fault;
                const Status status = write_plan("crowd", 1000 * trial + 10 * i + n, &fault);
                failed |= status != STATUS_OK && status != STATUS_NO_CREATE;
            }
            _exit(failed);
        }
        for (int i = 0; i < runs; i++) {
            int said;
            if (i % 2) usleep(1000 * (useconds_t)(trial % 7)), kill(child[i], SIGKILL);
            assert_int_equal(waitpid(child[i], &said, 0), child[i]);
            if (WIFEXITED(said)) assert_int_equal(WEXITSTATUS(said), 0);
        }
        assert_whole("crowd");
    }
    Fault fault; /* and what the killed ones left blocks nobody */
    assert_int_equal(write_plan("crowd", 1, &fault), STATUS_OK);
    assert_false(there(".crowd.partial") || there(".crowd.lock"));
}

static int enter(void **state)
{
    (void)state;
    return scratch_folder(room) && !chdir(room) ? 0 : -1;
}

static int leave(void **state)
{
    (void)state;
    return chdir("/") || scratch_clear(room);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_is_on_the_disk_before_the_earlier_plan_goes),
        cmocka_unit_test(files_of_the_users_own_are_never_replaced),
        cmocka_unit_test(a_folder_within_is_said_before_the_work_and_blocks_nothing),
        cmocka_unit_test(a_run_that_has_the_folder_is_named),
        cmocka_unit_test(what_was_killed_between_two_renames_is_put_back),
        cmocka_unit_test(runs_at_once_leave_one_whole_plan),
    };
    return cmocka_run_group_tests(tests, enter, leave);
}
