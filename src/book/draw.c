/* What is drawn goes to cairo as it comes, except that glyphs of one look, a type and an ink, wait
 * for each other and leave in one call. Text of another look, and all that is no text, sends them
 * off first, so the order on paper is the order of the calls. Only marks, none of which lies on
 * another, wait look by look: a chart has thousands, and each change of look takes cairo a dozen
 * numbers to write.
 *
 * The first failure sticks and is told at the end of the page or the file; a file that fails is
 * removed. Tags are closed in the reverse order of opening, whatever failed between. cairo and
 * FreeType may go on where they find no memory, and leave out what they had no room for; but malloc
 * leaves ENOMEM in errno then (POSIX.1-2017), which is looked for after what they were given to do.
 *
 * cairo 1.16 is the floor: tags, bookmarks and page labels are of that release. Sources: ISO
 * 32000-1, 14.8.4 (structure types), by cairo's manual; FreeType's manual for outlines and
 * advances. */
#include "book/draw.h"

#include "base/memory.h"
#include "base/output_file.h"
#include "base/written_png.h"
#include "book/pdf_update.h"
#include "book/pdf_verify.h"

#include <cairo-ft.h>
#include <cairo-pdf.h>
#include <cairo.h>

#include <assert.h>
#include <errno.h>
#include <ft2build.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include FT_FREETYPE_H
#include FT_ADVANCES_H
#include FT_BBOX_H

/* Of every file, so that the same plan has the same bytes. */
#define DATE "2000-01-01T00:00:00Z"

extern const unsigned char font_regular[], font_regular_end[], font_bold[], font_bold_end[];

enum {
    QUICK = 0x250,         /* code points whose glyphs are looked up once: Latin and its accents */
    GLYPHS_MOST = 1 << 14, /* of which the ink's extent is kept */
    TAGS_MOST = 16,        /* that may be open at once */
    LOOKS = 64             /* of glyphs that wait */
};

/* The ink of a glyph about its origin, em. */
typedef struct Extent {
    float left, right, low, high;
    int known;
} Extent;

/* A typeface, owned by its cairo font face: cairo keeps faces alive in caches, so
 * FreeType's part goes when cairo lets go. */
typedef struct Cut {
    FT_Library library;
    FT_Face face;
    cairo_font_face_t *cairo;
    uint32_t glyph[QUICK]; /* of the first characters; the others are looked up */
    double advance[QUICK]; /* em */
    Extent extent[GLYPHS_MOST];
} Cut;

/* Glyphs not yet given to cairo, all of one type and ink. */
typedef struct Look {
    Type type;
    Ink ink;
    cairo_glyph_t *glyph;
    size_t glyphs, capacity;
} Look;

/* Texts, owned. */
typedef struct Texts {
    char **text;
    size_t count, capacity;
} Texts;

struct Draw {
    FILE *file;
    char *path;
    bool picture;      /* a PNG, else pages */
    int written_badly; /* errno of the first failed write; nothing is written after it */
    bool ended;        /* the page; it is shown with what comes next */
    int shown, named;  /* pages, and the last that a bookmark leads to */
    const char *tag[TAGS_MOST];
    int tags;    /* that are open */
    long marked; /* glyphs given to cairo */
    cairo_surface_t *surface;
    cairo_t *cr;
    Cut *cut[2];
    Look look[LOOKS]; /* in the order in which they came; those beyond `looks` keep their room */
    int looks;
    char *title;
    Texts alternative, link; /* of figures and of links, in order */
    bool *column;            /* of each "TH": it is the head of a column */
    size_t heads, heads_capacity;
    Fault fault; /* the first failure of our own */
};

struct Raster {
    int columns, rows, stride;
    uint32_t *pixel;
    cairo_surface_t *surface;
};

/* Looks whether an allocation has failed since it was called last. */
static void watch_memory(Draw *draw)
{
    if (errno == ENOMEM && !draw->fault.status)
        fault_set(&draw->fault, STATUS_NO_RESOURCE, "%s: no room to draw it; free memory",
                  draw->path);
    errno = 0;
}

/* A failure is kept for draw_close to tell, and cairo is not told: its surface may abort the
 * program when it is finished after one. */
