/* The book is checked from outside: poppler's pdftotext, pdffonts and pdfinfo, and qpdf
 * read it back; what it must say is worked out from the bricks by brute force. */
#include "book/book.h"

#include "base/memory.h"
#include "book/pdf_update.h"
#include "figures/crates.h"
#include "support/mural_fixture.h"
#include "support/scratch.h"

#include <ctype.h>
#include <locale.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

static Fixture fixture;
static char folder[SCRATCH_MOST], path[SCRATCH_MOST + 32];

/* Says something known of a flaw, so that this program links wherever the structure's
 * report is not part of the library. */
__attribute__((weak)) void flaw_text(const Flaw *flaw, const Solid *solid, const Panels *panels,
                                     char *text, size_t size)
{
    (void)solid;
    snprintf(text, size, "panel %s, column %d, row %d: weak; glue it",
             panels->panel[flaw->panel].name, flaw->column + 1, flaw->row + 1);
}

static const FixtureAsk small_plaque = {50,           26, 24, 20,         30,
                                        BUILD_PLAQUE, 1,  0,  FACE_BANDS, PAPER_A4};

static int make_folder(void **state)
{
    (void)state;
    if (!scratch_folder(folder)) return -1;
    snprintf(path, sizeof path, "%s/book.pdf", folder);
    return 0;
}

static int drop_folder(void **state)
{
    (void)state;
    return rmdir(folder);
}

static int end(void **state)
{
    (void)state;
    remove(path);
    fixture_clear(&fixture);
    return 0;
}

static void write_book(const FixtureAsk *ask)
{
    Fault fault = {0};
    fixture_init(&fixture, ask);
    const Status status = book_write(&fixture.mural, path, NULL, &fault);
    if (status) fail_msg("%s", fault.text);
}

static char *read_stream(FILE *stream, size_t *length_out)
{
    size_t capacity = 1 << 16, length = 0;
    char *text = malloc(capacity);
    for (size_t got; (got = fread(text + length, 1, capacity - length - 1, stream)) > 0;) {
        length += got;
        if (length + 1 == capacity) text = realloc(text, capacity *= 2);
    }
    text[length] = '\0';
    if (length_out) *length_out = length;
    return text;
}

/* What a command prints; `arguments` has one %s for the book. */
static char *printed(const char *arguments, int *code_out)
{
    char command[256];
    snprintf(command, sizeof command, arguments, path);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    char *text = read_stream(pipe, NULL);
    const int code = pclose(pipe);
    if (code_out) *code_out = code;
    return text;
}

static char *file_bytes(size_t *length_out)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    char *bytes = read_stream(file, length_out);
    fclose(file);
    return bytes;
}

/* Words apart by one space. */
static void squeeze_blanks(char *text)
{
    char *to = text;
    for (const char *from = text; *from; from++) {
        if (!isspace((unsigned char)*from))
            *to++ = *from;
        else if (to > text && to[-1] != ' ')
            *to++ = ' ';
    }
    *to = '\0';
}

/* The row's line from the bricks alone: owner[u] is the brick at each cell or -1, below[u]
 * the brick at the cell one row earlier. */
