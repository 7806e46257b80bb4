/* From chunk to chunk: each has its length, its type and, at its end, the CRC-32 of type and data.
 * What the rows are is not looked at.
 *
 * Source: PNG, ISO/IEC 15948, 5.2 (signature), 5.3 (chunks), 5.6 (order). */
#include "base/written_png.h"

#include "base/input_file.h"

#include <errno.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <zlib.h>

typedef struct Chunk {
    char type[5];
    uint32_t length;
} Chunk;

static uint32_t big_endian(const unsigned char b[4])
{
    return (uint32_t)b[0] << 24 | (uint32_t)b[1] << 16 | (uint32_t)b[2] << 8 | b[3];
}

/* Reads a chunk; false where there is none, or its CRC is another. */
static bool read_chunk(FILE *file, Chunk *chunk)
{
    unsigned char head[8], foot[4], block[1 << 14];
    if (fread(head, 1, sizeof head, file) != sizeof head) return false;
    chunk->length = big_endian(head);
    memcpy(chunk->type, head + 4, 4);
    uLong sum = crc32(crc32(0, NULL, 0), head + 4, 4);
    for (uint32_t left = chunk->length; left;) {
        const size_t part = left < sizeof block ? left : sizeof block;
        if (fread(block, 1, part, file) != part) return false;
        sum = crc32(sum, block, (uInt)part);
        left -= (uint32_t)part;
    }
    return fread(foot, 1, sizeof foot, file) == sizeof foot && big_endian(foot) == sum;
}

static bool is_whole(FILE *file)
{
    static const unsigned char signature[8] = {137, 'P', 'N', 'G', '\r', '\n', 26, '\n'};
    unsigned char begin[8];
    Chunk chunk = {.length = 0};
    if (fread(begin, 1, sizeof begin, file) != sizeof begin ||
        memcmp(begin, signature, sizeof signature) != 0 || !read_chunk(file, &chunk) ||
        strcmp(chunk.type, "IHDR") != 0)
        return false;
    bool data = false;
    while (read_chunk(file, &chunk)) {
        data |= !strcmp(chunk.type, "IDAT");
        if (!strcmp(chunk.type, "IEND")) return data && !chunk.length && fgetc(file) == EOF;
    }
    return false;
}

Status written_png_check(const char *path, Fault *fault)
{
    FILE *file = input_file_open_regular(path);
    if (!file)
        return fault_set(fault, STATUS_IO, "%s: cannot be read back (%s); check the disk", path,
                         strerror(errno));
    const bool whole = is_whole(file);
    fclose(file);
    if (whole) return STATUS_OK;
    return fault_set(fault, STATUS_IO, "%s: is not on the disk as it was written; check the disk",
                     path);
}