static cairo_status_t stream_bytes(void *closure, const unsigned char *bytes, unsigned length)
{
    Draw *draw = closure;
    watch_memory(draw);
    if (draw->written_badly) return CAIRO_STATUS_SUCCESS;
    if (fwrite(bytes, 1, length, draw->file) != length) draw->written_badly = errno ? errno : EIO;
    return CAIRO_STATUS_SUCCESS;
}

/* ---- faces ---- */

static void cut_free(void *data)
{
    Cut *cut = data;
    if (cut->face) FT_Done_Face(cut->face);
    if (cut->library) FT_Done_FreeType(cut->library);
    memory_free(cut);
}

static const cairo_user_data_key_t cut_key;

static int cut_load(Cut *cut, const unsigned char *begin, const unsigned char *end)
{
    if (FT_Init_FreeType(&cut->library)) return 0;
    if (FT_New_Memory_Face(cut->library, begin, (FT_Long)(end - begin), 0, &cut->face)) return 0;
    for (uint32_t c = 0; c < QUICK; c++) {
        FT_Fixed advance = 0;
        cut->glyph[c] = FT_Get_Char_Index(cut->face, c);
        FT_Get_Advance(cut->face, cut->glyph[c], FT_LOAD_NO_SCALE, &advance);
        cut->advance[c] = (double)advance / cut->face->units_per_EM;
    }
    cut->cairo = cairo_ft_font_face_create_for_ft_face(cut->face, FT_LOAD_NO_HINTING);
    return cairo_font_face_set_user_data(cut->cairo, &cut_key, cut, cut_free) ==
           CAIRO_STATUS_SUCCESS;
}

static Status cut_create(Cut **cut_out, const unsigned char *begin, const unsigned char *end,
                         Fault *fault)
{
    Cut *cut = memory_create(1, sizeof *cut);
    if (!cut) return memory_fault(fault, 1, sizeof *cut);
    if (!cut_load(cut, begin, end)) {
        if (cut->cairo) cairo_font_face_destroy(cut->cairo);
        cut_free(cut);
        return fault_set(fault, STATUS_NO_RESOURCE,
                         "book.pdf: the typeface cannot be opened; build the program again");
    }
    *cut_out = cut;
    return STATUS_OK;
}

static uint32_t next_character(const char **text)
{
    const unsigned char *s = (const unsigned char *)*text;
    const int more = *s < 0xc0 ? 0 : *s < 0xe0 ? 1 : *s < 0xf0 ? 2 : 3;
    uint32_t code = more ? *s & (0x3fu >> more) : *s;
    s++;
    for (int i = 0; i < more && (*s & 0xc0) == 0x80; i++) code = code << 6 | (*s++ & 0x3f);
    *text = (const char *)s;
    return code;
}

static uint32_t cut_glyph(const Cut *cut, uint32_t code, double *advance_out)
{
    if (code < QUICK) {
        *advance_out = cut->advance[code];
        return cut->glyph[code];
    }
    FT_Fixed advance = 0;
    const uint32_t glyph = FT_Get_Char_Index(cut->face, code);
    FT_Get_Advance(cut->face, glyph, FT_LOAD_NO_SCALE, &advance);
    *advance_out = (double)advance / cut->face->units_per_EM;
    return glyph;
}

/* ---- the document ---- */

static char *copy_text(const char *text)
{
    const size_t size = strlen(text) + 1;
    char *copy = memory_create(size, 1);
    if (copy) memcpy(copy, text, size);
    return copy;
}

/* The first failure is kept for draw_close to tell. */
static void texts_add(Draw *draw, Texts *texts, const char *text)
{
    Fault *first = draw->fault.status ? NULL : &draw->fault;
    if (memory_grow(&texts->text, &texts->capacity, texts->count + 1, sizeof *texts->text, first))
        return;
    char *copy = copy_text(text);
    if (copy)
        texts->text[texts->count++] = copy;
    else
        memory_fault(first, strlen(text) + 1, 1);
}

static void texts_clear(Texts *texts)
{
    for (size_t i = 0; i < texts->count; i++) memory_free(texts->text[i]);
    memory_free(texts->text);
}

