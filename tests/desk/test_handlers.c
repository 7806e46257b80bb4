/* The desk's handlers under bytes that are nearly what they take, by the fuzz entry, without a
 * fuzzer; and the journal, cut off at every byte as a kill may leave it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "desk/setting_list.h"
#include "fuzz/fuzz_desk.c"
#include "support/chance.h"

#include <stdio.h>

static const char *const seeds[] = {
    "GET /?token=a\x1eGET /settings",
    "GET /state?after=3&face=1",
    "GET /view?view=relief&pixels=80&distance=4000&angle=315&lamp=25",
    "GET /version?version=0\x1eGET /versions",
    "GET /made?file=plan.json\x1eGET /brought?setting=palette",
    "POST /file?setting=palette&hold=1\nid,name,hex\nA,a,#112233\n",
    "POST /file?setting=strokes\n\x89PNG\r\n\x1a\n",
    "POST /file?setting=pins&change={\"settings\":{\"calm\":\"0.2\"},\"what\":\"one\"}\n\x89PNG",
    "POST /change\n{\"settings\":{\"calm\":\"0.3\",\"crop\":\"3x2+1+0\"},\"gesture\":4}",
    "POST /change\n{\"settings\":{\"palette\":\"palette-1.csv\",\"width\":\"2 m\"}}",
    "POST /go\n{\"version\":0}\x1ePOST /stop\n{}",
    "POST /pair\ncode=1234+5678",
    "GET /bench",
    "GET /held?plan=0&file=cells.png\x1eGET /held?plan=1&file=plan.json",
    "POST /photo?plan=0&panel=r1c1&to=3&corners=1,2,3,4,5,6,7,8&sheet=N5\nP2 2 1 9\n3 4\n",
    "POST /bricks?patches=id,x,y,width,height&chart=1,2,3,4,5,6,7,8&stay=1\nP2 2 1 9\n3 4\n",
    "POST /name\n{\"version\":1,\"name\":\"first\",\"kept\":true}",
};
enum { SEEDS = sizeof seeds / sizeof *seeds };

static void handlers_answer_whatever_comes(void **state)
{
    (void)state;
    uint32_t seed = 71;
    char text[1024];
    for (int i = 0; i < 1000; i++) {
        const char *from = seeds[chance(&seed) % SEEDS];
        size_t length = strlen(from);
        memcpy(text, from, length);
        for (uint32_t changes = chance(&seed) % 5; changes; changes--) {
            const size_t at = chance(&seed) % length;
            if (chance(&seed) % 4)
                text[at] = (char)(chance(&seed) % 2 ? (int)chance(&seed)
                                                    : "0\"{}[]:,&=\n/.-"[chance(&seed) % 14]);
            else
                length = at + 1;
        }
        assert_int_equal(LLVMFuzzerTestOneInput((const uint8_t *)text, length), 0);
    }
}

/* A choice has choices; so has a number that may be left to the program, and nothing else; a switch
 * alone takes no value. */
static void settings_are_told_by_their_type(void **state)
{
    (void)state;
    json_t *table = setting_list_table(), *setting;
    size_t i;
    assert_true(json_array_size(table) > 60);
    json_array_foreach(table, i, setting)
    {
        const char *type = json_string_value(json_object_get(setting, "type"));
        assert_non_null(type);
        const bool is_found =
            !strcmp(json_string_value(json_object_get(setting, "name")), "thickness");
        assert_int_equal(!strcmp(type, "choice") || is_found,
                         json_is_string(json_object_get(setting, "choices")));
        assert_int_equal(!strcmp(type, "switch"), json_is_null(json_object_get(setting, "value")));
    }
    json_decref(table);
}

/* What the trail of a journal says: versions, the one on the wall, and where undo and redo lead. */
static void read_trail(const WorkingFolder *at, int told[4])
{
    Trail *trail;
    Fault fault;
    assert_int_equal(trail_open(&trail, at, &fault), STATUS_OK);
    const Version *v = trail_version(trail, trail_now(trail));
    told[0] = trail_count(trail);
    told[1] = trail_now(trail);
    told[2] = v ? v->from : -2;
    told[3] = v ? v->onward : -2;
    trail_free(trail);
}

