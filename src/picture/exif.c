/* A TIFF directory read in place (Exif 2.32, 4.5 and 4.6.2): 8 bytes of head, then entries of
 * 12 bytes. Every read is checked against the block's length, so a block may say anything. */
#include "picture/exif.h"

#include <stdbool.h>

enum { TAG_ORIENTATION = 0x0112, TYPE_SHORT = 3, TYPE_LONG = 4 };

typedef struct Reader {
    const uint8_t *bytes;
    size_t length;
    bool little;
} Reader;

/* 0 beyond the end, which no valid field of interest is. */
static uint32_t number(const Reader *r, size_t at, size_t size)
{
    if (at > r->length || r->length - at < size) return 0;
    uint32_t value = 0;
    for (size_t i = 0; i < size; i++)
        value = value << 8 | r->bytes[at + (r->little ? size - 1 - i : i)];
    return value;
}

int exif_orientation(const uint8_t *block, size_t length)
{
    if (length < 8 || block[0] != block[1] || (block[0] != 'I' && block[0] != 'M')) return 1;
    const Reader r = {.bytes = block, .length = length, .little = block[0] == 'I'};
    if (number(&r, 2, 2) != 42) return 1;
    const size_t directory = number(&r, 4, 4);
    const size_t entries = number(&r, directory, 2);
    for (size_t i = 0; i < entries; i++) {
        const size_t entry = directory + 2 + 12 * i;
        if (number(&r, entry, 2) != TAG_ORIENTATION) continue;
        const uint32_t type = number(&r, entry + 2, 2);
        const uint32_t value = type == TYPE_SHORT  ? number(&r, entry + 8, 2)
                               : type == TYPE_LONG ? number(&r, entry + 8, 4)
                                                   : 1;
        return value >= 1 && value <= 8 ? (int)value : 1;
    }
    return 1;
}
