/* Every fuzzer of this folder over its seeds, without a fuzzer: each seed whole, cut short, and
 * with single bytes changed. The seeds are small and hold what each format may hold; pictures are
 * of a gradient, saved by ImageMagick, profiles by Little CMS, plans by the program. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#define LLVMFuzzerTestOneInput fuzz_picture
#include "fuzz/fuzz_picture.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_icc
#include "fuzz/fuzz_icc.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_exif
#include "fuzz/fuzz_exif.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_tables
#include "fuzz/fuzz_tables.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_ini
#include "fuzz/fuzz_ini.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_maps
#include "fuzz/fuzz_maps.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_plan
#include "fuzz/fuzz_plan.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_measure
#include "fuzz/fuzz_measure.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_inspect
#include "fuzz/fuzz_inspect.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_desk
#include "fuzz/fuzz_desk.c"
#undef LLVMFuzzerTestOneInput

#include "support/chance.h"

#include <dirent.h>
#include <limits.h>

typedef int Fuzzer(const uint8_t *bytes, size_t length);

/* On the heap without a byte to spare, so that the sanitizers see a read beyond it. */
static void try_exactly(Fuzzer *fuzzer, const uint8_t *bytes, size_t length)
{
    uint8_t *copy = malloc(length ? length : 1);
    assert_non_null(copy);
    memcpy(copy, bytes, length);
    fuzzer(copy, length);
    free(copy);
}

static void try_seed(Fuzzer *fuzzer, uint8_t *bytes, size_t length, int changes)
{
    uint64_t seed = length;
    try_exactly(fuzzer, bytes, length);
    for (int i = 0; i < changes; i++) {
        try_exactly(fuzzer, bytes, length * (size_t)i / (size_t)changes);
        uint8_t *byte = &bytes[draw(&seed) % length];
        const uint8_t kept = *byte;
        *byte = (uint8_t)draw(&seed);
        try_exactly(fuzzer, bytes, length);
        *byte = kept;
    }
}

static void try_corpus(Fuzzer *fuzzer, const char *name, int changes)
{
    char relative[64], corpus[PATH_MAX], path[2 * PATH_MAX];
    static uint8_t bytes[1 << 16];
    int seeds = 0;
    snprintf(relative, sizeof relative, "tests/fuzz/corpus/%s", name);
    assert_non_null(realpath(relative, corpus)); /* a fuzzer may go elsewhere */
    DIR *entries = opendir(corpus);
    assert_non_null(entries);
    for (struct dirent *e; (e = readdir(entries));) {
        if (*e->d_name == '.') continue;
        snprintf(path, sizeof path, "%s/%s", corpus, e->d_name);
        FILE *file = fopen(path, "rb");
        assert_non_null(file);
        const size_t length = fread(bytes, 1, sizeof bytes, file);
        fclose(file);
        assert_true(length > 0 && length < sizeof bytes);
        try_seed(fuzzer, bytes, length, changes);
        seeds++;
    }
    closedir(entries);
    assert_true(seeds > 1);
}

static void corpora_end_well(void **state)
{
    (void)state;
    static const struct {
        Fuzzer *fuzzer;
        const char *name;
        int changes;
    } doors[] = {
        {fuzz_picture, "picture", 20}, {fuzz_icc, "icc", 20},        {fuzz_exif, "exif", 60},
        {fuzz_tables, "tables", 60},   {fuzz_ini, "ini", 60},        {fuzz_maps, "maps", 60},
        {fuzz_plan, "plan", 3},        {fuzz_measure, "measure", 3}, {fuzz_inspect, "inspect", 2},
        {fuzz_desk, "desk", 6}, /* last: it changes the folder */
    };
    for (size_t i = 0; i < sizeof doors / sizeof *doors; i++)
        try_corpus(doors[i].fuzzer, doors[i].name, doors[i].changes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(corpora_end_well)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