static void open_pages(Draw *draw, double width_mm, double height_mm, const char *title)
{
    draw->surface = cairo_pdf_surface_create_for_stream(stream_bytes, draw, width_mm / POINT_MM,
                                                        height_mm / POINT_MM);
    /* From 1.5 on cairo 1.18 writes cross-reference streams, which pdf_update does not read. */
    cairo_pdf_surface_restrict_to_version(draw->surface, CAIRO_PDF_VERSION_1_4);
    cairo_pdf_surface_set_metadata(draw->surface, CAIRO_PDF_METADATA_TITLE, title);
    cairo_pdf_surface_set_metadata(draw->surface, CAIRO_PDF_METADATA_CREATOR, "rowlock");
    cairo_pdf_surface_set_metadata(draw->surface, CAIRO_PDF_METADATA_CREATE_DATE, DATE);
}

static void open_picture(Draw *draw, double width_mm, double height_mm, double dots_mm)
{
    draw->picture = true;
    draw->surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)ceil(width_mm * dots_mm - 1e-9),
                                   (int)ceil(height_mm * dots_mm - 1e-9));
}

/* User space is in millimetres. */
static Status open_context(Draw *draw, double dots_mm, Fault *fault)
{
    draw->cr = cairo_create(draw->surface);
    cairo_scale(draw->cr, dots_mm, dots_mm);
    if (draw->picture) {
        cairo_set_source_rgb(draw->cr, 1.0, 1.0, 1.0);
        cairo_paint(draw->cr);
    }
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_set_font_options(draw->cr, options);
    cairo_font_options_destroy(options);
    if (cairo_status(draw->cr))
        return fault_set(fault, STATUS_NO_RESOURCE, "%s: %s; free memory", draw->path,
                         cairo_status_to_string(cairo_status(draw->cr)));
    return STATUS_OK;
}

/* All but the surface. */
static Status draw_init(Draw *draw, const char *path, Fault *fault)
{
    Status status = STATUS_OK;
    errno = 0;
    draw->path = copy_text(path);
    if (!draw->path) status = memory_fault(fault, strlen(path) + 1, 1);
    if (!status) status = output_file_open(&draw->file, path, fault);
    if (!status) status = cut_create(&draw->cut[0], font_regular, font_regular_end, fault);
    if (!status) status = cut_create(&draw->cut[1], font_bold, font_bold_end, fault);
    return status;
}

Status draw_create(Draw **draw_out, const char *path, double width_mm, double height_mm,
                   const char *title, Fault *fault)
{
    Draw *draw = memory_create(1, sizeof *draw);
    if (!draw) return memory_fault(fault, 1, sizeof *draw);
    Status status = draw_init(draw, path, fault);
    if (!status && !(draw->title = copy_text(title)))
        status = memory_fault(fault, strlen(title) + 1, 1);
    if (!status) {
        open_pages(draw, width_mm, height_mm, title);
        status = open_context(draw, 1.0 / POINT_MM, fault);
    }
    if (status)
        draw_free(draw);
    else
        *draw_out = draw;
    return status;
}

Status draw_create_picture(Draw **draw_out, const char *path, double width_mm, double height_mm,
                           double dots_mm, Fault *fault)
{
    Draw *draw = memory_create(1, sizeof *draw);
    if (!draw) return memory_fault(fault, 1, sizeof *draw);
    Status status = draw_init(draw, path, fault);
    if (!status) {
        open_picture(draw, width_mm, height_mm, dots_mm);
        status = open_context(draw, dots_mm, fault);
    }
    if (status)
        draw_free(draw);
    else
        *draw_out = draw;
    return status;
}

/* A page that has ended is shown when the next begins or the file ends: tags that end between them
 * are of the page before, or cairo 1.18 would make a last page for them alone. */
static void show_ended(Draw *draw)
{
    if (draw->ended) cairo_show_page(draw->cr);
    draw->ended = false;
}

/* cairo 1.16 finishes also a file that is given up, and aborts the program if a tag is still open
 * then, or if a bookmark leads to a page that was never shown. So both are made good first. */