static void expected_row(const Mural *m, const Panel *p, const long *owner, const long *below,
                         char *line, size_t size)
{
    size_t used = strlen(line);
    int bricks = 0;
    for (int u = 0; u < p->columns;) {
        const long at = owner[u];
        int cells = 1;
        if (at < 0 || at == below[u]) {
            while (u + cells < p->columns && (owner[u + cells] < 0) == (at < 0) &&
                   (at < 0 || owner[u + cells] == below[u + cells]))
                cells++;
            used += (size_t)snprintf(line + used, size - used, " %d: (%d %s)", p->column + u + 1,
                                     cells, at < 0 ? "empty" : "laid");
            u += cells;
            continue;
        }
        const Brick *b = &m->laid->brick[at];
        const int high = b->rows > b->tiers ? b->rows : b->tiers;
        int count = 1;
        cells = b->columns;
        while (u + cells < p->columns && owner[u + cells] >= 0 &&
               owner[u + cells] != below[u + cells]) {
            const Brick *next = &m->laid->brick[owner[u + cells]];
            if (next->colour != b->colour || next->size != b->size || next->columns != b->columns)
                break;
            cells += next->columns;
            count++;
        }
        used += (size_t)snprintf(line + used, size - used, " %d: %d×%s %s%s", p->column + u + 1,
                                 count, m->palette->colour[b->colour].id,
                                 m->sizes->size[b->size].name, high > b->columns ? "↑" : "");
        bricks += count;
        u += cells;
    }
    snprintf(line + used, size - used, " %d bricks %d cells", bricks, p->columns);
}

/* Owners of a row of a panel: wall: (row, tier); plaque: (tier, row). */
static void owners_of(const Mural *m, int panel, int row, int tier, long *owner)
{
    const Panel *p = &m->panels->panel[panel];
    for (int u = 0; u < p->columns; u++) owner[u] = -1;
    for (size_t i = 0; i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        if (b->panel != panel || row < b->row || row >= b->row + b->rows || tier < b->tier ||
            tier >= b->tier + b->tiers)
            continue;
        for (int c = b->column; c < b->column + b->columns; c++) owner[c - p->column] = (long)i;
    }
}

static int all_empty(const long *owner, int count)
{
    for (int i = 0; i < count; i++)
        if (owner[i] >= 0) return 0;
    return 1;
}

/* Finds each row's line in order; rows without a brick are told in another way. */
static void check_rows(const char *text)
{
    static char line[20000];
    const Mural *m = &fixture.mural;
    const bool wall = m->solid.build == BUILD_WALL;
    const int depth = solid_depth(&m->solid);
    long owner[200], below[200];
    const char *at = text;
    int rows = 0;
    for (int panel = 0; panel < m->panels->count; panel++) {
        const Panel *p = &m->panels->panel[panel];
        for (int i = 0; i < p->rows * depth; i++) {
            const int row = p->row + (wall ? i / depth : i % p->rows);
            const int tier = wall ? i % depth : i / p->rows;
            owners_of(m, panel, row, tier, owner);
            if (all_empty(owner, p->columns)) continue;
            owners_of(m, panel, wall ? row : row - 1, wall ? tier - 1 : tier, below);
            if (depth > 1)
                snprintf(line, sizeof line, "row %d tier %d", row + 1, tier + 1);
            else
                snprintf(line, sizeof line, "row %d", row + 1);
            expected_row(m, p, owner, below, line, sizeof line);
            const char *found = strstr(at, line);
            if (!found) fail_msg("panel %s: not in the book, or not in order: %s", p->name, line);
            at = found + 1;
            rows++;
        }
    }
    assert_true(rows >= m->grid->rows);
}

static void check_text(const FixtureAsk *ask)
{
    write_book(ask);
    char *text = printed("pdftotext -layout %s -", NULL);
    squeeze_blanks(text);
    check_rows(text);
    char sum[64];
    long bricks = fixture.parts.bricks;
    if (bricks < 1000)
        snprintf(sum, sizeof sum, "Together %ld bricks", bricks);
    else
        snprintf(sum, sizeof sum, "Together %ld,%03ld bricks", bricks / 1000, bricks % 1000);
    assert_non_null(strstr(text, sum));
    free(text);
}

static void rows_of_a_flat_plaque(void **state)
{
    (void)state;
    check_text(&small_plaque);
}

static void rows_of_noise_on_letter(void **state)
{
    (void)state;
    check_text(&(FixtureAsk){64, 20, 64, 20, 48, BUILD_PLAQUE, 1, 0, FACE_NOISE, PAPER_LETTER});
}

