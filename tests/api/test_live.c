/* A plan that stays open: after whatever sequence of changes it is the plan that a new run
 * makes of the same job, and it can be looked at meanwhile. Held against rowlock_plan, whose files
 * tell everything of a plan: plan.json lists the digests of all others. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "rowlock.h"
#include "support/chance.h"
#include "support/command.h"
#include "support/failing.h"

#include <png.h>
#include <pthread.h>
#include <stdatomic.h>

static RowlockJob *new_job(void)
{
    RowlockJob *job;
    assert_int_equal(rowlock_job_create(&job, NULL), 0);
    return job;
}

static void set(RowlockJob *job, const char *name, const char *text)
{
    RowlockFault fault;
    if (rowlock_job_set(job, name, text, NULL, &fault)) fail_msg("%s", fault.text);
}

/* A small plan that writes no book. */
static RowlockJob *small_job(void)
{
    RowlockJob *job = new_job();
    set(job, "reference", in_room("ref.ppm"));
    set(job, "columns", "14");
    set(job, "book", "no");
    set(job, "quote", "no");
    set(job, "threads", "2");
    return job;
}

/* ---- changes at random ---- */

/* What a user may turn; %s is the test's folder. */
static const struct Turn {
    const char *setting;
    const char *value[6];
} turns[] = {
    {"reference", {"%s/ref.ppm", "%s/ref.ppm", "%s/other.ppm"}},
    {"build", {"plaque", "plaque", "wall"}},
    {"columns", {"14", "11", "17"}},
    {"rows", {"9", "12"}},
    {"width", {"100mm"}},
    {"turn", {"none", "right"}},
    {"mirror", {"no", "yes"}},
    {"crop", {"", "20x14+2+1", "12x12+0+3"}},
    {"pitch", {"8mm", "10mm"}},
    {"brick-height", {"9.6mm", "9mm"}},
    {"thickness", {"1", "2"}},
    {"palette", {"", "%s/few.csv", "%s/more.csv"}},
    {"dither", {"distance", "distance", "none", "floyd-steinberg", "blue-noise"}},
    {"brick-thrift", {"0.4", "0", "0.9"}},
    {"detail", {"0.2", "0.7"}},
    {"calm", {"0.4", "0"}},
    {"tone", {"keep", "fit"}},
    {"distance", {"5m", "1m", "0m"}},
    {"care", {"", "", "%s/ref.ppm"}},
    {"regions", {"", "%s/halves.ini", "%s/other.ini", "%s/stroked.ini"}},
    {"ground", {"#ffffff", "#203040"}},
    {"relief", {"none", "none", "luminance"}},
    {"toward", {"light", "dark"}},
    {"steps", {"0", "3", "5"}},
    {"relief-smooth", {"3", "1"}},
    {"relief-islands", {"6", "0"}},
    {"relief-jump", {"0", "1"}},
    {"hollow", {"0", "1"}},
    {"backing", {"", "N1"}},
    {"stock", {"", "%s/stock.csv"}},
    {"stock-only", {"no", "no", "yes"}},
    {"recolour", {"0.8", "20"}},
    {"spare", {"0", "10"}},
    {"favour", {"bricks", "bricks", "cost", "bond"}},
    {"effort", {"0.25", "0"}},
    {"panel", {"", "8x8"}},
    {"panel-mass", {"0", "500g"}},
    {"door", {"800mm", "200mm"}},
    {"board", {"9mm", "0"}},
    {"sheet-mass", {"1.4", "90"}},
    {"kit", {"", "", "5x5"}},
    {"kit-even", {"no", "yes"}},
    {"pace", {"150", "90"}},
    {"rate", {"0", "25"}},
    {"budget", {"0", "500"}},
    {"light-angle", {"315", "90"}},
    {"packing", {"60mm", "10mm"}},
    {"fixings", {"4", "2"}},
    {"frame-depth", {"20mm", "5mm"}},
    {"clutch", {"2.7,1.6", "1,0.5"}},
    {"hold-safety", {"3", "20"}},
    {"crate-g", {"2", "5"}},
    {"touch", {"1", "0"}},
    {"hold", {"0", "1.5"}},
};
enum { TURNS = sizeof turns / sizeof *turns };

