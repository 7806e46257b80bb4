/* Inspection over thirty panels of 48 x 48 cells, each photographed anew: 1, 5 and 20 planted
 * faults, tilts to 35 degrees, four lights, white balance wrong by 30 %, vignetting, uneven light,
 * a phone's noise, blur, JPEG 80. What was planted is the answer. Then photographs of other panels,
 * turned ones and pictures of other things, which are to be refused; reliefs and walls beside. The
 * last photographs have 12 megapixels, and their time is told beside what decoding them takes.
 *
 * The thresholds of src/inspect were set by this. */
#include "inspect/inspection.h"
#include "plan/plan.h"
#include "support/panel_scene.h"
#include "support/scratch.h"
#include "support/timing.h"

#include <stdio.h>
#include <string.h>

enum { PANELS = 30, LARGE = 3, OTHERS = 12 };

typedef struct Sums {
    int planted, found, told; /* told: of what kind */
    long right, alarms, doubted;
    double least, most_of_others, corner, seconds, decoding;
} Sums;

static char room[SCRATCH_MOST], photo[SCRATCH_MOST + 16];
static Job job;

/* What a plan is made with: the usual and one more setting. */
typedef struct Asked {
    const char *picture, *columns, *panel, *setting, *value, *name;
} Asked;

static EarlierPlan *plan_of(const Asked *a)
{
    Fault fault;
    EarlierPlan *plan;
    Job own;
    const char *const set[][2] = {{"reference", a->picture}, {"columns", a->columns},
                                  {"panel", a->panel},       {"book", "no"},
                                  {"quote", "no"},           {a->setting, a->value}};
    job_init(&own);
    for (size_t i = 0; i < sizeof set / sizeof *set; i++)
        if (job_set(&own, setting_find(set[i][0]), set[i][1], set[i][0], NULL, &fault)) abort();
    snprintf(own.out, sizeof own.out, "%s/%s", room, a->name);
    char *folder = strdup(own.out);
    if (!folder || plan_run(&own, NULL, &fault) || plan_reader_create(&plan, folder, &fault))
        abort();
    return plan;
}

static Camera camera_by_chance(uint32_t *seed, int width)
{
    Camera c = camera_default();
    c.width = width;
    c.height = width * 3 / 4;
    c.tilt = 35 * chance_unit(seed);
    c.toward = 360 * chance_unit(seed);
    c.roll = 20 * chance_unit(seed) - 10;
    c.fill = 0.6 + 0.35 * chance_unit(seed);
    c.light = (CameraLight)(chance(seed) % CAMERA_LIGHTS);
    c.balance = chance(seed) % 2 ? 1.3 : 1 / 1.3;
    c.vignetting = 0.3 * chance_unit(seed);
    c.uneven = 0.4 * chance_unit(seed);
    c.uneven_toward = 360 * chance_unit(seed);
    c.exposure = 0.55 + 0.15 * chance_unit(seed);
    c.blur = (0.5 + chance_unit(seed)) * width / 2000;
    c.seed = chance(seed);
    return c;
}

static void shoot(PanelScene *scene, Camera *camera)
{
    Shot shot;
    if (!panel_scene_draw(scene) || !camera_take(camera, &scene->scene, &shot) ||
        !shot_jpeg(&shot, photo, 80))
        abort();
    shot_clear(&shot);
}

static InspectionAsk ask_for(const EarlierPlan *plan, const char *file, int panel)
{
    return (InspectionAsk){.folder = plan->folder,
                           .photo = file,
                           .panel = plan->panels.panel[panel].name,
                           .job = &job,
                           .threads = 2};
}

static void add_bricks(Sums *s, const Inspection *i, const PanelScene *scene)
{
    static const Verdict kind[] = {VERDICT_WRONG, VERDICT_MISSING, VERDICT_SHIFTED};
    for (size_t k = 0; k < i->judgement.bricks; k++) {
        const BrickVerdict *v = &i->judgement.brick[k];
        const Planted *planted = panel_planted(scene, v->brick);
        const bool off = v->verdict != VERDICT_RIGHT && v->verdict != VERDICT_UNKNOWN;
        if (planted) {
            s->planted++;
            s->found += off;
            s->told += v->verdict == kind[planted->kind];
        } else if (panel_shows(scene, &scene->plan->laid.brick[v->brick])) {
            s->right++;
            s->alarms += off;
            s->doubted += v->verdict == VERDICT_UNKNOWN;
        }
    }
}

static double corner_off(const Inspection *i, const PanelScene *scene, const Camera *camera)
{
    PlanePoint corner[4];
    double most = 0;
    pose_corners(&i->pose, &i->face, corner);
    for (int k = 0; k < 4; k++) {
        double u, v;
        camera_project(camera, scene->margin + (k == 1 || k == 2 ? i->face.columns : 0),
                       scene->margin + (k < 2 ? i->face.rows * scene->cell_height : 0), &u, &v);
        most = fmax(most, hypot(u - corner[k].x, v - corner[k].y));
    }
    return most / pose_cell_pixels(&i->pose, &i->face);
}