static void rows_of_a_relief(void **state)
{
    (void)state;
    check_text(&(FixtureAsk){40, 24, 24, 24, 8, BUILD_PLAQUE, 1, 3, FACE_BANDS, PAPER_A4});
}

static void rows_of_a_thin_wall(void **state)
{
    (void)state;
    check_text(&(FixtureAsk){30, 21, 30, 12, 9, BUILD_WALL, 1, 0, FACE_BANDS, PAPER_A4});
}

static void courses_of_a_thick_wall(void **state)
{
    (void)state;
    check_text(&(FixtureAsk){30, 12, 17, 6, 9, BUILD_WALL, 3, 2, FACE_BANDS, PAPER_LETTER});
}

/* qpdf finds no fault in the file, fonts are embedded, the structure's root is one
 * document and figures have their texts. */
static void file_is_sound(void **state)
{
    (void)state;
    write_book(&small_plaque);
    int code;
    char *text = printed("qpdf --check %s 2>&1", &code);
    if (code || strstr(text, "WARNING")) fail_msg("%s", text);
    free(text);
    text = printed("pdffonts %s | tail -n +3", NULL);
    int fonts = 0;
    for (char *line = strtok(text, "\n"); line; line = strtok(NULL, "\n"), fonts++) {
        assert_non_null(strstr(line, "+DejaVuSansCondensed"));
        assert_non_null(strstr(line, "yes yes yes"));
    }
    assert_true(fonts >= 2);
    free(text);
    text = printed("pdfinfo %s", NULL);
    assert_non_null(strstr(text, "Build book: pattern.png"));
    squeeze_blanks(text);
    assert_non_null(strstr(text, "Tagged: yes"));
    free(text);
    text = printed("pdfinfo -struct %s 2>&1", NULL);
    assert_int_equal(strncmp(text, "Document", 8), 0);
    free(text);
    text = printed("qpdf --qdf %s - 2>&1 | tr -d '\\000'", NULL);
    assert_non_null(strstr(text, "/Lang (en)"));
    assert_non_null(strstr(text, "/DisplayDocTitle true"));
    int figures = 0, texts = 0;
    for (const char *s = text; (s = strstr(s, "/S /Figure")) != NULL; s++) figures++;
    for (const char *s = text; (s = strstr(s, "/Alt ")) != NULL; s++) texts++;
    assert_true(figures > 10);
    assert_int_equal(figures, texts);
    /* Each head says of what (14.8.5.7), each page its order of tabs, each link where it leads. */
    int heads = 0, scopes = 0, pages = 0, tabs = 0, links = 0, told = 0;
    for (const char *s = text; (s = strstr(s, "/S /TH\n")) != NULL; s++) heads++;
    for (const char *s = text; (s = strstr(s, "/Scope /")) != NULL; s++) scopes++;
    for (const char *s = text; (s = strstr(s, "/Type /Page\n")) != NULL; s++) pages++;
    for (const char *s = text; (s = strstr(s, "/Tabs /S\n")) != NULL; s++) tabs++;
    for (const char *s = text; (s = strstr(s, "/Subtype /Link")) != NULL; s++) links++;
    for (const char *s = text;
         (s = strstr(s, "/Contents <feff0054006800650020007000610067006500")) != NULL; s++)
        told++;
    assert_true(heads > 20 && pages > 4 && links == 6);
    assert_int_equal(heads, scopes);
    assert_int_equal(pages, tabs);
    assert_int_equal(links, told);
    assert_non_null(strstr(text, "/Scope /Column"));
    assert_non_null(strstr(text, "/Scope /Row"));
    free(text);
    text = printed("pdfinfo -meta %s", NULL);
    assert_non_null(
        strstr(text, "<rdf:li xml:lang=\"x-default\">Build book: pattern.png</rdf:li>"));
    free(text);
}

/* Each panel has one label, with its mass and the way it is lifted; the crates hold each panel
 * once, in the order of hanging, and no more of them than the job allows. Source: the panels. */