static void end_early(Draw *draw)
{
    if (!draw->written_badly) draw->written_badly = ECANCELED;
    while (draw->tags) cairo_tag_end(draw->cr, draw->tag[--draw->tags]);
    show_ended(draw);
    const int most = draw->named > draw->shown ? draw->named : draw->shown + 1;
    while (draw->shown++ < most) cairo_show_page(draw->cr);
}

void draw_free(Draw *draw)
{
    if (!draw) return;
    if (draw->file && draw->cr) end_early(draw);
    /* cairo 1.16 never frees the label of a page that was never shown; this frees it. */
    if (draw->surface) cairo_pdf_surface_set_page_label(draw->surface, NULL);
    if (draw->cr) cairo_destroy(draw->cr);
    if (draw->surface) cairo_surface_destroy(draw->surface);
    for (int i = 0; i < 2; i++)
        if (draw->cut[i]) cairo_font_face_destroy(draw->cut[i]->cairo);
    if (draw->file) {
        fclose(draw->file);
        remove(draw->path);
    }
    texts_clear(&draw->alternative);
    texts_clear(&draw->link);
    memory_free(draw->column);
    memory_free(draw->title);
    for (int i = 0; i < LOOKS; i++) memory_free(draw->look[i].glyph);
    memory_free(draw->path);
    memory_free(draw);
}

static Status cairo_failure(const Draw *draw, cairo_status_t status, Fault *fault)
{
    return fault_set(fault, status == CAIRO_STATUS_NO_MEMORY ? STATUS_NO_RESOURCE : STATUS_INTERNAL,
                     "%s: %s; free memory, or plan smaller panels", draw->path,
                     cairo_status_to_string(status));
}

static Status failure(Draw *draw, Fault *fault)
{
    watch_memory(draw);
    if (draw->fault.status) return fault_set(fault, draw->fault.status, "%s", draw->fault.text);
    if (draw->written_badly) return output_file_fault(draw->path, draw->written_badly, fault);
    cairo_status_t status = cairo_status(draw->cr);
    if (!status) status = cairo_surface_status(draw->surface);
    return status ? cairo_failure(draw, status, fault) : STATUS_OK;
}

static void show_look(Draw *draw, Look *look)
{
    const double size = look->type.size * POINT_MM;
    cairo_matrix_t matrix;
    cairo_matrix_init_scale(&matrix, size * look->type.squeeze, size);
    cairo_set_font_face(draw->cr, draw->cut[look->type.weight]->cairo);
    cairo_set_font_matrix(draw->cr, &matrix);
    cairo_set_source_rgb(draw->cr, look->ink.r, look->ink.g, look->ink.b);
    cairo_show_glyphs(draw->cr, look->glyph, (int)look->glyphs);
    draw->marked += (long)look->glyphs;
    look->glyphs = 0;
}

static void flush(Draw *draw)
{
    show_ended(draw);
    if (!draw->looks) return;
    for (int i = 0; i < draw->looks; i++) show_look(draw, &draw->look[i]);
    draw->looks = 0;
    watch_memory(draw);
}

/* What the file lacks yet, and whether it is whole. */
static Status end_pages(const Draw *draw, Fault *fault)
{
    const PdfUpdate amendment = {.language = "en",
                                 .title = draw->title,
                                 .date = DATE,
                                 .alternative = draw->alternative.text,
                                 .alternatives = draw->alternative.count,
                                 .link = draw->link.text,
                                 .links = draw->link.count,
                                 .column = draw->column,
                                 .heads = draw->heads};
    const PdfDrawn drawn = {draw->shown, draw->marked};
    const Status status = pdf_update(draw->path, &amendment, fault);
    return status ? status : pdf_verify(draw->path, &drawn, fault);
}

Status draw_close(Draw *draw, Fault *fault)
{
    flush(draw);
    Status status = failure(draw, fault);
    if (status) return status;
    cairo_status_t painted = CAIRO_STATUS_SUCCESS;
    if (draw->picture)
        painted = cairo_surface_write_to_png_stream(draw->surface, stream_bytes, draw);
    cairo_surface_finish(draw->surface);
    status = failure(draw, fault);
    if (!status && painted) status = cairo_failure(draw, painted, fault);
    if (status) return status;
    status = output_file_close(draw->file, draw->path, fault);
    draw->file = NULL;
    if (!status)
        status = draw->picture ? written_png_check(draw->path, fault) : end_pages(draw, fault);
    if (status) remove(draw->path);
    return status;
}