static void turn_to(RowlockJob *job, const struct Turn *turn, const char *text)
{
    char value[PATH_MAX + 64];
    if (strncmp(text, "%s", 2) == 0)
        snprintf(value, sizeof value, "%s%s", command_room, text + 2);
    else
        snprintf(value, sizeof value, "%s", text);
    rowlock_job_set(job, turn->setting, value, NULL, NULL);
    if (strcmp(turn->setting, "regions") != 0) return;
    set(job, "region-labels", "");
    set(job, "region-strokes", "");
    if (strstr(text, "stroked"))
        set(job, "region-strokes", in_room("strokes.png"));
    else
        set(job, "region-labels", *text ? in_room("halves.png") : "");
}

static void turn_one(RowlockJob *job, uint32_t *seed)
{
    const struct Turn *turn = &turns[chance(seed) % TURNS];
    int values = 0;
    while (values < 6 && turn->value[values]) values++;
    turn_to(job, turn, turn->value[chance(seed) % (uint32_t)values]);
}

static bool stop_at(void *self)
{
    long *left = self;
    return __atomic_sub_fetch(left, 1, __ATOMIC_RELAXED) < 0;
}

/* Notes as one text, but for the last, which names the folder. */
typedef struct Said {
    char text[1 << 15];
} Said;

static void hear(void *self, const char *text)
{
    Said *said = self;
    if (!strncmp(text, "done: ", 6)) return;
    const size_t length = strlen(said->text);
    snprintf(said->text + length, sizeof said->text - length, "%s\n", text);
}

/* plan.json of a folder, which tells the digests of all its files; NULL: there is none. */
static char *plan_of(const char *folder)
{
    char name[64];
    snprintf(name, sizeof name, "%s/plan.json", folder);
    return slurp(in_room(name), NULL);
}

/* Both make the same of the job: status, words, files. */
static void hold_against_a_new_plan(RowlockLive *live, RowlockJob *job)
{
    static Said new_said, live_said;
    RowlockFault new_fault, live_fault;
    const RowlockVoice new_voice = {.self = &new_said, .note = hear};
    const RowlockVoice live_voice = {.self = &live_said, .note = hear};
    new_said.text[0] = live_said.text[0] = 0;
    set(job, "out", in_room("live"));
    const RowlockStatus status = rowlock_live_write(live, job, &live_voice, &live_fault);
    set(job, "out", in_room("new"));
    assert_int_equal(rowlock_plan(job, &new_voice, &new_fault), status);
    assert_string_equal(live_fault.text, new_fault.text);
    assert_string_equal(live_said.text, new_said.text);
    if (status != ROWLOCK_OK && status != ROWLOCK_UNHELD) return;
    char *new_plan = plan_of("new"), *live_plan = plan_of("live");
    assert_non_null(new_plan);
    assert_string_equal(live_plan, new_plan);
    free(new_plan);
    free(live_plan);
}

/* Turned to and fro, updated as far as may be, often stopped on the way. */
static void any_changes_lead_to_the_same_plan(void **state)
{
    (void)state;
    enum { ROUNDS = 30 };
    uint32_t seed = 22;
    RowlockLive *live;
    RowlockJob *job = small_job();
    assert_int_equal(rowlock_live_create(&live, NULL), 0);
    for (int round = 0; round < ROUNDS; round++) {
        for (uint32_t i = chance(&seed) % 3 + 1; i > 0; i--) turn_one(job, &seed);
        long left = (long)(chance(&seed) % 400);
        const RowlockVoice voice = {.self = &left, .stopped = stop_at};
        const RowlockReach reach = (RowlockReach)(chance(&seed) % (ROWLOCK_TO_FIGURES + 1));
        const RowlockStatus status = rowlock_live_update(live, job, reach, &voice, NULL);
        if (!status) assert_true(rowlock_live_reaches(live, reach));
        hold_against_a_new_plan(live, job);
    }
    rowlock_live_free(live);
    rowlock_job_free(job);
}

