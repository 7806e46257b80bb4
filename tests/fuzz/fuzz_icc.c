/* Fuzz entry for ICC profiles: whatever they say, pixels of each model become numbers or the
 * profile is passed over. */
#include "base/memory.h"
#include "fuzz/fuzz_input.h"
#include "picture/profile.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void use_profile(const uint8_t *bytes, size_t length, const PixelFormat *format)
{
    Profile profile = {0};
    Fault fault = {0};
    ColourTags tags = {.icc = memory_create(length, 1), .icc_length = length};
    if (!tags.icc) abort();
    memcpy(tags.icc, bytes, length);
    if (fuzz_well(profile_init(&profile, &tags, format, "fuzz", NULL, &fault), &fault) &&
        profile.ready != READY_AS_STORED) {
        static const uint16_t stored[64] = {0, 65535, 1000, 30000, 65535, 65535, 65535, 65535};
        static double ready[64];
        profile_ready(&profile, stored, ready, 4);
    }
    profile_clear(&profile);
    memory_free(tags.icc);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    use_profile(bytes, length, &(PixelFormat){.model = MODEL_RGB, .bits = 8});
    use_profile(bytes, length, &(PixelFormat){.model = MODEL_GREY, .bits = 16, .alpha = true});
    use_profile(bytes, length, &(PixelFormat){.model = MODEL_CMYK, .bits = 8, .inverted = true});
    return 0;
}
