/* Fuzz entry for INI files: any bytes give a job whose settings read back as they are shown, a list
 * of layers, and one of regions within its bounds, or faults. */
#include "fuzz/fuzz_input.h"
#include "layers/layer_list.h"
#include "model/job.h"
#include "model/region_list.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

/* What is shown of a setting is what it was set to. */
static void show_and_set(const Job *job)
{
    static Job again;
    char text[JOB_TEXT], other[JOB_TEXT];
    job_init(&again);
    for (size_t i = 0; i < settings_count; i++) {
        Fault fault = {0};
        job_show(job, &settings[i], text, sizeof text);
        if (!*text || !strcmp(text, "0") || !strcmp(text, "0mm") || !strcmp(text, "0MB"))
            continue; /* not given */
        if (job_set(&again, &settings[i], text, "again", NULL, &fault)) abort();
        job_show(&again, &settings[i], other, sizeof other);
        if (strcmp(text, other) != 0) abort();
    }
}

static bool is_factor(double value, double least) { return value >= least && value <= 10; }

static void read_regions(const char *path)
{
    static Palette palette;
    static RegionList list;
    Fault fault = {0};
    if (!palette.count && palette_default(&palette, &fault)) abort();
    const RegionWords words = {&palette, false, NULL}, any = {&palette, true, NULL};
    fuzz_well(region_list_read(&list, path, &any, &fault), &fault);
    if (!fuzz_well(region_list_read(&list, path, &words, &fault), &fault)) return;
    if (list.count < 1 || list.count > REGIONS_MOST) abort();
    for (int i = 1; i < list.count; i++) {
        const Region *r = &list.region[i];
        if (r->index <= list.region[i - 1].index || r->index > REGION_INDEX_MOST) abort();
        if (!is_factor(r->care, CARE_LEAST) || !is_factor(r->calm, 0) || !is_factor(r->thrift, 0))
            abort();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    static Job job;
    static LayerList layers;
    Fault fault = {0};
    const char *path = fuzz_path(bytes, length);
    job_init(&job);
    if (fuzz_well(job_read(&job, path, &fault), &fault)) show_and_set(&job);
    if (fuzz_well(layer_list_read(&layers, path, 9.6, &fault), &fault) &&
        (layers.count < 1 || layers.count > LAYERS_MOST))
        abort();
    read_regions(path);
    return 0;
}
