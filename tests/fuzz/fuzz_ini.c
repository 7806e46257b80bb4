/* Fuzz entry for INI files: any bytes give a job whose settings read back as they are shown, and a
 * list of layers, or faults. */
#include "fuzz/fuzz_input.h"
#include "layers/layer_list.h"
#include "model/job.h"

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
    return 0;
}
