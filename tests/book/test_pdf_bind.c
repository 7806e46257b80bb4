/* Pages that are bound are looked at from outside by qpdf and poppler: the same text page by page,
 * the outline, links within and to files, labels; what is damaged is refused and leaves no file. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "book/draw.h"
#include "book/pdf_bind.h"
#include "book/pdf_file.h"
#include "support/scratch.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char room[SCRATCH_MOST], one[PATH_MAX], two[PATH_MAX], whole[PATH_MAX];
static PdfPart part[3];

static int setup(void **state)
{
    (void)state;
    if (!scratch_folder(room)) return -1;
    snprintf(one, sizeof one, "%s/one.pdf", room);
    snprintf(two, sizeof two, "%s/two.pdf", room);
    snprintf(whole, sizeof whole, "%s/whole.pdf", room);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    return scratch_clear(room);
}

static void set_text(Draw *draw, const char *text)
{
    draw_tag(draw, "P");
    draw_text(draw, (Type){WEIGHT_REGULAR, 9, 1}, (Ink){0, 0, 0}, 10, 10, text);
    draw_tag_end(draw, "P");
}

static const double box[4] = {10, 20, 30, 10};

/* A cover whose one link leads to the other file, and a page. */
static void draw_one(void)
{
    Draw *draw;
    assert_int_equal(draw_create(&draw, one, 100, 60, "The whole", NULL), 0);
    draw_tag(draw, "Document");
    set_text(draw, "cover");
    draw_link_file(draw, box, "b/two.pdf", "To the second");
    assert_int_equal(draw_page_end(draw, NULL), 0);
    set_text(draw, "a \xe2\x96\xb2 page");
    draw_tag_end(draw, "Document");
    assert_int_equal(draw_page_end(draw, NULL), 0);
    assert_int_equal(draw_close(draw, NULL), 0);
    draw_free(draw);
}

/* Two pages with all that has to find its place again: a name that both files could have, a file
 * beside it and one elsewhere, a figure, a head, bookmarks in bookmarks. */
static void draw_two(void)
{
    Draw *draw;
    assert_int_equal(draw_create(&draw, two, 60, 100, "Second", NULL), 0);
    draw_tag(draw, "Document");
    const int parent = draw_bookmark(draw, 0, 1, "Top");
    draw_bookmark(draw, parent, 2, "Below (it)");
    set_text(draw, "second (of) two\\");
    draw_link(draw, box, "place", "To its page");
    draw_link_file(draw, box, "sheets/x.pdf", "Beside");
    draw_link_file(draw, box, "https://example.org/y", "Elsewhere");
    draw_figure(draw, "A box");
    draw_rect(draw, 1, 1, 5, 5);
    draw_fill(draw, (Ink){1, 0, 0});
    draw_tag_end(draw, "Figure");
    assert_int_equal(draw_page_end(draw, NULL), 0);
    draw_target(draw, "place");
    draw_tag(draw, "Table");
    draw_tag(draw, "TR");
    draw_column_head(draw);
    draw_text(draw, (Type){WEIGHT_BOLD, 9, 1}, (Ink){0, 0, 0}, 10, 10, "last");
    draw_tag_end(draw, "Document");
    assert_int_equal(draw_page_end(draw, NULL), 0);
    assert_int_equal(draw_close(draw, NULL), 0);
    draw_free(draw);
}

static Status bind(Fault *fault)
{
    part[0] = (PdfPart){one, "whole.pdf", "Own", "", 0};
    part[1] = (PdfPart){two, "b/two.pdf",
                        "Gr\xc3\xb6\xc3\x9f"
                        "e & (M)",
                        "b ", 0};
    part[2] = (PdfPart){two, "c/two.pdf", "Third", "c ", 0};
    return pdf_bind(whole, part, 3, NULL, fault);
}

/* What a command prints. */
static const char *said(const char *format)
{
    static char text[1 << 16];
    char line[3 * PATH_MAX];
    snprintf(line, sizeof line, format, whole);
    FILE *pipe = popen(line, "r");
    assert_non_null(pipe);
    text[fread(text, 1, sizeof text - 1, pipe)] = '\0';
    assert_int_equal(pclose(pipe), 0);
    return text;
}

static void readers_find_all_parts(void **state)
{
    (void)state;
    draw_one();
    draw_two();
    assert_int_equal(bind(NULL), 0);
    assert_true(part[0].pages == 2 && part[1].pages == 2 && part[2].pages == 2);
    assert_non_null(strstr(said("qpdf --check '%s' 2>&1"), "No syntax or stream encoding errors"));
    assert_string_equal(said("pdftotext '%s' - 2>&1 | tr -d '\\f' | grep ."),
                        "cover\na \xe2\x96\xb2 page\nsecond (of) two\\\nlast\nsecond (of) two\\\n"
                        "last\n");
    assert_string_equal(
        said("qpdf --json --json-key=outlines '%s' | grep -e '\"title\"' -e from1 | tr -d ' \\n'"),
        "\"destpageposfrom1\":1,\"title\":\"Own\"\"destpageposfrom1\":3,\"destpageposfrom1\":3,"
        "\"destpageposfrom1\":4,\"title\":\"Below(it)\"\"title\":\"Top\"\"title\":"
        "\"Gr\xc3\xb6\xc3\x9f"
        "e&(M)\"\"destpageposfrom1\":5,\"destpageposfrom1\":5,"
        "\"destpageposfrom1\":6,\"title\":\"Below(it)\"\"title\":\"Top\"\"title\":\"Third\"");
    const char *structure = said("pdfinfo -struct-text '%s' 2>&1");
    assert_null(strstr(structure, "Warning"));
    assert_non_null(strstr(structure, "Figure"));
    assert_non_null(strstr(said("qpdf --json --json-key=pagelabels '%s'"), "c "));
}