static void panels_are_labelled_and_packed(void **state)
{
    (void)state;
    fixture_init(&fixture, &small_plaque);
    assert_int_equal(book_write(&fixture.mural, path, NULL, NULL), STATUS_OK);
    const Panels *panels = &fixture.panels;
    char *text = printed("pdftotext -layout %s - | sed -n '/Labels for the panels/,$p'", NULL);
    squeeze_blanks(text);
    char line[200], list[400] = "1";
    int crates[16];
    for (int nth = 0; nth < panels->count; nth++) {
        const int panel = panels_hung(panels, nth);
        assert_non_null(strstr(text, panels->panel[panel].name));
        snprintf(line, sizeof line, "hung as %d of %d, in crate %d", nth + 1, panels->count,
                 nth / 3 + 1);
        assert_non_null(strstr(text, line));
        snprintf(line, sizeof line, "%.2f kg ±10 %%", fixture.load[panel].whole_kg);
        assert_non_null(strstr(text, line));
        crates[nth] = panel;
    }
    assert_non_null(strstr(text, "NIOSH 94-110"));
    const char *table = strstr(text, "packed, kg");
    assert_non_null(table);
    for (int nth = 0; nth < panels->count; nth++) {
        const size_t used = strlen(list);
        if (nth && nth % 3 == 0) {
            assert_non_null(table = strstr(table, list));
            snprintf(list, sizeof list, "%d %s", nth / 3 + 1, panels->panel[crates[nth]].name);
        } else {
            snprintf(list + used, sizeof list - used, "%s %s", nth % 3 ? "," : "",
                     panels->panel[crates[nth]].name);
        }
    }
    assert_non_null(strstr(table, list));
    free(text);
}

/* A crate too heavy for two panels holds one; one panel always goes in. */
static void crates_keep_their_mass(void **state)
{
    (void)state;
    fixture_init(&fixture, &small_plaque);
    fixture.job.crate_panels = 100;
    for (int heavy = 0; heavy < 2; heavy++) {
        fixture.job.crate_mass = heavy ? 0.01 : 13.0;
        int crates = 0;
        Crate crate;
        for (int from = 0; from < fixture.panels.count; from += crate.panels, crates++) {
            crate = crate_from(&fixture.mural, from);
            assert_int_equal(crate.first, from);
            assert_true(crate.panels == 1 || crate.packed_kg <= fixture.job.crate_mass);
            double kg = 0;
            for (int i = from; i < from + crate.panels; i++)
                kg += fixture.load[panels_hung(&fixture.panels, i)].mass_g / 1000;
            assert_true(crate.panels_kg > kg - 1e-9 && crate.panels_kg < kg + 1e-9);
            assert_true(crate.packed_kg > 1.1 * kg);
        }
        assert_true(heavy ? crates == fixture.panels.count : crates < fixture.panels.count);
    }
}

/* What a panel takes in the file does not grow with the number of panels: four times as many
 * panels side by side make a book of four times the bytes. */
static void books_grow_with_their_panels(void **state)
{
    (void)state;
    size_t length[2];
    for (int i = 0; i < 2; i++) {
        const int panels = i ? 800 : 200;
        write_book(&(FixtureAsk){panels, 1, 1, 1, 4, BUILD_PLAQUE, 1, 0, FACE_BANDS, PAPER_A4});
        free(file_bytes(&length[i]));
        end(NULL);
    }
    assert_true((double)length[1] < 4.3 * (double)length[0]);
}