/* Jobs in which all of the settings count for something, between them. */
static const char *const grounds[][12] = {
    {"relief", "luminance", "tone", "fit", "stock", "%s/stock.csv", "favour", "cost", NULL},
    {"build", "wall", "relief", "luminance", "thickness", "2", "stock", "%s/stock.csv", NULL},
    {"stock", "%s/stock.csv", "stock-only", "yes", "kit", "5x5", NULL},
};

/* One setting alone, so that whatever does not depend on it is taken over. */
static void each_setting_leads_to_the_same_plan(void **state)
{
    (void)state;
    for (size_t g = 0; g < sizeof grounds / sizeof *grounds; g++) {
        RowlockLive *live;
        assert_int_equal(rowlock_live_create(&live, NULL), 0);
        for (size_t t = 0; t < TURNS; t++) {
            RowlockJob *job = small_job();
            set(job, "columns", "11");
            set(job, "threads", "1"); /* more take longer over so little */
            for (const char *const *pair = grounds[g]; *pair; pair += 2)
                turn_to(job, &(struct Turn){.setting = pair[0]}, pair[1]);
            rowlock_live_update(live, job, ROWLOCK_TO_FIGURES, NULL, NULL);
            int last = 0;
            while (last < 5 && turns[t].value[last + 1]) last++;
            turn_to(job, &turns[t], turns[t].value[last]);
            hold_against_a_new_plan(live, job);
            rowlock_job_free(job);
        }
        rowlock_live_free(live);
    }
}

/* ---- files that change ---- */

static void a_file_that_changed_is_read_again(void **state)
{
    (void)state;
    RowlockLive *live;
    RowlockJob *job = small_job();
    set(job, "palette", in_room("turned.csv"));
    assert_int_equal(rowlock_live_create(&live, NULL), 0);
    for (int i = 0; i < 6; i++) { /* of the same length, within a tick of the clock */
        assert_int_equal(
            shell("printf 'id,name,hex\\nA,a,#%d02030\\nB,b,#f0f0e0\\n' > turned.csv", i), 0);
        hold_against_a_new_plan(live, job);
    }
    rowlock_live_free(live);
    rowlock_job_free(job);
}

/* The stages that are taken, as progress tells them. */
static void hear_stage(void *self, const char *stage, double done)
{
    (void)done;
    Said *said = self;
    if (!strstr(said->text, stage)) hear(self, stage);
}

/* What another price or another shelf says nothing of is kept, also where a file tells it. */
static void prices_and_shelves_turn_what_they_say(void **state)
{
    (void)state;
    static Said said;
    const RowlockVoice voice = {.self = &said, .progress = hear_stage};
    RowlockLive *live;
    RowlockJob *job = small_job();
    assert_int_equal(shell("printf 'size,price\\n1x1,0.10\\n2x2,0.30\\n' > dear.csv; "
                           "sed s/0.30/0.20/ dear.csv > cheap.csv; sleep 0.1"),
                     0);
    set(job, "bricks", in_room("dear.csv"));
    assert_int_equal(rowlock_live_create(&live, NULL), 0);
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_FIGURES, NULL, NULL), 0);
    set(job, "bricks", in_room("cheap.csv"));
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_FIGURES, &voice, NULL), 0);
    assert_string_equal(said.text, "colours\ncounting\nmeasuring\n");
    set(job, "stock", in_room("stock.csv"));
    said.text[0] = 0;
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_FIGURES, &voice, NULL), 0);
    assert_null(strstr(said.text, "matching"));
    assert_non_null(strstr(said.text, "laying")); /* backing takes what is there */
    hold_against_a_new_plan(live, job);
    rowlock_live_free(live);
    rowlock_job_free(job);
}

/* ---- what is to be seen ---- */

static png_image read_png(const RowlockBytes *png, uint8_t **pixels_out)
{
    png_image image = {.version = PNG_IMAGE_VERSION};
    assert_true(png_image_begin_read_from_memory(&image, png->byte, png->length));
    image.format = PNG_FORMAT_RGB;
    *pixels_out = malloc(PNG_IMAGE_SIZE(image));
    assert_true(png_image_finish_read(&image, NULL, *pixels_out, 0, NULL));
    return image;
}

