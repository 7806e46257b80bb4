/* One table says for which stages a setting counts; one that is not in it counts for all, so that
 * a setting which is forgotten here costs time and nothing else. tests/api/test_live changes
 * settings one by one and at random, and holds what comes out against a plan that was begun anew.
 *
 * A file counts as it lies on the disk: by its place there, its length and its times. A file that
 * was changed a moment ago may change again within the same tick of the disk's clock; until that
 * is over it counts as another file each time that it is looked at (as others who keep what they
 * made of files do, under the name of racy timestamps; common practice). */
#include "plan/stage.h"

#include "plan/cell_rules.h"
#include "relief/depth.h"

#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

/* ---- what a stage reads ---- */

static bool has_cells(const Job *job) { return *job->cells; }
static bool fits_tone(const Job *job) { return job->tone == TONE_FIT; }
static bool favours_cost(const Job *job) { return job->favour == FAVOUR_COST; }
static bool is_limited(const Job *job) { return job->stock_only; }

/* Steps follow the edges of the bricks' colours where these are plain, see plan/raise. */
static bool follows_face(const Job *job) { return has_cells(job) || job->dither == DITHER_NONE; }

/* Bricks have the colours that were chosen, unless the shelf, what stands or a hold tells others.
 */
static bool is_mended(const Job *job) { return job->hold > 0; }
static bool keeps_face(const Job *job)
{
    return !job->stock_only && !*job->built && !is_mended(job);
}

static bool is_raised(const Job *job)
{
    bool wanted = false;
    depth_wanted(job, &wanted, NULL);
    return wanted;
}

enum {
    STUDIO = STAGE_BIT(STAGE_STUDIO),
    CELLS = STAGE_BIT(STAGE_CELLS),
    READING = STAGE_BIT(STAGE_READING),
    PICTURE = STAGE_BIT(STAGE_PICTURE),
    REGIONS = STAGE_BIT(STAGE_REGIONS),
    RULES = STAGE_BIT(STAGE_RULES),
    TONE = STAGE_BIT(STAGE_TONE),
    SKETCH = STAGE_BIT(STAGE_SKETCH),
    FACE = STAGE_BIT(STAGE_FACE),
    RELIEF = STAGE_BIT(STAGE_RELIEF),
    BRICKS = STAGE_BIT(STAGE_BRICKS),
    HOLDS = STAGE_BIT(STAGE_HOLDS),
    PARTS = STAGE_BIT(STAGE_PARTS),
    LOOK = STAGE_BIT(STAGE_LOOK),
    FIGURES = STAGE_BIT(STAGE_FIGURES),
    ALL = STAGE_BIT(STAGES) - 1
};

unsigned stage_reads(Stage stage, const Job *job)
{
    const unsigned target = fits_tone(job) ? PICTURE | TONE : PICTURE;
    const unsigned rules = cell_rules_wanted(job) ? RULES : 0;
    switch (stage) {
    case STAGE_STUDIO:
        return 0;
    case STAGE_CELLS:
        return has_cells(job) ? STUDIO : 0;
    case STAGE_READING:
        return 0;
    case STAGE_PICTURE:
        return CELLS | READING;
    case STAGE_RULES:
        return STUDIO | PICTURE | (region_cells_wanted(job) ? REGIONS : 0);
    case STAGE_REGIONS:
    case STAGE_TONE:
        return STUDIO | PICTURE;
    case STAGE_SKETCH:
    case STAGE_FACE:
        return STUDIO | CELLS | target | rules;
    case STAGE_RELIEF:
        return PICTURE | (follows_face(job) ? STUDIO | FACE : 0);
    case STAGE_BRICKS:
        return STUDIO | target | FACE | RELIEF | rules;
    case STAGE_HOLDS:
    case STAGE_PARTS:
        return STUDIO | BRICKS;
    case STAGE_LOOK:
        return STUDIO | PICTURE | TONE | (keeps_face(job) ? FACE : BRICKS);
    case STAGE_FIGURES:
        return STUDIO | PICTURE | RELIEF | BRICKS | HOLDS | PARTS | LOOK | rules;
    case STAGES:
        break;
    }
    return 0;
}

/* Bricks of the backing take what is on the shelf, also where others may be bought. */
bool stage_reads_whole(Stage stage, Stage other, const Job *job)
{
    if (other != STAGE_STUDIO) return true;
    switch (stage) {
    case STAGE_SKETCH:
    case STAGE_FACE:
        return favours_cost(job) || is_limited(job);
    case STAGE_BRICKS:
        return favours_cost(job) || *job->stock;
    case STAGE_PARTS:
    case STAGE_FIGURES:
        return true;
    default:
        return false;
    }
}

/* ---- what settings count for it ---- */

typedef bool Ask(const Job *job);