/* ISO 216 A4 and US Letter (215.9 x 279.4 mm), landscape, in points. */
static void paper_is_as_asked(void **state)
{
    (void)state;
    FixtureAsk ask = {8, 8, 8, 8, 4, BUILD_PLAQUE, 1, 0, FACE_BANDS, PAPER_A4};
    write_book(&ask);
    char *text = printed("pdfinfo %s", NULL);
    squeeze_blanks(text);
    assert_non_null(strstr(text, "Page size: 841.89 x 595.276 pts (A4)"));
    /* Cover, reading, map, table, panel, chart, rows, photographs, labels, crates, parts, key. */
    assert_non_null(strstr(text, "Pages: 12 "));
    free(text);
    end(NULL);
    ask.paper = PAPER_LETTER;
    write_book(&ask);
    text = printed("pdfinfo %s", NULL);
    squeeze_blanks(text);
    assert_non_null(strstr(text, "Page size: 792 x 612 pts (letter)"));
    free(text);
}

static void same_bytes_everywhere(void **state)
{
    (void)state;
    size_t first_length, second_length;
    write_book(&small_plaque);
    char *first = file_bytes(&first_length);
    end(NULL);
    static const char *const locales[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "C.UTF-8"};
    for (int i = 0; i < 4 && !setlocale(LC_ALL, locales[i]); i++) continue;
    setenv("TZ", "Asia/Tokyo", 1);
    tzset();
    void *moved = malloc(12345);
    write_book(&small_plaque);
    free(moved);
    setlocale(LC_ALL, "C");
    unsetenv("TZ");
    tzset();
    char *second = file_bytes(&second_length);
    assert_int_equal(first_length, second_length);
    assert_memory_equal(first, second, first_length);
    free(first);
    free(second);
}

static void weak_places_are_listed(void **state)
{
    (void)state;
    fixture_init(&fixture, &small_plaque);
    fixture.bond.flaw = calloc(2, sizeof *fixture.bond.flaw);
    fixture.bond.flaws = 2;
    const Brick *b = &fixture.laid.brick[4];
    fixture.bond.flaw[0] = (Flaw){FLAW_WEAK, 0, 4, b->column, b->row, b->tier, 1, 0};
    fixture.bond.flaw[1] = (Flaw){FLAW_STRAIGHT_JOINT, 0, 4, b->column, b->row, 0, 3, 0};
    assert_int_equal(book_write(&fixture.mural, path, NULL, NULL), STATUS_OK);
    char *text = printed("pdftotext -layout %s -", NULL), line[200];
    squeeze_blanks(text);
    flaw_text(&fixture.bond.flaw[0], &fixture.mural.solid, &fixture.panels, line, sizeof line);
    assert_non_null(strstr(text, "Weak places"));
    char *words = strdup(line);
    words[strcspn(words, ";")] = '\0';
    assert_non_null(strstr(text, words));
    free(words);
    free(text);
}

/* Colours and names are data: brackets, quotes, characters that the typeface lacks. */
static void names_are_only_text(void **state)
{
    (void)state;
    fixture_init(&fixture,
                 &(FixtureAsk){12, 6, 12, 6, 3, BUILD_PLAQUE, 1, 0, FACE_BANDS, PAPER_A4});
    snprintf(fixture.palette.colour[0].id, 17, ")\\'(");
    snprintf(fixture.palette.colour[0].name, 121, "') Tj <<'\" \xf0\x9f\xa7\xb1 %%s %%n");
    snprintf(fixture.reference.file, sizeof fixture.reference.file, "a'b(c)\\d \xe6\xb8\xaf.png");
    Fault fault = {0};
    const Status status = book_write(&fixture.mural, path, NULL, &fault);
    if (status) fail_msg("%s", fault.text);
    int code;
    char *text = printed("qpdf --check %s 2>&1", &code);
    if (code) fail_msg("%s", text);
    free(text);
}

static bool stop_later(void *self) { return --*(int *)self < 0; }

