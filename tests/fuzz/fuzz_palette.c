/* Fuzz entry for palettes: any bytes give a palette that can be written as CGATS and
 * read back the same, or a fault with a place. Built with -fsanitize=fuzzer it is a fuzzer;
 * test_palette runs it over every file of tests/data/bad and palettes/. */
#include "base/memory.h"
#include "model/palette.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void check_round_trip(const Palette *palette)
{
    static Palette again;
    char *text;
    size_t length;
    if (palette_write_cgats(&text, &length, palette, "fuzz", NULL)) return; /* quotes in an id */
    Fault fault = {0};
    if (palette_parse(&again, text, length, "written", NULL, &fault)) {
        if (!strstr(fault.text, "directive")) abort(); /* a name that looks like one */
        memory_free(text);
        return;
    }
    if (again.count != palette->count) abort();
    for (int i = 0; i < again.count; i++) {
        const Colour *a = &palette->colour[i], *b = &again.colour[i];
        if (strcmp(a->id, b->id) || a->lab.L != b->lab.L || a->lab.a != b->lab.a ||
            a->lab.b != b->lab.b)
            abort();
    }
    memory_free(text);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    static Palette palette;
    Fault fault = {0};
    if (palette_parse(&palette, (const char *)bytes, length, "fuzz", NULL, &fault)) {
        if (fault.status != STATUS_DATA || strncmp(fault.text, "fuzz:", 5)) abort();
        return 0;
    }
    if (palette.count < 1 || palette.count > PALETTE_MOST) abort();
    check_round_trip(&palette);
    return 0;
}
