/* A PNG that was written is read back: any byte that changed and any cut is found. The picture is
 * the smallest one that PNG allows, by ISO/IEC 15948, with CRCs and zlib's checksum reckoned by
 * zlib itself. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/written_png.h"
#include "support/scratch.h"

#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <zlib.h>

static char room[SCRATCH_MOST], path[PATH_MAX];
static unsigned char png[256];
static size_t length;

static void put_four(uLong value)
{
    for (int shift = 24; shift >= 0; shift -= 8) png[length++] = (unsigned char)(value >> shift);
}

static void put_chunk(const char *type, const unsigned char *data, size_t bytes)
{
    put_four(bytes);
    const size_t from = length;
    memcpy(png + length, type, 4);
    length += 4;
    if (bytes) memcpy(png + length, data, bytes);
    length += bytes;
    put_four(crc32(0, png + from, (uInt)(4 + bytes)));
}

static int setup(void **state)
{
    (void)state;
    static const unsigned char head[13] = {0, 0, 0, 1, 0, 0, 0, 1, 8, 0, 0, 0, 0}, row[2] = {0, 7};
    unsigned char packed[64];
    uLongf size = sizeof packed;
    if (!scratch_folder(room) || compress(packed, &size, row, sizeof row)) return -1;
    snprintf(path, sizeof path, "%s/one.png", room);
    memcpy(png, "\x89PNG\r\n\x1a\n", length = 8);
    put_chunk("IHDR", head, sizeof head);
    put_chunk("IDAT", packed, size);
    put_chunk("IEND", NULL, 0);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    return scratch_clear(room);
}

static Status check_of(size_t bytes)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(png, 1, bytes, file), bytes);
    fclose(file);
    return written_png_check(path, NULL);
}

static void every_byte_counts(void **state)
{
    (void)state;
    assert_int_equal(check_of(length), STATUS_OK);
    for (size_t i = 0; i < length; i++) {
        assert_int_equal(check_of(i), STATUS_IO);
        png[i] ^= 0x10;
        assert_int_equal(check_of(length), STATUS_IO);
        png[i] ^= 0x10;
    }
    assert_int_equal(check_of(length + 1), STATUS_IO);
    remove(path);
    assert_int_equal(written_png_check(path, NULL), STATUS_IO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_byte_counts)};
    return cmocka_run_group_tests(tests, setup, teardown);
}