/* Wherever it is: each question is answered with yes once. */
static void stops_when_told(void **state)
{
    (void)state;
    fixture_init(&fixture, &small_plaque);
    Status status = STATUS_INTERRUPTED;
    int stops = 0;
    for (; status; stops++) {
        int asked = stops;
        const Voice voice = {.self = &asked, .stopped = stop_later};
        Fault fault = {0};
        status = book_write(&fixture.mural, path, &voice, &fault);
        if (!status) break;
        assert_int_equal(status, STATUS_INTERRUPTED);
        assert_int_equal(access(path, F_OK), -1);
    }
    assert_true(stops > 6);
}

/* A full disk is played by a limit on the file's size. */
static void full_disk_is_a_fault(void **state)
{
    (void)state;
    fixture_init(&fixture, &small_plaque);
    struct rlimit before, small = {0};
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    small = before;
    signal(SIGXFSZ, SIG_IGN);
    size_t length = 0;
    assert_int_equal(book_write(&fixture.mural, path, NULL, NULL), STATUS_OK);
    free(file_bytes(&length));
    /* At the start, in the middle, and within the last amendment. */
    const rlim_t limits[] = {100, length / 2, length - 40};
    for (int i = 0; i < 3; i++) {
        Fault fault = {0};
        small.rlim_cur = limits[i];
        setrlimit(RLIMIT_FSIZE, &small);
        const Status status = book_write(&fixture.mural, path, NULL, &fault);
        setrlimit(RLIMIT_FSIZE, &before);
        assert_int_equal(status, STATUS_IO);
        assert_int_equal(access(path, F_OK), -1);
    }
    signal(SIGXFSZ, SIG_DFL);
}

static void missing_folder_is_a_fault(void **state)
{
    (void)state;
    Fault fault = {0};
    fixture_init(&fixture, &small_plaque);
    assert_int_equal(book_write(&fixture.mural, "/nowhere/book.pdf", NULL, &fault),
                     STATUS_NO_CREATE);
    assert_non_null(strstr(fault.text, "/nowhere/book.pdf: "));
}

/* Every allocation of the library's own fails once; nothing stays behind. */
static void each_allocation_may_fail(void **state)
{
    (void)state;
    fixture_init(&fixture, &(FixtureAsk){6, 4, 3, 4, 3, BUILD_PLAQUE, 1, 1, FACE_BANDS, PAPER_A4});
    memory_fail_after(1000000);
    assert_int_equal(book_write(&fixture.mural, path, NULL, NULL), STATUS_OK);
    const long count = 1000000 - memory_countdown();
    memory_fail_after(-1);
    assert_true(count > 20 && count < 1000);
    for (long i = 0; i < count; i++) {
        Fault fault = {0};
        remove(path);
        memory_fail_after(i);
        const Status status = book_write(&fixture.mural, path, NULL, &fault);
        memory_fail_after(-1);
        if (status != STATUS_NO_RESOURCE) fail_msg("allocation %ld gave %d", i, status);
        assert_int_equal(strncmp(fault.text, "memory: ", 8), 0);
        assert_int_equal(access(path, F_OK), -1);
    }
}

/* A catalogue grows with the pages: here one of 300 kB, in a file written by hand after
 * ISO 32000-1:2008, 7.5; qpdf reads it back. */