/* The face, its picture and cells.png of the plan are the same cells. */
static void face_and_pictures_are_of_the_cells(void **state)
{
    (void)state;
    RowlockLive *live;
    RowlockFace *face;
    RowlockBytes png;
    RowlockJob *job = small_job();
    set(job, "out", in_room("seen"));
    assert_int_equal(rowlock_live_create(&live, NULL), 0);
    assert_int_equal(rowlock_live_face(live, &face, NULL), ROWLOCK_USAGE);
    assert_int_equal(rowlock_live_write(live, job, NULL, NULL), 0);
    assert_int_equal(rowlock_live_face(live, &face, NULL), 0);
    size_t size;
    char *file = slurp(in_room("seen/cells.png"), &size);
    const RowlockViewing cells = {.view = ROWLOCK_VIEW_CELLS};
    assert_int_equal(rowlock_live_view(live, &cells, &png, NULL), 0);
    assert_int_equal(png.length, size);
    assert_memory_equal(png.byte, file, size);
    uint8_t *rgb;
    const png_image image = read_png(&png, &rgb);
    assert_int_equal(image.width, face->columns);
    assert_int_equal(image.height, face->rows);
    long count[256] = {0};
    for (int i = 0; i < face->columns * face->rows; i++) {
        assert_memory_equal(rgb + 3 * i, face->colour[face->index[i]].srgb, 3);
        count[face->index[i]]++;
    }
    for (size_t i = 0; i < face->colours; i++) assert_int_equal(count[i], face->colour[i].cells);
    free(file);
    free(rgb);
    rowlock_bytes_free(&png);
    rowlock_face_free(face);
    rowlock_live_free(live);
    rowlock_job_free(job);
}

/* A view of the plan, and whether it is the file of that name. */
static void view_is_the_file(RowlockLive *live, RowlockView view, const char *name)
{
    RowlockBytes png;
    size_t size;
    char *file = slurp(in_room(name), &size);
    const RowlockViewing viewing = {.view = view};
    assert_int_equal(rowlock_live_view(live, &viewing, &png, NULL), 0);
    assert_int_equal(png.length, size);
    assert_memory_equal(png.byte, file, size);
    rowlock_bytes_free(&png);
    free(file);
}

static void views_are_the_plans_own_pictures(void **state)
{
    (void)state;
    RowlockLive *live;
    RowlockJob *job = small_job();
    set(job, "out", in_room("lit"));
    set(job, "relief", "luminance");
    set(job, "steps", "4");
    assert_int_equal(rowlock_live_create(&live, NULL), 0);
    assert_int_equal(rowlock_live_write(live, job, NULL, NULL), 0);
    view_is_the_file(live, ROWLOCK_VIEW_CELLS, "lit/cells.png");
    view_is_the_file(live, ROWLOCK_VIEW_BRICKS, "lit/preview.png");
    view_is_the_file(live, ROWLOCK_VIEW_STEPS, "lit/steps.png");
    view_is_the_file(live, ROWLOCK_VIEW_RELIEF, "lit/relief.png");
    rowlock_live_free(live);
    rowlock_job_free(job);
}

/* Each is a PNG no wider than asked for, of whole cells, also before the bricks are laid. */
static void views_are_as_large_as_asked(void **state)
{
    (void)state;
    RowlockLive *live;
    RowlockJob *job = small_job();
    set(job, "relief", "luminance");
    assert_int_equal(rowlock_live_create(&live, NULL), 0);
    for (int bricks = 0; bricks < 2; bricks++) {
        const RowlockReach reach = bricks ? ROWLOCK_TO_FIGURES : ROWLOCK_TO_RELIEF;
        assert_int_equal(rowlock_live_update(live, job, reach, NULL, NULL), 0);
        for (int view = 0; view < ROWLOCK_VIEWS; view++) {
            RowlockBytes png;
            uint8_t *rgb;
            const RowlockViewing viewing = {
                .view = (RowlockView)view, .pixels = 100, .distance_mm = 3000};
            const bool there =
                view != ROWLOCK_VIEW_LAYERS && (bricks || view != ROWLOCK_VIEW_FITTED);
            assert_int_equal(rowlock_live_view(live, &viewing, &png, NULL),
                             there ? 0 : ROWLOCK_USAGE);
            if (there) {
                const png_image image = read_png(&png, &rgb);
                assert_true(image.width <= 100);
                assert_int_equal(image.width % 14, 0);
                free(rgb);
            }
            rowlock_bytes_free(&png);
        }
    }
    rowlock_live_free(live);
    rowlock_job_free(job);
}