/* The page that a link of this page of the whole leads to, from 0; -1: to none. */
static int leads_to(const PdfFile *f, const long *page, int pages, int from, int nth)
{
    const char *links = pdf_resolve(f, pdf_find(f, f->bytes + f->at[page[from]], "/Annots"));
    const char *at = pdf_token(f, links).end;
    while (nth--) at = pdf_skip(f, at);
    const char *place = pdf_find(f, pdf_resolve(f, at), "/Dest");
    if (!place) return -1;
    if (pdf_token(f, place).kind == PDF_STRING) {
        const char *names = pdf_resolve(f, pdf_find(f, f->root, "/Names"));
        names = pdf_resolve(f, pdf_find(f, names, "/Dests"));
        const char *name = pdf_token(f, pdf_find(f, names, "/Names")).end;
        const PdfToken wanted = pdf_token(f, place);
        const size_t length = (size_t)(wanted.end - wanted.begin);
        while (memcmp(pdf_token(f, name).begin, wanted.begin, length) != 0)
            name = pdf_skip(f, pdf_skip(f, name));
        place = pdf_skip(f, name);
    }
    const long number = pdf_reference(f, pdf_token(f, place).end);
    for (int i = 0; i < pages; i++)
        if (page[i] == number) return i;
    return -1;
}

static void links_lead_within_the_whole(void **state)
{
    (void)state;
    PdfFile f;
    long page[6];
    int pages = 0;
    draw_one();
    draw_two();
    assert_int_equal(bind(NULL), 0);
    assert_int_equal(pdf_file_read(&f, whole, NULL), 0);
    const char *kid = pdf_find(&f, pdf_resolve(&f, pdf_find(&f, f.root, "/Pages")), "/Kids");
    for (kid = pdf_token(&f, kid).end; pdf_reference(&f, kid); kid = pdf_skip(&f, kid)) {
        const char *own = pdf_find(&f, pdf_resolve(&f, kid), "/Kids");
        for (own = pdf_token(&f, own).end; pdf_reference(&f, own); own = pdf_skip(&f, own))
            page[pages++] = pdf_reference(&f, own);
    }
    assert_int_equal(pages, 6);
    assert_int_equal(leads_to(&f, page, pages, 0, 0), 2); /* cover to the second part */
    assert_int_equal(leads_to(&f, page, pages, 2, 0), 3); /* by name, each within its part */
    assert_int_equal(leads_to(&f, page, pages, 4, 0), 5);
    assert_int_equal(leads_to(&f, page, pages, 4, 1), -1);
    assert_non_null(strstr(said("grep -a -o '/URI ([^)]*)' '%s' | tr '\\n' ' '"),
                           "(b/sheets/x.pdf) /URI (https://example.org/y) /URI (c/sheets/x.pdf)"));
    pdf_file_clear(&f);
}

static char *read_two(size_t *length_out)
{
    char *bytes;
    assert_int_equal(pdf_file_bytes(&bytes, length_out, two, NULL), 0);
    return bytes;
}

static void write_two(const char *bytes, size_t length)
{
    FILE *file = fopen(two, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    fclose(file);
}

/* A byte that is another, a file that is cut: all is bound, or there is no file and a fault. */
static void damage_is_refused_or_harmless(void **state)
{
    (void)state;
    size_t length;
    draw_one();
    draw_two();
    char *bytes = read_two(&length);
    for (size_t at = 0; at < length; at += 23) {
        const char kept = bytes[at];
        bytes[at] = at % 2 ? '<' : '9';
        write_two(bytes, at % 3 ? length : at);
        Fault fault = {0};
        const Status status = bind(&fault);
        assert_true(status == STATUS_OK || status == STATUS_DATA);
        assert_int_equal(!access(whole, F_OK), status == STATUS_OK);
        if (status) assert_non_null(strstr(fault.text, "two.pdf: is not as it was written; "));
        remove(whole);
        bytes[at] = kept;
    }
    memory_free(bytes);
    assert_int_equal(remove(two), 0);
    assert_int_equal(bind(NULL), STATUS_IO);
}

static bool at_once(void *self)
{
    (void)self;
    return true;
}

/* Whatever fails, it is told and there is no file. */
static void a_run_that_fails_leaves_no_file(void **state)
{
    (void)state;
    draw_one();
    draw_two();
    Status status = STATUS_NO_RESOURCE;
    for (long n = 0; status; n++) {
        memory_fail_after(n);
        Fault fault = {0};
        status = bind(&fault);
        memory_fail_after(-1);
        assert_true(status == STATUS_OK || status == STATUS_NO_RESOURCE);
        assert_int_equal(!access(whole, F_OK), status == STATUS_OK);
        assert_true(!status || strstr(fault.text, "memory"));
        assert_true(status || n > 10);
    }
    const Voice stopping = {NULL, NULL, NULL, at_once};
    assert_int_equal(pdf_bind(whole, part, 3, &stopping, NULL), STATUS_INTERRUPTED);
    assert_int_not_equal(access(whole, F_OK), 0);
    assert_int_equal(pdf_bind("/nowhere/whole.pdf", part, 3, NULL, NULL), STATUS_NO_CREATE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(readers_find_all_parts),
        cmocka_unit_test(links_lead_within_the_whole),
        cmocka_unit_test(a_run_that_fails_leaves_no_file),
        cmocka_unit_test(damage_is_refused_or_harmless),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