static void a_journal_that_broke_off_is_read_as_far_as_it_goes(void **state)
{
    (void)state;
    WorkingFolder at;
    Trail *trail;
    Fault fault;
    char path[WORKING_PATH], *bytes;
    size_t length;
    int before[4] = {0, -1, -2, -2}, after[4];
    snprintf(path, sizeof path, "%s/journal.desk", room);
    assert_int_equal(working_folder_open(&at, path, &fault), STATUS_OK);
    assert_int_equal(trail_open(&trail, &at, &fault), STATUS_OK);
    json_t *settings = json_pack("{s:s}", "calm", "0.5");
    for (int i = 0; i < 4; i++)
        assert_int_equal(trail_add(trail, settings, "a", 0, &fault), STATUS_OK);
    assert_int_equal(trail_go(trail, 2, &fault), STATUS_OK);
    assert_int_equal(trail_name(trail, 1, "kept", true, &fault), STATUS_OK);
    assert_int_equal(trail_go(trail, 1, &fault), STATUS_OK);
    assert_int_equal(trail_version(trail, 1)->onward, 2);
    assert_int_equal(trail_version(trail, 2)->onward, 3);
    trail_free(trail);
    working_folder_path(&at, TRAIL_FILE, path);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    bytes = memory_create(1 << 16, 1);
    length = fread(bytes, 1, 1 << 16, file);
    fclose(file);
    for (size_t cut = 0; cut <= length; cut++) {
        file = fopen(path, "wb");
        fwrite(bytes, 1, cut, file);
        fclose(file);
        read_trail(&at, after);
        /* No event is lost but the one that was being written. */
        assert_true(after[0] >= before[0]);
        memcpy(before, after, sizeof before);
    }
    assert_int_equal(after[0], 4);
    assert_int_equal(after[1], 1);
    assert_int_equal(after[2], 0);
    assert_int_equal(after[3], 2);
    memory_free(bytes);
    json_decref(settings);
    working_folder_close(&at);
}

/* The reference's name as the job file in the folder has it. */
static void named(const WorkingFolder *at, const char *path, char name_out[WORKING_PATH])
{
    RowlockJob *job;
    RowlockFault other;
    Fault fault;
    json_t *list;
    assert_int_equal(rowlock_job_create(&job, &other), ROWLOCK_OK);
    assert_int_equal(rowlock_job_set(job, "reference", path, NULL, &other), ROWLOCK_OK);
    assert_int_equal(setting_list_of_job(&list, job, at, &fault), STATUS_OK);
    snprintf(name_out, WORKING_PATH, "%s", json_string_value(json_object_get(list, "reference")));
    json_decref(list);
    rowlock_job_free(job);
}

/* Names are given from the current folder, and read from the working folder. */
static void a_missing_file_is_named_where_it_would_be(void **state)
{
    (void)state;
    WorkingFolder at;
    Fault fault;
    char here[WORKING_PATH], above[WORKING_PATH + 8], name[WORKING_PATH];
    assert_non_null(getcwd(here, sizeof here));
    assert_int_equal(working_folder_open(&at, "named.desk", &fault), STATUS_OK);
    named(&at, "x.png", name);
    assert_string_equal(name, "../x.png");
    named(&at, "named.desk/x.png", name);
    assert_string_equal(name, "x.png");
    named(&at, "none/x.png", name);
    assert_string_equal(name, "../none/x.png");
    named(&at, "../x.png", name);
    snprintf(above, sizeof above, "%.*s/x.png", (int)(strrchr(here, '/') - here), here);
    assert_string_equal(name, above);
    named(&at, "/none/x.png", name);
    assert_string_equal(name, "/none/x.png");
    working_folder_close(&at);
}

static int clear(void **state)
{
    (void)state;
    close_tables();
    return chdir("/") || scratch_clear(room);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(settings_are_told_by_their_type),
        cmocka_unit_test(handlers_answer_whatever_comes),
        cmocka_unit_test(a_journal_that_broke_off_is_read_as_far_as_it_goes),
        cmocka_unit_test(a_missing_file_is_named_where_it_would_be),
    };
    return cmocka_run_group_tests(tests, NULL, clear);
}