static void inspect_one(Sums *s, const EarlierPlan *plan, int panel, int k, uint32_t *seed)
{
    static const int faults[] = {1, 5, 20};
    PanelScene scene = {.plan = plan, .panel = &plan->panels.panel[panel]};
    Camera camera = camera_by_chance(seed, k < PANELS - LARGE ? 2000 : 4000);
    scene.rows = scene.panel->rows;
    panel_plant(&scene, faults[k / 2 % 3], seed);
    shoot(&scene, &camera);
    Inspection i;
    Photo decoded;
    Fault fault;
    const InspectionAsk ask = ask_for(plan, photo, panel);
    const double begin = now();
    if (inspection_look(&i, &ask, NULL, &fault))
        printf("  %s: %s\n", ask.panel, fault.text);
    else {
        const double end = now();
        add_bricks(s, &i, &scene);
        s->least = fmin(s->least, i.proof.likeness - i.proof.others);
        s->corner = fmax(s->corner, corner_off(&i, &scene, &camera));
        if (k >= PANELS - LARGE && !photo_read(&decoded, photo, 1e9, NULL, &fault)) {
            s->seconds = fmax(s->seconds, end - begin);
            s->decoding = now() - end;
            photo_clear(&decoded);
        }
    }
    inspection_clear(&i);
    panel_scene_clear(&scene);
}

static int refused(const EarlierPlan *plan, const char *file, int panel)
{
    Inspection i;
    Fault fault = {0};
    const InspectionAsk ask = ask_for(plan, file, panel);
    const Status status = inspection_look(&i, &ask, NULL, &fault);
    printf("  %s\n", status ? strrchr(fault.text, '/') + 1 : "taken for the panel");
    inspection_clear(&i);
    return status == STATUS_DATA;
}

static void nonsense(EarlierPlan *plan[2], uint32_t *seed)
{
    int count = 0, well = 0;
    for (int k = 0; k < 6; k++) {
        const EarlierPlan *p = plan[k % 2], *other = plan[(k + 1) % 2];
        PanelScene scene = {.plan = p, .panel = &p->panels.panel[k % 4]};
        Camera camera = camera_by_chance(seed, 1000);
        scene.rows = scene.panel->rows;
        if (k >= 4) camera.roll += 180;
        shoot(&scene, &camera);
        well += refused(p, photo, k >= 4 ? k % 4 : (k + 1) % 4);
        well += refused(other, photo, k % 4);
        count += 2;
        panel_scene_clear(&scene);
    }
    well += refused(plan[0], "tests/data/pictures/coffee.png", 0);
    well += refused(plan[1], "tests/data/pictures/astronaut.png", 0);
    printf("nonsense: %d of %d refused\n", well, count + 2);
}

static void say(const char *what, const Sums *s)
{
    printf("%s: of %d faults %.1f %% found, %.0f %% by their kind\n", what, s->planted,
           100.0 * s->found / s->planted, 100.0 * s->told / s->planted);
    printf("  of %ld right bricks %.3f %% called wrong, of %.2f %% it is not told\n", s->right,
           100.0 * (double)s->alarms / (double)s->right,
           100.0 * (double)s->doubted / (double)s->right);
    printf("  likeness ahead of others by %.2f at least, corners within %.2f of a cell\n", s->least,
           s->corner);
}

int main(void)
{
    if (!scratch_folder(room)) return 1;
    snprintf(photo, sizeof photo, "%s/photo.jpg", room);
    job_init(&job);
    uint32_t seed = 2026;
    EarlierPlan *plan[2] = {
        plan_of(&(Asked){"tests/data/pictures/astronaut.png", "96", "48x48", "book", "no", "one"}),
        plan_of(&(Asked){"tests/data/pictures/coffee.png", "144", "48x48", "book", "no", "two"})};
    EarlierPlan *relief = plan_of(&(Asked){"tests/data/pictures/astronaut.png", "60", "30x60",
                                           "relief", "luminance", "three"});
    EarlierPlan *wall =
        plan_of(&(Asked){"tests/data/pictures/coffee.png", "80", "40x40", "build", "wall", "four"});
    Sums flat = {.least = 1}, raised = {.least = 1}, courses = {.least = 1};
    for (int k = 0; k < PANELS; k++)
        inspect_one(&flat, plan[k % 2], k / 2 % plan[k % 2]->panels.count, k, &seed);
    for (int k = 0; k < OTHERS; k++) {
        inspect_one(&raised, relief, k % relief->panels.count, k, &seed);
        inspect_one(&courses, wall, k % wall->panels.count, k, &seed);
    }
    say("thirty panels", &flat);
    printf("12 megapixels: %.2f s, %.1f times their decoding, with reading the plan\n",
           flat.seconds, flat.seconds / flat.decoding);
    say("in relief, two lamps' shadows", &raised);
    say("a wall", &courses);
    nonsense(plan, &seed);
    for (int k = 0; k < 2; k++) {
        free((void *)(uintptr_t)plan[k]->folder);
        plan_reader_free(plan[k]);
    }
    for (int k = 0; k < 2; k++) {
        EarlierPlan *p = k ? relief : wall;
        free((void *)(uintptr_t)p->folder);
        plan_reader_free(p);
    }
    return scratch_clear(room);
}