static const struct Counting {
    const char *setting;
    unsigned stages;
    Ask *ask; /* where the setting counts; NULL: always */
} countings[] = {
    {"out", 0, NULL},
    {"reference", READING, NULL},
    {"build", ALL & ~(unsigned)(STUDIO | READING | REGIONS | RULES | TONE | PARTS), NULL},
    {"columns", CELLS | PICTURE, NULL},
    {"rows", CELLS | PICTURE, NULL},
    {"width", CELLS | PICTURE, NULL},
    {"height", CELLS | PICTURE, NULL},
    {"turn", PICTURE, NULL},
    {"mirror", PICTURE, NULL},
    {"crop", PICTURE, NULL},
    {"pitch", ALL & ~(unsigned)(READING | REGIONS | RULES | TONE | PARTS), NULL},
    {"brick-height", ALL & ~(unsigned)(READING | REGIONS | RULES | TONE | PARTS), NULL},
    {"thickness", FACE | BRICKS | FIGURES, NULL},
    {"palette", STUDIO, NULL},
    {"dither", RULES | SKETCH | FACE | RELIEF, NULL},
    {"brick-thrift", SKETCH | FACE, NULL},
    {"detail", SKETCH | FACE, NULL},
    {"calm", SKETCH | FACE, NULL},
    {"tone", SKETCH | FACE | BRICKS, NULL},
    {"distance", SKETCH | FACE | LOOK, NULL},
    {"cells", CELLS | SKETCH | FACE | RELIEF | BRICKS, NULL},
    {"pins", RULES, NULL},
    {"care", RULES, NULL},
    {"regions", REGIONS, NULL},
    {"region-strokes", REGIONS, NULL},
    {"region-labels", REGIONS, NULL},
    {"ground", READING, NULL},
    {"relief", RELIEF, NULL},
    {"depth-map", RELIEF, NULL},
    {"mask", RELIEF, NULL},
    {"toward", RELIEF, NULL},
    {"steps", RELIEF, NULL},
    {"depth", RELIEF, NULL},
    {"relief-curve", RELIEF, NULL},
    {"relief-smooth", RELIEF, NULL},
    {"relief-islands", RELIEF, NULL},
    {"relief-jump", RELIEF, NULL},
    {"steps-map", RELIEF, NULL},
    {"strokes", RELIEF, NULL},
    {"labels", RELIEF, NULL},
    {"layers", RELIEF, NULL},
    {"label-snap", RELIEF, NULL},
    {"backing", BRICKS, NULL},
    {"hollow", BRICKS, NULL},
    {"light-angle", FIGURES, NULL},
    {"light-height", FIGURES, NULL},
    {"clutch", HOLDS, NULL},
    {"hold-safety", HOLDS | FIGURES, NULL},
    {"crate-g", HOLDS | FIGURES, NULL},
    {"touch", HOLDS | FIGURES, NULL},
    {"load-cases", HOLDS, NULL},
    {"hold", BRICKS, NULL},
    {"clutch", BRICKS, is_mended},

    {"bricks", STUDIO, NULL},
    {"stock", STUDIO, NULL},
    {"stock-only", STUDIO | FACE | BRICKS, NULL},
    {"recolour", BRICKS, is_limited},
    {"spare", BRICKS, is_limited},
    {"spare", PARTS, NULL},
    {"favour", FACE | BRICKS | FIGURES, NULL},
    {"effort", BRICKS, NULL},
    {"panel", FACE | BRICKS, NULL},
    {"panel-mass", FACE | BRICKS, NULL},
    {"door", FACE | BRICKS, NULL},
    {"sheet-mass", FACE | BRICKS | FIGURES, NULL},
    {"sheet-depth", FIGURES, NULL},
    {"board", FACE | BRICKS | FIGURES, NULL},
    {"board-density", FACE | BRICKS | FIGURES, NULL},
    {"frame-mass", FACE | BRICKS | FIGURES, NULL},
    {"frame-depth", FIGURES, NULL},
    {"fixings", FACE | BRICKS | FIGURES, NULL},
    {"fixing-mass", FACE | BRICKS | FIGURES, NULL},
    {"kit", FACE | BRICKS | FIGURES, NULL},
    {"kit-even", FACE | BRICKS | FIGURES, NULL},
    {"pace", FACE | BRICKS, favours_cost},
    {"rate", FACE | BRICKS, favours_cost},
    {"pace", FIGURES, NULL},
    {"rate", FIGURES, NULL},
    {"builders", FIGURES, NULL},
    {"day", FIGURES, NULL},
    {"budget", 0, NULL},
    {"currency", FIGURES, NULL},
    {"studio", FIGURES, NULL},
    {"client", FIGURES, NULL},
    {"title", FIGURES, NULL},
    {"date", FIGURES, NULL},
    {"validity", FIGURES, NULL},
    {"price", FIGURES, NULL},
    {"margin", FIGURES, NULL},
    {"tax", FIGURES, NULL},
    {"deposit", FIGURES, NULL},
    {"crate-price", FIGURES, NULL},
    {"freight", FIGURES, NULL},
    {"site-rate", FIGURES, NULL},
    {"delivery", FIGURES, NULL},
    {"not-included", FIGURES, NULL},
    {"locale", FIGURES, NULL},
    {"sheet-price", FIGURES, NULL},
    {"packing", FACE | BRICKS | FIGURES, NULL},
    {"crate-panels", FIGURES, NULL},
    {"crate-mass", FIGURES, NULL},
    {"hanging", FIGURES, NULL},
    {"quote", 0, NULL},
    {"paper", 0, NULL},
    {"book", 0, NULL},
    {"lists", 0, NULL},
    {"built", 0, NULL},
    {"sort", 0, NULL},
    {"colours", 0, NULL},
    {"keep", 0, NULL},
    {"without", 0, NULL},
    {"price-weight", 0, NULL},
    {"limit", READING | REGIONS | RULES | RELIEF, NULL},
    {"threads", 0, NULL},
    {"quiet", 0, NULL},
};