Status draw_page_end(Draw *draw, Fault *fault)
{
    flush(draw);
    draw->ended = !draw->picture;
    draw->shown++;
    return failure(draw, fault);
}

void draw_page_size(Draw *draw, double width_mm, double height_mm)
{
    show_ended(draw);
    if (!draw->picture)
        cairo_pdf_surface_set_size(draw->surface, width_mm / POINT_MM, height_mm / POINT_MM);
}

void draw_page_label(Draw *draw, const char *label)
{
    show_ended(draw);
    if (!draw->picture) cairo_pdf_surface_set_page_label(draw->surface, label);
}

/* ---- paths ---- */

void draw_rect(Draw *draw, double x, double y, double width, double height)
{
    flush(draw);
    cairo_rectangle(draw->cr, x, y, width, height);
}

void draw_line(Draw *draw, double x0, double y0, double x1, double y1)
{
    flush(draw);
    cairo_move_to(draw->cr, x0, y0);
    cairo_line_to(draw->cr, x1, y1);
}

void draw_line_on(Draw *draw, double x, double y) { cairo_line_to(draw->cr, x, y); }

void draw_close_line(Draw *draw) { cairo_close_path(draw->cr); }

void draw_circle(Draw *draw, double x, double y, double radius)
{
    flush(draw);
    cairo_new_sub_path(draw->cr);
    cairo_arc(draw->cr, x, y, radius, 0.0, 2.0 * M_PI);
    cairo_close_path(draw->cr);
}

void draw_fill(Draw *draw, Ink ink)
{
    cairo_set_source_rgb(draw->cr, ink.r, ink.g, ink.b);
    cairo_fill(draw->cr);
}

void draw_stroke(Draw *draw, Ink ink, double width)
{
    cairo_set_source_rgb(draw->cr, ink.r, ink.g, ink.b);
    cairo_set_line_width(draw->cr, width);
    cairo_stroke(draw->cr);
}

void draw_fill_and_stroke(Draw *draw, Ink fill, Ink stroke, double width)
{
    cairo_set_source_rgb(draw->cr, fill.r, fill.g, fill.b);
    cairo_fill_preserve(draw->cr);
    draw_stroke(draw, stroke, width);
}

void draw_stroke_dashed(Draw *draw, Ink ink, double width, double dash)
{
    cairo_set_dash(draw->cr, &dash, 1, 0.0);
    draw_stroke(draw, ink, width);
    cairo_set_dash(draw->cr, NULL, 0, 0.0);
}

/* ---- text ---- */

static bool same_look(const Look *look, Type t, Ink i)
{
    return look->type.weight == t.weight && look->type.size == t.size &&
           look->type.squeeze == t.squeeze && look->ink.r == i.r && look->ink.g == i.g &&
           look->ink.b == i.b;
}

/* Where glyphs of a look wait, if there are any. */
static Look *find_look(Draw *draw, Type type, Ink ink)
{
    for (int i = 0; i < draw->looks; i++)
        if (same_look(&draw->look[i], type, ink)) return &draw->look[i];
    return NULL;
}

static Look *add_look(Draw *draw, Type type, Ink ink)
{
    if (draw->looks == LOOKS) flush(draw);
    Look *look = &draw->look[draw->looks++];
    look->type = type;
    look->ink = ink;
    return look;
}

/* Glyphs that wait in a look. */
static void set_text(Draw *draw, Look *look, double x, double y, const char *text)
{
    const size_t need = look->glyphs + strlen(text);
    Fault *first = draw->fault.status ? NULL : &draw->fault;
    if (memory_grow(&look->glyph, &look->capacity, need, sizeof *look->glyph, first)) return;
    const Cut *cut = draw->cut[look->type.weight];
    const double em = look->type.size * POINT_MM * look->type.squeeze;
    while (*text) {
        double advance;
        const uint32_t glyph = cut_glyph(cut, next_character(&text), &advance);
        look->glyph[look->glyphs++] = (cairo_glyph_t){glyph, x, y};
        x += advance * em;
    }
}

