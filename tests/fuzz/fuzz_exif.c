/* Fuzz entry for Exif blocks: the way up is one of eight, whatever the block says. The block stands
 * alone on the heap, so that a read beyond it is seen. */
#include "fuzz/fuzz_input.h"
#include "picture/exif.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    const int way = exif_orientation(bytes, length);
    if (way < 1 || way > 8) abort();
    return 0;
}