/* 25 x 25 pixels, of which 20 x 10 are cut out for 14 columns: the part's rows of its aspect. */
static void the_frame_is_what_is_shown(void **state)
{
    (void)state;
    RowlockLive *live;
    RowlockFrame frame;
    RowlockJob *job = small_job();
    set(job, "reference", in_room("other.ppm"));
    set(job, "crop", "20x10+3+4");
    assert_int_equal(rowlock_live_create(&live, NULL), 0);
    assert_int_equal(rowlock_live_frame(live, &frame, NULL), ROWLOCK_USAGE);
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_PICTURE, NULL, NULL), 0);
    assert_int_equal(rowlock_live_frame(live, &frame, NULL), 0);
    assert_int_equal(frame.picture_width, 25);
    assert_int_equal(frame.picture_height, 25);
    assert_true(frame.left == 3 && frame.top == 4 && frame.width == 20 && frame.height == 10);
    assert_int_equal(frame.columns, 14);
    assert_int_equal(frame.rows, 7);
    assert_true(frame.width_mm == 14 * 8 && frame.height_mm == 7 * 8);
    rowlock_live_free(live);
    rowlock_job_free(job);
}

/* Part of the cells that two faces have alike. */
static double alike(const RowlockFace *one, const RowlockFace *other)
{
    const int cells = one->columns * one->rows;
    int same = 0;
    assert_int_equal(cells, other->columns * other->rows);
    for (int i = 0; i < cells; i++) same += one->index[i] == other->index[i];
    return (double)same / cells;
}

/* Of a photograph three cells in four and more, and nothing once the face itself is there. */
static void a_sketch_is_near_the_face(void **state)
{
    (void)state;
    RowlockLive *live;
    RowlockFace *sketch, *face;
    RowlockJob *job = small_job();
    set(job, "reference", "tests/data/pictures/astronaut.png");
    set(job, "columns", "60");
    assert_int_equal(rowlock_live_create(&live, NULL), 0);
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_SKETCH, NULL, NULL), 0);
    assert_false(rowlock_live_reaches(live, ROWLOCK_TO_FACE));
    assert_int_equal(rowlock_live_face(live, &sketch, NULL), 0);
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_FACE, NULL, NULL), 0);
    assert_int_equal(rowlock_live_face(live, &face, NULL), 0);
    assert_true(sketch->sketch && !face->sketch);
    assert_true(alike(sketch, face) > 0.75);
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_SKETCH, NULL, NULL), 0);
    assert_true(rowlock_live_reaches(live, ROWLOCK_TO_FACE));
    rowlock_face_free(sketch);
    rowlock_face_free(face);
    rowlock_live_free(live);
    rowlock_job_free(job);
}

/* The left half is a region that may not have a colour that the face has there. What is far from it
 * stays to the cell; so a stroke moves nothing on the wall that it has nothing to do with. */
static void a_sketch_goes_on_from_the_face_where_rules_change(void **state)
{
    enum { REACH = 8 }; /* cells: a block, and the most that change together */
    (void)state;
    RowlockLive *live;
    RowlockFace *before, *sketch, *face;
    RowlockJob *job = small_job();
    int was = 0;
    set(job, "columns", "56");
    set(job, "palette", in_room("few.csv"));
    assert_int_equal(rowlock_live_create(&live, NULL), 0);
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_FACE, NULL, NULL), 0);
    assert_int_equal(rowlock_live_face(live, &before, NULL), 0);
    set(job, "regions", in_room("other.ini"));
    set(job, "region-labels", in_room("halves.png"));
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_SKETCH, NULL, NULL), 0);
    assert_int_equal(rowlock_live_face(live, &sketch, NULL), 0);
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_FACE, NULL, NULL), 0);
    assert_int_equal(rowlock_live_face(live, &face, NULL), 0);
    assert_true(sketch->sketch && !face->sketch);
    assert_true(!before->region && sketch->region);
    for (int i = 0; i < sketch->columns * sketch->rows; i++) {
        const bool left = i % sketch->columns < sketch->columns / 2;
        assert_int_equal(sketch->region[i], left);
        was += left && before->index[i] == 0;
        if (left) assert_int_not_equal(sketch->index[i], 0);
        if (i % sketch->columns >= sketch->columns / 2 + REACH)
            assert_int_equal(sketch->index[i], before->index[i]);
    }
    assert_true(was > 100);
    assert_true(alike(sketch, face) > 0.9);
    rowlock_face_free(before);
    rowlock_face_free(sketch);
    rowlock_face_free(face);
    rowlock_live_free(live);
    rowlock_job_free(job);
}