void draw_text(Draw *draw, Type type, Ink ink, double x, double y, const char *text)
{
    if (draw->looks != 1 || !same_look(&draw->look[0], type, ink)) flush(draw);
    Look *look = draw->looks ? &draw->look[0] : add_look(draw, type, ink);
    set_text(draw, look, x, y, text);
}

double draw_text_width(const Draw *draw, Type type, const char *text)
{
    double width = 0.0;
    while (*text) {
        double advance;
        cut_glyph(draw->cut[type.weight], next_character(&text), &advance);
        width += advance;
    }
    return width * type.size * POINT_MM * type.squeeze;
}

void draw_text_right(Draw *draw, Type type, Ink ink, double x, double y, const char *text)
{
    draw_text(draw, type, ink, x - draw_text_width(draw, type, text), y, text);
}

void draw_text_centre(Draw *draw, Type type, Ink ink, double x, double y, const char *text)
{
    draw_text(draw, type, ink, x - 0.5 * draw_text_width(draw, type, text), y, text);
}

/* Read once a glyph: charts ask for the same few a hundred thousand times. */
static Extent cut_extent(Cut *cut, uint32_t glyph)
{
    Extent e = glyph < GLYPHS_MOST ? cut->extent[glyph] : (Extent){0};
    if (e.known) return e;
    FT_BBox box;
    e.known = 1;
    if (!FT_Load_Glyph(cut->face, glyph, FT_LOAD_NO_SCALE) &&
        !FT_Outline_Get_BBox(&cut->face->glyph->outline, &box)) {
        const float unit = cut->face->units_per_EM;
        e.left = (float)box.xMin / unit;
        e.right = (float)box.xMax / unit;
        e.low = (float)box.yMin / unit;
        e.high = (float)box.yMax / unit;
    }
    if (glyph < GLYPHS_MOST) cut->extent[glyph] = e;
    return e;
}

void draw_mark(Draw *draw, Type type, Ink ink, double x, double y, const char *text)
{
    Cut *cut = draw->cut[type.weight];
    double low = 1e9, high = -1e9, left = 1e9, right = -1e9, pen = 0.0;
    for (const char *s = text; *s;) {
        double advance;
        const Extent e = cut_extent(cut, cut_glyph(cut, next_character(&s), &advance));
        low = fmin(low, (double)e.low);
        high = fmax(high, (double)e.high);
        left = fmin(left, pen + (double)e.left);
        right = fmax(right, pen + (double)e.right);
        pen += advance;
    }
    if (right <= left) return;
    const double em = type.size * POINT_MM;
    Look *look = find_look(draw, type, ink);
    if (!look) look = add_look(draw, type, ink);
    set_text(draw, look, x - 0.5 * (left + right) * em * type.squeeze, y + 0.5 * (low + high) * em,
             text);
}

/* ---- pictures ---- */

Status raster_create(Raster **raster_out, int columns, int rows, Fault *fault)
{
    Raster *raster = memory_create(1, sizeof *raster);
    if (!raster) return memory_fault(fault, 1, sizeof *raster);
    raster->columns = columns;
    raster->rows = rows;
    raster->stride = cairo_format_stride_for_width(CAIRO_FORMAT_RGB24, columns);
    raster->pixel = memory_create((size_t)rows, (size_t)raster->stride);
    if (!raster->pixel) {
        const size_t stride = (size_t)raster->stride;
        memory_free(raster);
        return memory_fault(fault, (size_t)rows, stride);
    }
    raster->surface = cairo_image_surface_create_for_data(
        (unsigned char *)raster->pixel, CAIRO_FORMAT_RGB24, columns, rows, raster->stride);
    if (cairo_surface_status(raster->surface)) {
        raster_free(raster);
        return fault_set(fault, STATUS_NO_RESOURCE, "book.pdf: no room for a picture; free memory");
    }
    *raster_out = raster;
    return STATUS_OK;
}

void raster_set(Raster *raster, int column, int row, const uint8_t rgb[3])
{
    raster->pixel[(size_t)row * ((size_t)raster->stride / 4) + (size_t)column] =
        (uint32_t)rgb[0] << 16 | (uint32_t)rgb[1] << 8 | rgb[2];
}

