/* A finished PDF is held to what was drawn: pages and glyphs that are missing and streams that are
 * cut are found. What is left out here is left out by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "book/draw.h"
#include "book/pdf_verify.h"
#include "support/scratch.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PAGES = 3, LETTERS = 11 };

static char room[SCRATCH_MOST], path[PATH_MAX];

static int setup(void **state)
{
    (void)state;
    if (!scratch_folder(room)) return -1;
    snprintf(path, sizeof path, "%s/drawn.pdf", room);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    return scratch_clear(room);
}

/* Letters that are escaped, that no Latin typeface has, and that stand closer by kerning of our
 * own: 11 a page. */
static void draw_pages(void)
{
    Draw *draw;
    assert_int_equal(draw_create(&draw, path, 100, 60, "Drawn", NULL), 0);
    draw_tag(draw, "Document");
    for (int i = 0; i < PAGES; i++) {
        draw_text(draw, (Type){WEIGHT_REGULAR, 9, 1}, (Ink){0, 0, 0}, 10, 10, "a(b)\\c");
        draw_text(draw, (Type){WEIGHT_BOLD, 9, 0.8}, (Ink){0, 0, 0}, 10, 20, "x\xe2\x96\xb2y");
        draw_text(draw, (Type){WEIGHT_BOLD, 9, 0.8}, (Ink){0, 0, 0}, 30, 20, "\xc3\xa9\xce\xa9");
        assert_int_equal(draw_page_end(draw, NULL), 0);
    }
    draw_tag_end(draw, "Document");
    assert_int_equal(draw_close(draw, NULL), 0);
    draw_free(draw);
}

static void what_was_drawn_is_there(void **state)
{
    (void)state;
    draw_pages();
    Fault fault = {0};
    assert_int_equal(pdf_verify(path, &(PdfDrawn){PAGES, PAGES * LETTERS}, &fault), 0);
    assert_int_equal(pdf_verify(path, &(PdfDrawn){PAGES + 1, PAGES * LETTERS}, &fault),
                     STATUS_NO_RESOURCE);
    assert_non_null(strstr(fault.text, "pages of it are missing"));
    assert_int_equal(pdf_verify(path, &(PdfDrawn){PAGES, PAGES * LETTERS + 1}, &fault),
                     STATUS_NO_RESOURCE);
    assert_non_null(strstr(fault.text, "text of it is missing"));
}

static char *read_whole(size_t *length_out)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    char *bytes = malloc(1 << 20);
    *length_out = fread(bytes, 1, 1 << 20, file);
    fclose(file);
    return bytes;
}

static void write_whole(const char *bytes, size_t length)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    fclose(file);
}

/* A byte in the middle of each packed stream, and the file cut within it. */
static void a_stream_that_is_cut_is_found(void **state)
{
    (void)state;
    size_t length;
    draw_pages();
    char *bytes = read_whole(&length);
    int streams = 0;
    for (char *at = bytes; (at = memmem(at, length - (size_t)(at - bytes), "/FlateDecode", 12));
         at++) {
        char *stream = memmem(at, length - (size_t)(at - bytes), "stream\n", 7);
        char *end = memmem(stream, length - (size_t)(stream - bytes), "endstream", 9);
        char *middle = stream + (end - stream) / 2;
        const char kept = *middle;
        *middle = (char)~kept;
        write_whole(bytes, length);
        assert_int_equal(pdf_verify(path, &(PdfDrawn){PAGES, PAGES * LETTERS}, NULL),
                         STATUS_NO_RESOURCE);
        *middle = kept;
        write_whole(bytes, (size_t)(middle - bytes));
        assert_int_equal(pdf_verify(path, &(PdfDrawn){PAGES, PAGES * LETTERS}, NULL),
                         STATUS_NO_RESOURCE);
        streams++;
    }
    assert_true(streams > PAGES);
    free(bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_drawn_is_there),
        cmocka_unit_test(a_stream_that_is_cut_is_found),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