static void figures_are_those_of_the_plan(void **state)
{
    (void)state;
    RowlockLive *live;
    RowlockBytes json;
    RowlockJob *job = small_job();
    assert_int_equal(rowlock_live_create(&live, NULL), 0);
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_FACE, NULL, NULL), 0);
    assert_int_equal(rowlock_live_figures(live, &json, NULL), ROWLOCK_USAGE);
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_FIGURES, NULL, NULL), 0);
    assert_int_equal(rowlock_live_figures(live, &json, NULL), 0);
    FILE *file = fopen(in_room("figures.json"), "wb");
    fwrite(json.byte, 1, json.length, file);
    fclose(file);
    set(job, "out", in_room("new"));
    assert_int_equal(shell("rm -rf new"), 0);
    assert_int_equal(rowlock_plan(job, NULL, NULL), 0);
    /* the same lines of measures, but for how far they are set in */
    assert_int_equal(shell("m() { sed -n '/\"measures\"/,/}/p' $1 | sed 's/^ *//'; }\n"
                           "m figures.json > a; m new/plan.json > b; test -s a && cmp a b"),
                     0);
    rowlock_bytes_free(&json);
    rowlock_live_free(live);
    rowlock_job_free(job);
}

/* ---- looks from other threads ---- */

typedef struct Onlooker {
    RowlockLive *live;
    atomic_bool done;
    long looks;
} Onlooker;

static void *look_on(void *self)
{
    Onlooker *o = self;
    while (!atomic_load(&o->done)) {
        RowlockFace *face;
        RowlockBytes png;
        const RowlockViewing viewing = {.view = ROWLOCK_VIEW_BRICKS, .pixels = 50};
        const RowlockStatus status = rowlock_live_face(o->live, &face, NULL);
        if (!status)
            for (int i = 0; i < face->columns * face->rows; i++)
                if (face->index[i] >= face->colours) abort();
        rowlock_face_free(status ? NULL : face);
        rowlock_live_view(o->live, &viewing, &png, NULL);
        rowlock_bytes_free(&png);
        o->looks += !status;
    }
    return NULL;
}

/* The palette and the size change under one who looks all the time: each face is whole. */
static void a_look_need_not_wait_for_an_update(void **state)
{
    (void)state;
    pthread_t thread;
    Onlooker onlooker = {0};
    RowlockJob *job = small_job();
    assert_int_equal(rowlock_live_create(&onlooker.live, NULL), 0);
    assert_int_equal(rowlock_live_update(onlooker.live, job, ROWLOCK_TO_FACE, NULL, NULL), 0);
    assert_int_equal(pthread_create(&thread, NULL, look_on, &onlooker), 0);
    for (int i = 0; i < 24; i++) {
        set(job, "palette", i % 2 ? in_room("few.csv") : "");
        set(job, "columns", i % 3 ? "14" : "17");
        assert_int_equal(rowlock_live_update(onlooker.live, job, (RowlockReach)(i % 5), NULL, NULL),
                         0);
    }
    atomic_store(&onlooker.done, true);
    pthread_join(thread, NULL);
    assert_true(onlooker.looks > 0);
    rowlock_live_free(onlooker.live);
    rowlock_job_free(job);
}

/* ---- no memory ---- */