void raster_free(Raster *raster)
{
    if (!raster) return;
    /* Finishing first lets pages that still need the pixels take a copy. */
    cairo_surface_finish(raster->surface);
    cairo_surface_destroy(raster->surface);
    memory_free(raster->pixel);
    memory_free(raster);
}

void draw_raster(Draw *draw, const Raster *raster, double x, double y, double width, double height)
{
    flush(draw);
    cairo_save(draw->cr);
    cairo_translate(draw->cr, x, y);
    cairo_scale(draw->cr, width / raster->columns, height / raster->rows);
    cairo_set_source_surface(draw->cr, raster->surface, 0.0, 0.0);
    cairo_pattern_set_filter(cairo_get_source(draw->cr), CAIRO_FILTER_NEAREST);
    cairo_rectangle(draw->cr, 0.0, 0.0, raster->columns, raster->rows);
    cairo_fill(draw->cr);
    cairo_restore(draw->cr);
}

/* ---- structure ---- */

static void begin_tag(Draw *draw, const char *name)
{
    flush(draw);
    assert(draw->tags < TAGS_MOST);
    draw->tag[draw->tags++] = name;
    cairo_tag_begin(draw->cr, name, NULL);
}

static void begin_head(Draw *draw, bool column)
{
    Fault *first = draw->fault.status ? NULL : &draw->fault;
    begin_tag(draw, "TH");
    if (memory_grow(&draw->column, &draw->heads_capacity, draw->heads + 1, sizeof *draw->column,
                    first))
        return;
    draw->column[draw->heads++] = column;
}

void draw_tag(Draw *draw, const char *name)
{
    if (strcmp(name, "TH"))
        begin_tag(draw, name);
    else
        begin_head(draw, false);
}

void draw_column_head(Draw *draw) { begin_head(draw, true); }

void draw_tag_end(Draw *draw, const char *name)
{
    if (draw->looks || !draw->ended) flush(draw);
    while (draw->tags) {
        const char *inner = draw->tag[--draw->tags];
        cairo_tag_end(draw->cr, inner);
        if (!strcmp(inner, name)) return;
    }
}

void draw_figure(Draw *draw, const char *alternative)
{
    draw_tag(draw, "Figure");
    texts_add(draw, &draw->alternative, alternative);
}

int draw_bookmark(Draw *draw, int parent, int page, const char *text)
{
    char where[64];
    if (draw->named < page) draw->named = page;
    snprintf(where, sizeof where, "page=%d pos=[0 0]", page);
    return cairo_pdf_surface_add_outline(draw->surface, parent, text, where, 0);
}

void draw_target(Draw *draw, const char *target)
{
    char attributes[96];
    flush(draw);
    snprintf(attributes, sizeof attributes, "name='%s'", target);
    cairo_tag_begin(draw->cr, CAIRO_TAG_DEST, attributes);
    cairo_tag_end(draw->cr, CAIRO_TAG_DEST);
}

/* In whole points: a locale could put a comma into any other number. */
static void link_box(Draw *draw, const double at[4], const char *where, const char *what)
{
    char attributes[256];
    flush(draw);
    double box[4] = {at[0], at[1], at[2], at[3]};
    cairo_user_to_device(draw->cr, &box[0], &box[1]);
    cairo_user_to_device_distance(draw->cr, &box[2], &box[3]);
    snprintf(attributes, sizeof attributes, "rect=[%ld %ld %ld %ld] %s", lround(box[0]),
             lround(box[1]), lround(box[2]), lround(box[3]), where);
    cairo_tag_begin(draw->cr, CAIRO_TAG_LINK, attributes);
    cairo_tag_end(draw->cr, CAIRO_TAG_LINK);
    texts_add(draw, &draw->link, what);
}

void draw_link(Draw *draw, const double box[4], const char *target, const char *what)
{
    char where[128];
    snprintf(where, sizeof where, "dest='%s'", target);
    link_box(draw, box, where, what);
}

void draw_link_file(Draw *draw, const double box[4], const char *file, const char *what)
{
    char where[128];
    snprintf(where, sizeof where, "uri='%s'", file);
    link_box(draw, box, where, what);
}