/* Of several settings only this counts here: whether strokes are looked for in a finer picture,
 * whether there is a relief at all, which faces are not laid on trial for. */
static const struct Fact {
    unsigned stages;
    Ask *ask;
} facts[] = {{PICTURE, job_stroked}, {FACE, is_raised}};

static bool counts_for(const char *setting, unsigned stage, const Job *job)
{
    bool listed = false;
    for (size_t i = 0; i < sizeof countings / sizeof *countings; i++) {
        const struct Counting *c = &countings[i];
        if (strcmp(c->setting, setting) != 0) continue;
        listed = true;
        if ((c->stages & stage) && (!c->ask || c->ask(job))) return true;
    }
    return !listed;
}

/* ---- the key ---- */

/* Far more than a tick of the clock that file systems take their times from. */
enum { SETTLED_MS = 40 };

static double milliseconds_between(struct timespec from, struct timespec to)
{
    return 1e3 * (double)(to.tv_sec - from.tv_sec) + 1e-6 * (double)(to.tv_nsec - from.tv_nsec);
}

static void add_file(Digest *digest, const char *path)
{
    static atomic_ulong looks;
    struct stat s;
    struct timespec now;
    char text[256];
    if (!*path || stat(path, &s) != 0) return;
    clock_gettime(CLOCK_REALTIME, &now);
    const bool settled = milliseconds_between(s.st_ctim, now) > SETTLED_MS;
    const unsigned long look = settled ? 0 : atomic_fetch_add(&looks, 1) + 1;
    const int length =
        snprintf(text, sizeof text, "%ju %ju %jd %jd.%ld %jd.%ld %lu", (uintmax_t)s.st_dev,
                 (uintmax_t)s.st_ino, (intmax_t)s.st_size, (intmax_t)s.st_mtim.tv_sec,
                 s.st_mtim.tv_nsec, (intmax_t)s.st_ctim.tv_sec, s.st_ctim.tv_nsec, look);
    digest_add(digest, text, (size_t)length + 1);
}

static void add_setting(Digest *digest, const Setting *setting, const Job *job)
{
    char value[JOB_TEXT + 64];
    job_show(job, setting, value, sizeof value);
    digest_add(digest, setting->name, strlen(setting->name) + 1);
    digest_add(digest, value, strlen(value) + 1);
    if (setting->type == SETTING_FILE) add_file(digest, value);
}

bool stage_is_asked_alike(Stage stage, const Job *a, const Job *b)
{
    char one[JOB_TEXT + 64], other[JOB_TEXT + 64];
    const unsigned bit = STAGE_BIT(stage);
    for (size_t i = 0; i < settings_count; i++) {
        if (!counts_for(settings[i].name, bit, a) && !counts_for(settings[i].name, bit, b))
            continue;
        job_show(a, &settings[i], one, sizeof one);
        job_show(b, &settings[i], other, sizeof other);
        if (strcmp(one, other) != 0) return false;
    }
    return true;
}

Status stage_key(Stage stage, const Job *job, char (*const key[STAGES])[DIGEST_TEXT],
                 char key_out[DIGEST_TEXT], Fault *fault)
{
    const unsigned bit = STAGE_BIT(stage), reads = stage_reads(stage, job);
    Digest *digest;
    const Status status = digest_create(&digest, fault);
    if (status) return status;
    digest_add(digest, &bit, sizeof bit);
    for (size_t i = 0; i < settings_count; i++)
        if (counts_for(settings[i].name, bit, job)) add_setting(digest, &settings[i], job);
    for (size_t i = 0; i < sizeof facts / sizeof *facts; i++)
        if (facts[i].stages & bit) digest_add(digest, facts[i].ask(job) ? "y" : "n", 1);
    for (int i = 0; i < (int)stage; i++)
        if (reads & STAGE_BIT(i)) digest_add(digest, *key[i], DIGEST_TEXT);
    digest_text(digest, key_out);
    digest_free(digest);
    return STATUS_OK;
}
