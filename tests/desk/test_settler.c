/* What the desk writes reaches the disk by itself, in an order that a loss of power may break
 * anywhere; and who is answered does not wait for that. The outside source is the order of the
 * system calls: a file's data is safe once fsync(2) of it returned, its name once fsync of its
 * folder did (POSIX.1-2017, fsync). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "desk/commission.h"
#include "desk/setting_list.h"
#include "support/scratch.h"

#include <errno.h>
#include <pthread.h>
#include <string.h>
#include <sys/syscall.h>
#include <unistd.h>

static char room[SCRATCH_MOST];

/* ---- the call as it was made; it stands before the C library's own ---- */

enum { CALLS_MOST = 64, CALL_TEXT = 300 };
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER; /* held by a test: the disk is at work */
static char call[CALLS_MOST][CALL_TEXT];
static int calls;
static int refusal; /* errno; 0: the disk takes what comes */

int fsync(int descriptor)
{
    char link[64], path[CALL_TEXT];
    snprintf(link, sizeof link, "/proc/self/fd/%d", descriptor);
    const ssize_t length = readlink(link, path, sizeof path - 1);
    path[length > 0 ? length : 0] = 0;
    const char *slash = strrchr(path, '/');
    pthread_mutex_lock(&lock);
    if (calls < CALLS_MOST) snprintf(call[calls++], CALL_TEXT, "%s", slash ? slash + 1 : path);
    const int why = refusal;
    pthread_mutex_unlock(&lock);
    errno = why;
    return why ? -1 : (int)syscall(SYS_fsync, descriptor);
}

static void refuse(int why)
{
    pthread_mutex_lock(&lock);
    refusal = why;
    pthread_mutex_unlock(&lock);
}

/* The place of a name among the calls from `from` on; -1: it is not there. */
static int place_of(const char *name, int from)
{
    int found = -1;
    pthread_mutex_lock(&lock);
    for (int i = from; found < 0 && i < calls; i++)
        if (!strcmp(call[i], name)) found = i;
    pthread_mutex_unlock(&lock);
    return found;
}

/* How often, and at what distance, is looked for what comes within milliseconds. */
enum { PAUSE_US = 10000, TURNS = 3000 };

static void no_news(void *self) { (void)self; }

/* ---- the tests ---- */

static void who_is_answered_does_not_wait_for_the_disk(void **state)
{
    (void)state;
    WorkingFolder at;
    Trail *trail;
    Fault fault;
    Incoming incoming = {0};
    char name[WORKING_NAME];
    json_t *settings = json_pack("{s:s}", "calm", "0.5");
    assert_int_equal(working_folder_open(&at, "busy.desk", &fault), STATUS_OK);
    assert_int_equal(trail_open(&trail, &at, &fault), STATUS_OK);
    assert_int_equal(incoming_begin(&incoming, at.path, &fault), STATUS_OK);
    for (int i = 0; place_of(TRAIL_FILE, 0) < 0 && i < TURNS; i++) usleep(PAUSE_US);
    assert_true(place_of(TRAIL_FILE, 0) >= 0); /* as it was begun */
    pthread_mutex_lock(&lock);
    const int from = calls;
    assert_int_equal(working_folder_keep(&at, &incoming, "strokes", "png", name, &fault),
                     STATUS_OK);
    assert_int_equal(setting_list_save(settings, &at, &fault), STATUS_OK);
    assert_int_equal(trail_add(trail, settings, "a", 0, &fault), STATUS_OK);
    pthread_mutex_unlock(&lock);
    trail_free(trail);
    working_folder_close(&at);
    /* All of it; the version after the files that it speaks of, and after their names. */
    const int folder = place_of("busy.desk", from), last = place_of(TRAIL_FILE, from);
    const int kept = place_of(name, from), job = place_of(JOB_FILE, from);
    assert_true(folder >= 0 && kept > folder && job > folder);
    assert_true(last > kept && last > job);
    json_decref(settings);
}

/* Until the state tells a fault, or tells none any more. */
static void wait_for_fault(Commission *c, bool wanted)
{
    bool told = !wanted;
    for (int i = 0; told != wanted && i < TURNS; i++) {
        json_t *now = commission_state(c, 0);
        const char *text =
            json_string_value(json_object_get(json_object_get(now, "work"), "fault"));
        told = text && strstr(text, "does not reach the disk");
        json_decref(now);
        if (told != wanted) usleep(PAUSE_US);
    }
    assert_int_equal(told, wanted);
}

static void change(Commission *c, const char *calm)
{
    Fault fault;
    json_t *settings = json_pack("{s:s}", "calm", calm);
    const Change to = {.settings = settings};
    assert_int_equal(commission_change(c, &to, &fault), STATUS_OK);
    json_decref(settings);
}

static void a_disk_that_refuses_is_told_until_it_takes_all_again(void **state)
{
    (void)state;
    Commission c;
    Fault fault;
    assert_int_equal(commission_open(&c, NULL, no_news, NULL, &fault), STATUS_OK);
    const unsigned long before = commission_serial(&c);
    refuse(EIO);
    change(&c, "0.1");
    wait_for_fault(&c, true);
    assert_true(commission_serial(&c) > before + 1); /* the change, and this */
    refuse(0);
    change(&c, "0.2");
    wait_for_fault(&c, false);
    commission_close(&c);
}

/* A name that stands for another file by now, and more names than are held at once. */
static void what_is_gone_is_passed_over(void **state)
{
    (void)state;
    WorkingFolder at;
    Fault fault;
    unsigned long turns;
    char name[WORKING_NAME];
    assert_int_equal(working_folder_open(&at, "many.desk", &fault), STATUS_OK);
    for (int i = 0; i < 50; i++) {
        snprintf(name, sizeof name, "none-%d.png", i);
        settler_note(at.settler, name);
    }
    assert_int_equal(working_folder_write(&at, "there.png", "x", 1, &fault), STATUS_OK);
    settler_state(at.settler, &turns, &fault);
    assert_int_equal(turns, 0);
    working_folder_close(&at);
    assert_true(place_of("there.png", 0) >= 0);
}

static int clear(void **state)
{
    (void)state;
    return chdir("/") || scratch_clear(room);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(who_is_answered_does_not_wait_for_the_disk),
        cmocka_unit_test(a_disk_that_refuses_is_told_until_it_takes_all_again),
        cmocka_unit_test(what_is_gone_is_passed_over),
    };
    if (!scratch_folder(room) || chdir(room)) return 1;
    return cmocka_run_group_tests(tests, NULL, clear);
}