static void a_long_catalogue_is_amended(void **state)
{
    (void)state;
    fixture_init(&fixture, &(FixtureAsk){4, 4, 4, 4, 2, BUILD_PLAQUE, 1, 0, FACE_BANDS, PAPER_A4});
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    long at[4];
    fputs("%PDF-1.5\n", file);
    at[1] = ftell(file);
    fputs("1 0 obj\n<< /Title (Long) >>\nendobj\n", file);
    at[2] = ftell(file);
    fputs("2 0 obj\n<< /Type /Pages /Kids [] /Count 0 >>\nendobj\n", file);
    at[3] = ftell(file);
    fputs("3 0 obj\n<< /Type /Catalog /Pages 2 0 R\n   /PageLabels << /Nums [\n", file);
    for (int page = 0; page < 15000; page++) fprintf(file, "%d << /S /D >>\n", page);
    fputs("] >>\n>>\nendobj\n", file);
    const long table = ftell(file);
    fputs("xref\n0 4\n0000000000 65535 f \n", file);
    for (int i = 1; i < 4; i++) fprintf(file, "%010ld 00000 n \n", at[i]);
    fprintf(file,
            "trailer\n<< /Size 4\n   /Root 3 0 R\n   /Info 1 0 R\n>>\nstartxref\n%ld\n%%%%EOF\n",
            table);
    assert_int_equal(fclose(file), 0);
    Fault fault = {0};
    assert_int_equal(
        pdf_update(path, &(PdfUpdate){.language = "en", .title = "Long", .date = "2000-01-01"},
                   &fault),
        STATUS_OK);
    char line[400];
    snprintf(line, sizeof line,
             "qpdf --show-object=trailer '%s' | grep -q '/Root 3 0 R' && "
             "qpdf --show-object=3 '%s' | grep '/Lang (en)' | grep -q '14999 '",
             path, path);
    assert_int_equal(system(line), 0);
}

/* Files that are not as cairo 1.16 writes them are refused and left alone. */
static void amending_others_is_refused(void **state)
{
    (void)state;
    static const char *const others[] = {
        "",
        "not a file of pages",
        "%PDF-1.5\ntrailer\n<< /Size 3 >>\nstartxref\n9\n%%EOF\n",
        "%PDF-1.5\nxref\n0 1\ntrailer\n<< /Size 99999999 /Root 1 0 R /Info 2 0 R "
        ">>\nstartxref\n9\n",
        "%PDF-1.5\nxref\n0 3\n0000000000 65535 f \n0000000009 00000 n \n0000000009 00000 n \n"
        "trailer\n<< /Size 3 /Root 1 0 R /Info 2 0 R >>\nstartxref\n9\n%%EOF\n",
    };
    fixture_init(&fixture, &(FixtureAsk){4, 4, 4, 4, 2, BUILD_PLAQUE, 1, 0, FACE_BANDS, PAPER_A4});
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        FILE *file = fopen(path, "wb");
        fputs(others[i], file);
        fclose(file);
        Fault fault = {0};
        assert_int_equal(
            pdf_update(path, &(PdfUpdate){.language = "en", .title = "Long", .date = "2000-01-01"},
                       &fault),
            STATUS_INTERNAL);
        size_t length;
        char *bytes = file_bytes(&length);
        assert_string_equal(bytes, others[i]);
        free(bytes);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_teardown(rows_of_a_flat_plaque, end),
        cmocka_unit_test_teardown(rows_of_noise_on_letter, end),
        cmocka_unit_test_teardown(rows_of_a_relief, end),
        cmocka_unit_test_teardown(rows_of_a_thin_wall, end),
        cmocka_unit_test_teardown(courses_of_a_thick_wall, end),
        cmocka_unit_test_teardown(file_is_sound, end),
        cmocka_unit_test_teardown(panels_are_labelled_and_packed, end),
        cmocka_unit_test_teardown(crates_keep_their_mass, end),
        cmocka_unit_test(books_grow_with_their_panels),
        cmocka_unit_test_teardown(paper_is_as_asked, end),
        cmocka_unit_test_teardown(same_bytes_everywhere, end),
        cmocka_unit_test_teardown(weak_places_are_listed, end),
        cmocka_unit_test_teardown(names_are_only_text, end),
        cmocka_unit_test_teardown(stops_when_told, end),
        cmocka_unit_test_teardown(full_disk_is_a_fault, end),
        cmocka_unit_test_teardown(missing_folder_is_a_fault, end),
        cmocka_unit_test_teardown(each_allocation_may_fail, end),
        cmocka_unit_test_teardown(a_long_catalogue_is_amended, end),
        cmocka_unit_test_teardown(amending_others_is_refused, end),
    };
    return cmocka_run_group_tests(tests, make_folder, drop_folder);
}