/* What may be asked of a plan that is there. */
static RowlockStatus ask_everything(RowlockLive *live, RowlockFault *fault)
{
    RowlockFace *face = NULL;
    RowlockBytes bytes = {0};
    RowlockStatus status = rowlock_live_face(live, &face, fault);
    rowlock_face_free(face);
    if (!status) status = rowlock_live_figures(live, &bytes, fault);
    rowlock_bytes_free(&bytes);
    for (int view = 0; !status && view < ROWLOCK_VIEW_LAYERS; view++) {
        const RowlockViewing viewing = {
            .view = (RowlockView)view, .pixels = 30, .distance_mm = 3000};
        status = rowlock_live_view(live, &viewing, &bytes, fault);
        rowlock_bytes_free(&bytes);
    }
    return status;
}

/* Every place that allocates fails in turn: a message each, nothing is lost (the sanitizer would
 * tell), and the plan is to be seen as before. Updates fail in test_plan, which takes the same
 * stages. */
static void each_place_in_a_look_fails(void **state)
{
    (void)state;
    RowlockLive *live;
    RowlockJob *job = small_job();
    set(job, "relief", "luminance");
    set(job, "threads", "1");
    assert_int_equal(rowlock_live_create(&live, NULL), 0);
    assert_int_equal(rowlock_live_update(live, job, ROWLOCK_TO_FIGURES, NULL, NULL), 0);
    for (Failing failing = {0}; failing_next(&failing);) {
        RowlockFault fault;
        const RowlockStatus status = ask_everything(live, &fault);
        failing_ended(&failing);
        if (status && !*fault.text) fail_msg("run %zu: no message", failing.run);
    }
    assert_int_equal(ask_everything(live, NULL), 0);
    rowlock_live_free(live);
    rowlock_job_free(job);
}

static int setup(void **state)
{
    if (command_setup(state) || speckle(in_room("ref.ppm"), 28, 18)) return -1;
    uint8_t half[18][28] = {{0}};
    for (int y = 0; y < 18; y++) memset(half[y], 1, 14);
    png_image labels = {
        .version = PNG_IMAGE_VERSION, .width = 28, .height = 18, .format = PNG_FORMAT_GRAY};
    if (!png_image_write_to_file(&labels, in_room("halves.png"), 0, half, 0, NULL)) return -1;
    uint8_t stroke[18][28] = {{0}};
    memset(stroke[4] + 3, 1, 9);
    memset(stroke[12] + 15, 255, 9);
    if (!png_image_write_to_file(&labels, in_room("strokes.png"), 0, stroke, 0, NULL)) return -1;
    return speckle(in_room("other.ppm"), 25, 25) ||
           shell("printf '[region left]\nindex = 1\ncare = 4\nthrift = 0.5\n' > halves.ini\n"
                 "printf '[region left]\nindex = 1\nwithout = N1\n' > other.ini\n"
                 "cp halves.ini stroked.ini") ||
           shell("printf 'id,name,hex\\nN1,a,#102030\\nB,b,#f0f0e0\\nC,c,#c02020\\n' > few.csv\n"
                 "printf 'id,name,hex\\nN1,a,#102030\\nB,b,#f0f0e0\\nC,c,#c02020\\nD,d,#20a040\\n"
                 "E,e,#2040c0\\n' > more.csv\n"
                 "printf 'colour,size,quantity,price\\nN1,1x1,400,0.05\\nN1,2x4,90,0.2\\n"
                 "N9,1x1,90,0.05\\n' > stock.csv");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_setting_leads_to_the_same_plan),
        cmocka_unit_test(any_changes_lead_to_the_same_plan),
        cmocka_unit_test(a_file_that_changed_is_read_again),
        cmocka_unit_test(prices_and_shelves_turn_what_they_say),
        cmocka_unit_test(face_and_pictures_are_of_the_cells),
        cmocka_unit_test(views_are_the_plans_own_pictures),
        cmocka_unit_test(views_are_as_large_as_asked),
        cmocka_unit_test(the_frame_is_what_is_shown),
        cmocka_unit_test(a_sketch_is_near_the_face),
        cmocka_unit_test(a_sketch_goes_on_from_the_face_where_rules_change),
        cmocka_unit_test(figures_are_those_of_the_plan),
        cmocka_unit_test(a_look_need_not_wait_for_an_update),
        cmocka_unit_test(each_place_in_a_look_fails),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
