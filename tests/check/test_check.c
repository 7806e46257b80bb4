/* check_run on plan folders written here by hand, without any of the product's writers:
 * a flat plaque of two panels, a wall of thickness 2 and a raised plaque, whose counts,
 * sums, joints and weak bricks were worked out on paper; then each promise broken in
 * turn. Random walls and plaques are held against brute force (a brick is taken away
 * and the pieces are counted). Digests come from nettle, PNG from libpng directly. */
#include "base/memory.h"
#include "check/check.h"
#include "support/chance.h"
#include "support/scratch.h"

#include <nettle/sha2.h>
#include <png.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

enum { OUTPUTS_MOST = 16, LINES_MOST = 400, LINE_MOST = 600 };

typedef struct File {
    char name[24];
    char *bytes;
    size_t length;
} File;

typedef struct Folder {
    char path[SCRATCH_MOST];
    int files;
    File file[OUTPUTS_MOST];
    char *plan; /* plan.json up to its files */
} Folder;

typedef struct Heard {
    int lines;
    char line[LINES_MOST][LINE_MOST];
} Heard;

/* ---- a folder in memory and on disk ---- */

static char *copy_of(const void *bytes, size_t length)
{
    char *copy = malloc(length + 1);
    assert_non_null(copy);
    memcpy(copy, bytes, length);
    copy[length] = '\0';
    return copy;
}

static File *file_named(Folder *f, const char *name)
{
    for (int i = 0; i < f->files; i++)
        if (strcmp(f->file[i].name, name) == 0) return &f->file[i];
    return NULL;
}

static void put(Folder *f, const char *name, const void *bytes, size_t length)
{
    File *file = file_named(f, name);
    if (!file) {
        assert_true(f->files < OUTPUTS_MOST);
        file = &f->file[f->files++];
        snprintf(file->name, sizeof file->name, "%s", name);
    } else {
        free(file->bytes);
    }
    file->bytes = copy_of(bytes, length);
    file->length = length;
}

static void put_text(Folder *f, const char *name, const char *text)
{
    put(f, name, text, strlen(text));
}

typedef struct Sink {
    char *bytes;
    size_t length, room;
} Sink;

static void sink_write(png_structp png, png_bytep bytes, size_t length)
{
    Sink *sink = png_get_io_ptr(png);
    if (sink->length + length > sink->room) {
        sink->room = 2 * (sink->length + length);
        sink->bytes = realloc(sink->bytes, sink->room);
    }
    memcpy(sink->bytes + sink->length, bytes, length);
    sink->length += length;
}

static void sink_flush(png_structp png) { (void)png; }

/* 8-bit, indexed if there are colours, else grey; top row first. */
static void put_png(Folder *f, const char *name, int width, int height, const uint8_t *sample,
                    int colours, const png_color *colour)
{
    Sink sink = {0};
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    if (setjmp(png_jmpbuf(png))) fail_msg("libpng cannot write %s", name);
    png_set_write_fn(png, &sink, sink_write, sink_flush);
    png_set_IHDR(png, info, (png_uint_32)width, (png_uint_32)height, 8,
                 colours ? PNG_COLOR_TYPE_PALETTE : PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE,
                 PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    if (colours) png_set_PLTE(png, info, colour, colours);
    png_set_check_for_invalid_index(png, 0);
    png_write_info(png, info);
    for (int y = 0; y < height; y++) png_write_row(png, sample + (size_t)y * (size_t)width);
    png_write_end(png, NULL);
    png_destroy_write_struct(&png, &info);
    put(f, name, sink.bytes, sink.length);
    free(sink.bytes);
}

static void digest(const File *file, char text[65])
{
    struct sha256_ctx context;
    uint8_t sum[32];
    sha256_init(&context);
    sha256_update(&context, file->length, (const uint8_t *)file->bytes);
    sha256_digest(&context, sizeof sum, sum);
    for (int i = 0; i < 32; i++) snprintf(text + 2 * i, 3, "%02x", sum[i]);
}

static void write_file(const Folder *f, const char *name, const void *bytes, size_t length)
{
    char path[128];
    snprintf(path, sizeof path, "%s/%s", f->path, name);
    FILE *out = fopen(path, "wb");
    assert_non_null(out);
    assert_int_equal(fwrite(bytes, 1, length, out), length);
    assert_int_equal(fclose(out), 0);
}

/* plan.json with the list of files at its end. */
static char *plan_text(const Folder *f)
{
    size_t room = strlen(f->plan) + 128 * OUTPUTS_MOST + 64, at = 0;
    char *text = malloc(room);
    assert_non_null(text);
    at += (size_t)snprintf(text, room, "%s, \"files\": {", f->plan);
    for (int i = 0; i < f->files; i++) {
        char sum[65];
        digest(&f->file[i], sum);
        at += (size_t)snprintf(text + at, room - at, "%s\"%s\": \"%s\"", i ? ", " : "",
                               f->file[i].name, sum);
    }
    snprintf(text + at, room - at, "}}\n");
    return text;
}

static char *replaced(const char *text, const char *old, const char *new)
{
    const char *at = strstr(text, old);
    if (!at) fail_msg("nothing to replace: %s", old);
    const size_t before = (size_t)(at - text), room = strlen(text) + strlen(new) + 1;
    char *out = malloc(room);
    assert_non_null(out);
    snprintf(out, room, "%.*s%s%s", (int)before, text, new, at + strlen(old));
    return out;
}

/* Writes the folder; in plan.json, digests and all, `old` becomes `new`. */
static void write_folder(Folder *f, const char *old, const char *new)
{
    assert_true(scratch_folder(f->path));
    for (int i = 0; i < f->files; i++)
        write_file(f, f->file[i].name, f->file[i].bytes, f->file[i].length);
    char *plan = plan_text(f);
    if (old) {
        char *changed = replaced(plan, old, new);
        free(plan);
        plan = changed;
    }
    write_file(f, "plan.json", plan, strlen(plan));
    free(plan);
}

static void remove_file(const Folder *f, const char *name)
{
    char path[128];
    snprintf(path, sizeof path, "%s/%s", f->path, name);
    unlink(path);
}

static void remove_folder(const Folder *f)
{
    for (int i = 0; i < f->files; i++) remove_file(f, f->file[i].name);
    remove_file(f, "plan.json");
    remove_file(f, "book.html");
    remove_file(f, "notes.txt");
    rmdir(f->path);
}

static void free_folder(Folder *f)
{
    for (int i = 0; i < f->files; i++) free(f->file[i].bytes);
    free(f->plan);
    *f = (Folder){0};
}

static void hear(void *self, const char *line)
{
    Heard *heard = self;
    assert_null(strchr(line, '\n'));
    assert_true(heard->lines < LINES_MOST);
    snprintf(heard->line[heard->lines++], LINE_MOST, "%s", line);
}

static Status run(const Folder *f, Heard *heard, Fault *fault)
{
    heard->lines = 0;
    *fault = (Fault){0};
    return check_run(f->path, NULL, hear, heard, fault);
}

static int says(const Heard *heard, const char *text)
{
    int n = 0;
    for (int i = 0; i < heard->lines; i++) n += strstr(heard->line[i], text) != NULL;
    return n;
}

static void print(const Heard *heard, const Fault *fault)
{
    for (int i = 0; i < heard->lines; i++) print_message("  %s\n", heard->line[i]);
    print_message("  fault: %s\n", fault->text);
}

/* A relief.glb whose boxes are the lines of the folder's bricks.csv: glTF 2.0 binary by its
 * specification, a mesh a brick, of cells and tiers of these sizes. */
static void put_model(Folder *f, const double unit_mm[3])
{
    enum { ROOM = 1 << 18 };
    char *json = malloc(ROOM), *meshes = malloc(ROOM), *nodes = malloc(ROOM), *list = malloc(ROOM);
    char *corners = malloc(ROOM), *glb = malloc(2 * ROOM);
    size_t m = 0, n = 0, l = 0, a = 0, bricks = 0;
    char *accessors = malloc(ROOM);
    const char *line = strchr(file_named(f, "bricks.csv")->bytes, '\n') + 1;
    for (; *line; line = strchr(line, '\n') + 1, bricks++) {
        int at[3], by[3];
        char size[16], shade[16];
        assert_int_equal(sscanf(line, "%*[^,],%d,%d,%d,%d,%d,%d,%15[^,],%15[^,]", &at[0], &at[1],
                                &at[2], &by[0], &by[1], &by[2], size, shade),
                         8);
        for (int c = 0; c < 8; c++)
            for (int axis = 0; axis < 3; axis++) {
                const int side = c >> axis & 1;
                const float v =
                    (float)((at[axis] - 1 + (side ? by[axis] : 0)) * unit_mm[axis] / 1000);
                memcpy(corners + ((bricks * 8 + (size_t)c) * 3 + (size_t)axis) * 4, &v, 4);
            }
        const char *comma = bricks ? "," : "";
        m += (size_t)snprintf(
            meshes + m, ROOM - m,
            "%s{\"primitives\":[{\"attributes\":{\"POSITION\":%zu},\"indices\":0}],"
            "\"extras\":{\"size\":\"%s\",\"colour\":\"%s\",\"bricks\":1}}",
            comma, bricks + 1, size, shade);
        n += (size_t)snprintf(nodes + n, ROOM - n, "%s{\"mesh\":%zu}", comma, bricks);
        l += (size_t)snprintf(list + l, ROOM - l, "%s%zu", comma, bricks);
        a += (size_t)snprintf(accessors + a, ROOM - a,
                              ",{\"bufferView\":0,\"byteOffset\":%zu,\"componentType\":5126,"
                              "\"count\":8,\"type\":\"VEC3\"}",
                              bricks * 96);
    }
    int length = snprintf(
        json, ROOM,
        "{\"asset\":{\"version\":\"2.0\"},\"scene\":0,\"scenes\":[{\"nodes\":[%s]}],"
        "\"nodes\":[%s],\"meshes\":[%s],\"accessors\":[{\"bufferView\":1,\"componentType\":5123,"
        "\"count\":36,\"type\":\"SCALAR\"}%s],\"bufferViews\":[{\"buffer\":0,\"byteLength\":%zu}]}",
        list, nodes, meshes, accessors, bricks * 96);
    assert_in_range(length, 1, ROOM - 5);
    while (length % 4) json[length++] = ' ';
    const uint32_t whole = (uint32_t)length, binary = (uint32_t)(bricks * 96);
    const uint32_t head[] = {0x46546c67, 2, 28 + whole + binary, whole, 0x4e4f534a};
    const uint32_t chunk[] = {binary, 0x004e4942};
    memcpy(glb, head, 20);
    memcpy(glb + 20, json, whole);
    memcpy(glb + 20 + whole, chunk, 8);
    memcpy(glb + 28 + whole, corners, binary);
    put(f, "relief.glb", glb, 28 + whole + binary);
    char *const all[] = {json, meshes, nodes, list, corners, glb, accessors};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) free(all[i]);
}

/* ---- the three plans ---- */

/* sRGB black, white and red; their Lab at D50 is published (methods: red 54.29, 80.80,
 * 69.89 by Bradford from IEC 61966-2-1). */
static const png_color colour[3] = {{0, 0, 0}, {255, 255, 255}, {255, 0, 0}};
#define COLOURS                                                                                    \
    "\"colours\": [{\"id\": \"K\", \"name\": \"Black\", \"lab\": [0, 0, 0], \"hex\": "             \
    "\"#000000\"},"                                                                                \
    "{\"id\": \"W\", \"name\": \"White, plain\", \"lab\": [100, 0, 0], \"hex\": \"#ffffff\"},"     \
    "{\"id\": \"R\", \"name\": \"Red\", \"lab\": [54.29, 80.80, 69.89], \"hex\": \"#ff0000\"}]"
#define HEAD                                                                                       \
    "{\"format\": \"rowlock-plan\", \"version\": 1, \"cautions\": [], " COLOURS                    \
    ", \"reference\": {\"file\": \"a.png\", \"sha256\": "                                          \
    "\"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855\", \"width\": 60, "        \
    "\"height\": 40, \"profile\": \"sRGB\"}, "
#define DE                                                                                         \
    "\"mean_de00\": 0.5, \"p95_de00\": 1, \"max_de00\": 2.5, \"perceived_de00\": 0.25, "           \
    "\"unrest_1\": 0.5, \"unrest_2\": 0.5, \"unrest_3\": 0.5, \"unrest_4\": 0.5, "
#define BRICKS "panel,column,row,tier,columns,rows,tiers,size,colour,shown\n"
#define ROWS "panel,row,tier,nth,column,size,colour\n"
#define PARTS "colour,name,size,count,spare,order,in_stock,to_buy,price,mass_g\n"
#define PANELS                                                                                     \
    "panel,column,row,columns,rows,width_mm,height_mm,depth_mm,bricks,mass_kg,joined,"             \
    "longest_straight_joint"

/* Files whose content is no matter. */
static void put_pictures(Folder *f)
{
    static const uint8_t grey[4] = {0, 80, 160, 240};
    put_png(f, "preview.png", 2, 2, grey, 0, NULL);
    put_png(f, "distance.png", 2, 2, grey, 0, NULL);
    put(f, "proof.jpg", "\xff\xd8\xff\xe0....\xff\xd9", 10);
    put_text(f, "book.pdf", "%PDF-1.7\n...\n%%EOF\n");
}

/* A page as src/book/page.h tells the format, of bricks whose numbers were written down by hand:
 * kind, colour and step of place for each. */
#define PAGE_HEAD                                                                                  \
    "{\"build\": \"plaque\", \"columns\": 6, \"rows\": 4, \"base\": 1, \"depth\": 1, \"bricks\": " \
    "8, "                                                                                          \
    "\"colours\": [[\"K\", \"Black\", \"#000000\"], [\"W\", \"White, plain\", \"#ffffff\"], "      \
    "[\"R\", \"Red\", \"#ff0000\"]], \"sizes\": [[\"1x2\", 1, 2], [\"1x3\", 1, 3], [\"2x2\", 2, "  \
    "2]], "                                                                                        \
    "\"panels\": [[\"r1c1\", 0, 0, 3, 4, 4, 1], [\"r1c2\", 3, 0, 3, 4, 4, 2]]}"
static void put_page(Folder *f)
{
    static const uint8_t brick[] = {10, 1, 0, 18, 0, 3, 6,  1, 2, 10, 1, 4,
                                    10, 1, 0, 6,  1, 3, 18, 2, 1, 10, 1, 5};
    char page[2000], text[65];
    uint8_t sum[32];
    struct sha256_ctx context;
    sha256_init(&context);
    sha256_update(&context, strlen(PAGE_HEAD), (const uint8_t *)PAGE_HEAD);
    sha256_update(&context, sizeof brick, brick);
    sha256_digest(&context, sizeof sum, sum);
    for (int i = 0; i < 32; i++) snprintf(text + 2 * i, 3, "%02x", sum[i]);
    snprintf(page, sizeof page,
             "<!DOCTYPE html>\n<script type=\"application/json\" id=\"head\">" PAGE_HEAD
             "</script>\n<script type=\"text/plain\" id=\"bricks\" data-digest=\"%s\">\n"
             "CgEAEgADBgECCgEE\nCgEABgEDEgIBCgEF\n</script>\n",
             text);
    put_text(f, "book.html", page);
}

static void make_flat(Folder *f)
{
    static const uint8_t cells[] = {1, 1, 1, 1, 1, 1, /* row 4 */
                                    0, 0, 1, 1, 2, 2, /* row 3 */
                                    0, 0, 1, 1, 2, 2, /* row 2 */
                                    1, 1, 1, 1, 1, 1};
    *f = (Folder){0};
    static const char plan[] = HEAD
        "\"build\": \"plaque\", \"columns\": 6, \"rows\": 4, \"base\": 1, \"cell_mm\": [8, 8], "
        "\"step_mm\": 9.6, \"settings\": {\"pace\": \"200\"}, \"measures\": {\"cells\": 24, "
        "\"bricks\": 8, " DE "\"mass_kg\": 0.0094, \"price\": 1.20, \"hours\": 0.04, "
        "\"longest_straight_joint\": 2, \"pieces\": 2, \"unsupported\": 0}, \"panels\": ["
        "{\"name\": \"r1c1\", \"column\": 1, \"row\": 1, \"columns\": 3, \"rows\": 4}, "
        "{\"name\": \"r1c2\", \"column\": 4, \"row\": 1, \"columns\": 3, \"rows\": 4}]";
    f->plan = copy_of(plan, sizeof plan - 1);
    put_png(f, "cells.png", 6, 4, cells, 3, colour);
    put_text(f, "bricks.csv",
             BRICKS "r1c1,1,1,1,3,1,1,1x3,W,1\nr1c1,1,2,1,2,2,1,2x2,K,1\n"
                    "r1c1,3,2,1,1,2,1,1x2,W,1\nr1c1,1,4,1,3,1,1,1x3,W,1\n"
                    "r1c2,4,1,1,3,1,1,1x3,W,1\nr1c2,4,2,1,1,2,1,1x2,W,1\n"
                    "r1c2,5,2,1,2,2,1,2x2,R,1\nr1c2,4,4,1,3,1,1,1x3,W,1\n");
    put_text(f, "rows.csv",
             ROWS
             "r1c1,1,1,1,1,1x3,W\nr1c1,2,1,1,1,2x2,K\nr1c1,2,1,2,3,1x2,W\nr1c1,4,1,1,1,1x3,W\n"
             "r1c2,1,1,1,4,1x3,W\nr1c2,2,1,1,4,1x2,W\nr1c2,2,1,2,5,2x2,R\nr1c2,4,1,1,4,1x3,W\n");
    /* Masses of one brick: 1x2 0.8 g, 1x3 1.2 g, 2x2 1.5 g; CRLF and quotes are CSV too. */
    put_text(f, "parts.csv",
             PARTS
             "K,Black,2x2,1,1,2,5,0,0.20,1.50\r\nW,\"White, plain\",1x2,2,1,3,0,3,0.30,1.60\r\n"
             "W,\"White, plain\",1x3,4,1,5,2,3,0.50,4.80\r\nR,Red,2x2,1,1,2,0,2,0.20,1.50\r\n");
    put_text(f, "panels.csv",
             PANELS
             "\nr1c1,1,1,3,4,24,32,9.6,4,0.0047,1,2\nr1c2,4,1,3,4,24.0,32.0,9.6,4,0.0047,1,2\n");
    put_page(f);
    put_pictures(f);
}

/* A wall two thick: a course of a 1x6 behind a 1x4 and a 1x2; one of two headers, a
 * hidden 1x4, and single bricks before it; one like the first, turned. */
static void make_wall(Folder *f)
{
    static const uint8_t cells[] = {1, 1, 1, 1, 1, 1, 1, 1, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1};
    *f = (Folder){0};
    static const char plan[] = HEAD
        "\"build\": \"wall\", \"columns\": 6, \"rows\": 3, \"base\": 2, \"cell_mm\": [8, 9.6], "
        "\"step_mm\": 8, \"settings\": {\"pace\": 100}, \"measures\": {\"cells\": 18, "
        "\"bricks\": 12, " DE "\"mass_kg\": 0.0141, \"price\": 0, \"hours\": 0.12, "
        "\"longest_straight_joint\": 1, \"pieces\": 1, \"unsupported\": 0, \"weak\": 0}, "
        "\"panels\": [{\"name\": \"r1c1\", \"column\": 1, \"row\": 1, \"columns\": 6, \"rows\": "
        "3}]";
    f->plan = copy_of(plan, sizeof plan - 1);
    put_png(f, "cells.png", 6, 3, cells, 3, colour);
    put_text(f, "bricks.csv",
             BRICKS
             "r1c1,1,1,1,6,1,1,1x6,W,1\nr1c1,1,1,2,4,1,1,1x4,W,1\nr1c1,5,1,2,2,1,1,1x2,W,1\n"
             "r1c1,1,2,1,1,1,2,1x2,W,1\nr1c1,2,2,1,4,1,1,1x4,R,0\nr1c1,6,2,1,1,1,2,1x2,W,1\n"
             "r1c1,2,2,2,1,1,1,1x1,W,1\nr1c1,3,2,2,2,1,1,1x2,K,1\nr1c1,5,2,2,1,1,1,1x1,W,1\n"
             "r1c1,1,3,1,6,1,1,1x6,W,1\nr1c1,1,3,2,2,1,1,1x2,W,1\nr1c1,3,3,2,4,1,1,1x4,W,1\n");
    put_text(f, "rows.csv",
             ROWS "r1c1,1,1,1,1,1x6,W\nr1c1,1,2,1,1,1x4,W\nr1c1,1,2,2,5,1x2,W\n"
                  "r1c1,2,1,1,1,1x2,W\nr1c1,2,1,2,2,1x4,R\nr1c1,2,1,3,6,1x2,W\n"
                  "r1c1,2,2,1,2,1x1,W\nr1c1,2,2,2,3,1x2,K\nr1c1,2,2,3,5,1x1,W\n"
                  "r1c1,3,1,1,1,1x6,W\nr1c1,3,2,1,1,1x2,W\nr1c1,3,2,2,3,1x4,W\n");
    put_text(f, "parts.csv",
             PARTS
             "K,Black,1x2,1,0,1,0,1,,0.80\nW,\"White, plain\",1x1,2,0,2,0,2,,1.00\n"
             "W,\"White, plain\",1x2,4,0,4,0,4,,3.20\nW,\"White, plain\",1x4,2,0,2,0,2,,3.00\n"
             "W,\"White, plain\",1x6,2,0,2,0,2,,4.60\nR,Red,1x4,1,0,1,0,1,,1.50\n");
    /* Of 7 units of joint over a brick, 5 lap: all but at column 5 of row 2 (the joint of
     * row 1's front) and at column 3 of row 3 (over that of row 2). */
    put_text(f, "panels.csv",
             PANELS ",pieces,unsupported,weak,quarter_lap\n"
                    "r1c1,1,1,6,3,48,28.8,16,12,0.0141,1,1,1,0,0,0.714\n");
    put_pictures(f);
}

/* Steps 0 2 0 over 0 1 1; a black cell stands two tiers out. Its three bricks, one on
 * another, and the 1x2 on the lowest 1x3 each hang on the brick below: three are weak. */
static void make_raised(Folder *f)
{
    static const uint8_t cells[] = {1, 0, 1, 1, 1, 1}, steps[] = {0, 2, 0, 0, 1, 1};
    *f = (Folder){0};
    static const char plan[] = HEAD
        "\"build\": \"plaque\", \"columns\": 3, \"rows\": 2, \"base\": 1, \"cell_mm\": [8, 8], "
        "\"step_mm\": 9.6, \"settings\": {\"pace\": 100}, \"measures\": {\"cells\": 6, "
        "\"bricks\": 7, " DE "\"mass_kg\": 0.0045, \"price\": 0.7, \"hours\": 0.07, "
        "\"longest_straight_joint\": 1, \"pieces\": 1, \"unsupported\": 0}, "
        "\"panels\": [{\"name\": \"r1c1\", \"column\": 1, \"row\": 1, \"columns\": 3, \"rows\": "
        "2}]";
    f->plan = copy_of(plan, sizeof plan - 1);
    put_png(f, "cells.png", 3, 2, cells, 3, colour);
    put_png(f, "steps.png", 3, 2, steps, 0, NULL);
    put_text(f, "bricks.csv",
             BRICKS "r1c1,1,1,1,3,1,1,1x3,W,1\nr1c1,1,2,1,1,1,1,1x1,W,1\nr1c1,2,2,1,1,1,1,1x1,K,1\n"
                    "r1c1,3,2,1,1,1,1,1x1,W,1\nr1c1,2,1,2,2,1,1,1x2,W,1\nr1c1,2,2,2,1,1,1,1x1,K,1\n"
                    "r1c1,2,2,3,1,1,1,1x1,K,1\n");
    put_text(f, "rows.csv",
             ROWS "r1c1,1,1,1,1,1x3,W\nr1c1,2,1,1,1,1x1,W\nr1c1,2,1,2,2,1x1,K\nr1c1,2,1,3,3,1x1,W\n"
                  "r1c1,1,2,1,2,1x2,W\nr1c1,2,2,1,2,1x1,K\nr1c1,2,3,1,2,1x1,K\n");
    put_text(
        f, "parts.csv",
        PARTS
        "K,Black,1x1,3,0,3,0,3,0.3,1.5\nW,\"White, plain\",1x1,2,0,2,0,2,0.2,1.0\n"
        "W,\"White, plain\",1x2,1,0,1,0,1,0.1,0.8\nW,\"White, plain\",1x3,1,0,1,0,1,0.1,1.2\n");
    put_text(f, "panels.csv",
             PANELS ",weak,quarter_lap\nr1c1,1,1,3,2,24,16,28.8,7,0.0045,1,1,3,0\n");
    put_pictures(f);
    put_png(f, "relief.png", 1, 1, steps, 0, NULL);
    put_model(f, (const double[]){8, 8, 9.6});
}

static void (*const make[])(Folder *f) = {make_flat, make_wall, make_raised};
enum { FLAT, WALL, RAISED, PLANS };

/* ---- tests ---- */

static void sound_plans_hold(void **state)
{
    (void)state;
    for (int i = 0; i < PLANS; i++) {
        Folder f;
        Heard heard;
        Fault fault;
        make[i](&f);
        write_folder(&f, NULL, NULL);
        const Status status = run(&f, &heard, &fault);
        if (status) print(&heard, &fault);
        assert_int_equal(status, STATUS_OK);
        assert_int_equal(heard.lines, 0);
        remove_folder(&f);
        free_folder(&f);
    }
}

/* One change in one file, digests renewed; a line must start as said. */
typedef struct Tamper {
    int plan;
    const char *file, *old, *new, *line;
} Tamper;

static const Tamper tamper[] = {
    /* plan.json: each key gone, of another type, out of range. */
    {FLAT, "plan.json", "\"format\"", "\"formal\"", "plan.json: format: missing"},
    {FLAT, "plan.json", "rowlock-plan", "other-plan", "plan.json: format: 'other-plan'"},
    {FLAT, "plan.json", "\"version\": 1", "\"version\": 0", "plan.json: version"},
    {FLAT, "plan.json", "\"plaque\"", "\"roof\"", "plan.json: build: 'roof'"},
    {FLAT, "plan.json", "\"columns\": 6", "\"columns\": \"6\"", "plan.json: columns: not a whole"},
    {FLAT, "plan.json", "\"rows\": 4, \"base\"", "\"rows\": 0, \"base\"",
     "plan.json: rows: 0 is not"},
    {FLAT, "plan.json", "\"base\": 1", "\"base\": 2", "plan.json: base: 2, must be 1"},
    {FLAT, "plan.json", "[8, 8]", "[8]", "plan.json: cell_mm"},
    {FLAT, "plan.json", "\"step_mm\": 9.6", "\"step_mm\": 0", "plan.json: step_mm"},
    {FLAT, "plan.json", "\"reference\"", "\"preference\"", "plan.json: reference: missing"},
    {FLAT, "plan.json", "\"sha256\": \"e3", "\"sha256\": \"g3", "plan.json: reference.sha256"},
    {FLAT, "plan.json", "\"width\": 60", "\"width\": 0", "plan.json: reference.width"},
    {FLAT, "plan.json", "\"height\": 40, ", "", "plan.json: reference.height: missing"},
    {FLAT, "plan.json", "\"profile\": \"sRGB\"", "\"profile\": 1", "plan.json: reference.profile"},
    {FLAT, "plan.json", "\"file\": ", "\"fail\": ", "plan.json: reference.file: missing"},
    {FLAT, "plan.json", "\"settings\"", "\"set\"", "plan.json: settings: missing"},
    {FLAT, "plan.json", "\"pace\"", "\"place\"", "plan.json: settings.pace"},
    {FLAT, "plan.json", "\"measures\"", "\"measure\"", "plan.json: measures: missing"},
    {FLAT, "plan.json", "\"perceived_de00\": 0.25, ", "", "plan.json: measures.perceived_de00"},
    {FLAT, "plan.json", "\"unrest_2\": 0.5, ", "", "plan.json: measures.unrest_2"},
    {FLAT, "plan.json", "\"p95_de00\": 1", "\"p95_de00\": 3",
     "plan.json: measures.p95_de00: above"},
    {FLAT, "plan.json", "\"cautions\": []", "\"cautions\": {}", "plan.json: cautions: not a list"},
    {FLAT, "plan.json", "\"cautions\": []", "\"cautions\": [1]", "plan.json: cautions[0]"},
    {FLAT, "plan.json", "\"colours\"", "\"colour\"", "plan.json: colours: missing"},
    {FLAT, "plan.json", "\"id\": \"R\"", "\"id\": \"W\"",
     "plan.json: colours[2].id: 'W' is that of"},
    {FLAT, "plan.json", "\"id\": \"R\"", "\"id\": \"Rot12\"", "plan.json: colours[2].id: 'Rot12'"},
    {FLAT, "plan.json", "#ff0000", "red", "plan.json: colours[2].hex: not #rrggbb"},
    {FLAT, "plan.json", "\"panels\": [", "\"panes\": [", "plan.json: panels: missing"},
    {FLAT, "plan.json", "\"files\": {", "\"fries\": {", "plan.json: files: missing"},
    /* Colours. */
    {FLAT, "plan.json", "#ff0000", "#fc0000", "plan.json: colours[2].hex: #fc0000, but"},
    {FLAT, "plan.json", "[54.29", "[58.29", "plan.json: colours[2].hex: #ff0000, but"},
    /* Files. */
    {FLAT, "plan.json", "\"distance.png\": ", "\"another.png\": ", "distance.png: not listed"},
    {FLAT, "plan.json", "\"files\": {", "\"files\": {\"x.png\": \"00\", ",
     "x.png: listed in plan.json"},
    {FLAT, "plan.json", "\"files\": {", "\"files\": {\"../x\": \"00\", ",
     "plan.json: files: '../x'"},
    {FLAT, "plan.json", "\"proof.jpg\": \"", "\"proof.jpg\": \"0", "proof.jpg: its SHA-256 is"},
    {RAISED, "plan.json", "\"steps.png\": ", "\"stops.png\": ", "steps.png: is there but not"},
    {FLAT, "book.pdf", "%PDF", "%PFD", "book.pdf: does not start"},
    {FLAT, "book.pdf", "%%EOF", "%%END", "book.pdf: does not end"},
    {FLAT, "proof.jpg", "\xff\xd8", "GI", "proof.jpg: does not start as a JPEG"},
    {FLAT, "proof.jpg", "\xff\xd9", "..", "proof.jpg: does not end as a JPEG"},
    {RAISED, "relief.glb", "2.0", "1.0", "relief.glb: its JSON chunk"},
    {RAISED, "relief.glb", "\"1x2\",\"colour\":\"W\"", "\"1x2\",\"colour\":\"K\"",
     "relief.glb: a 1x2 of colour 'K' from column 2, row 1, tier 2 to 3, 1, 2 is no brick"},
    {RAISED, "relief.glb", "\"size\":\"1x3\"", "\"size\":\"3x1\"",
     "relief.glb: a 3x1 of colour 'W' from column 1, row 1, tier 1"},
    {RAISED, "relief.glb", "[0,1,2,3,4,5,6]", "[0,1,2,3,4,5,5]", "is there twice"},
    {RAISED, "relief.glb", "[0,1,2,3,4,5,6]", "[0,1,2,3,4,5  ]",
     "relief.glb: has 6 of the 7 bricks; that of bricks.csv:8 is not among them"},
    {RAISED, "relief.glb", "\"bricks\":1", "\"bricks\":2", "says it has 2 bricks, but it has 1"},
    {RAISED, "relief.glb", "\"count\":8", "\"count\":7", "is not of boxes"},
    {RAISED, "relief.glb", "\"byteOffset\":0", "\"byteOffset\":9", "no brick of bricks.csv"},
    {RAISED, "relief.glb", "\"byteOffset\":576", "\"byteOffset\":999", "corners lie outside"},
    {RAISED, "relief.glb", "VEC3", "VEC2", "no corners that can be read"},
    {RAISED, "relief.glb", "\"indices\":0", "\"indices\":9", "is not of boxes"},
    {RAISED, "relief.glb", "{\"mesh\":0}", "{\"mesh\":7}", "a node has no mesh"},
    {RAISED, "relief.glb", "{\"mesh\":0}", "{\"skin\":0}", "a node has no mesh"},
    /* Panels. */
    {FLAT, "plan.json", "\"r1c2\", \"column\": 4, \"row\": 1, \"columns\": 3",
     "\"r1c2\", \"column\": 3, \"row\": 1, \"columns\": 4",
     "plan.json: panels[1]: r1c2: column 3, row 1 is in r1c1 too"},
    {FLAT, "plan.json", "\"r1c2\", \"column\": 4, \"row\": 1, \"columns\": 3",
     "\"r1c2\", \"column\": 5, \"row\": 1, \"columns\": 2",
     "plan.json: panels: column 4, row 1 is in none"},
    {FLAT, "plan.json", "\"r1c2\", \"column\": 4, \"row\": 1, \"columns\": 3",
     "\"r1c2\", \"column\": 4, \"row\": 1, \"columns\": 4",
     "plan.json: panels[1]: r1c2: column, row"},
    {FLAT, "plan.json", "\"r1c2\", ", "\"r1c2\", \"bricks\": 5, ",
     "plan.json: panels[1]: r1c2: bricks is 5, but panels.csv:3 has 4"},
    {FLAT, "plan.json", "\"r1c2\", ", "\"r1c2\", \"joined\": false, ",
     "plan.json: panels[1]: r1c2: joined is 0, but panels.csv:3 has 1"},
    {WALL, "plan.json", "\"weak\": 0", "\"weak\": 0, \"quarter_lap\": 0.9",
     "plan.json: measures.quarter_lap: 0.9"},
    {FLAT, "plan.json", "\"name\": \"r1c2\"", "\"name\": \"r1c1\"",
     "plan.json: panels[1].name: 'r1c1'"},
    {FLAT, "panels.csv", "r1c2,4,1", "r1c2,5,1", "panels.csv:3: r1c2: column is 5, must be 4"},
    {FLAT, "panels.csv", "r1c2,4,1,3,4", "r1c2,4,1,3,5", "panels.csv:3: r1c2: rows is 5"},
    {FLAT, "panels.csv", "24.0,", "24.1,", "panels.csv:3: r1c2: width_mm is 24.1, must be 24"},
    {FLAT, "panels.csv", "32.0,", "31.9,", "panels.csv:3: r1c2: height_mm is 31.9"},
    {RAISED, "panels.csv", "28.8", "19.2", "panels.csv:2: r1c1: depth_mm is 19.2, must be 28.8"},
    {FLAT, "panels.csv", "9.6,4,", "9.6,5,", "panels.csv:2: r1c1: bricks is 5, must be 4"},
    {FLAT, "panels.csv", "0.0047", "0.0048", "panels.csv:2: r1c1: mass_kg is 0.0048"},
    {FLAT, "panels.csv", "1,2\nr1c2", "0,2\nr1c2", "panels.csv:2: r1c1: joined is 0, must be 1"},
    {FLAT, "panels.csv", "1,2\nr1c2", "1,1\nr1c2",
     "panels.csv:2: r1c1: longest_straight_joint is 1"},
    {FLAT, "panels.csv", "r1c2,4,1,3,4,24.0,32.0,9.6,4,0.0047,1,2\n", "",
     "panels.csv: r1c2: missing"},
    {FLAT, "panels.csv", "r1c2", "r9c9", "panels.csv:3: panel: 'r9c9' is not a panel"},
    {FLAT, "panels.csv", "depth_mm", "deep_mm", "panels.csv:1: "},
    {WALL, "panels.csv", "1,1,1,0,0,", "1,1,2,0,0,", "panels.csv:2: r1c1: pieces is 2, must be 1"},
    {WALL, "panels.csv", "1,1,1,0,0,", "1,1,1,1,0,", "panels.csv:2: r1c1: unsupported is 1"},
    {WALL, "panels.csv", "1,1,1,0,0,", "1,1,1,0,1,", "panels.csv:2: r1c1: weak is 1, must be 0"},
    {WALL, "panels.csv", "0.714", "0.715", "panels.csv:2: r1c1: quarter_lap is 0.715"},
    {RAISED, "panels.csv", "1,1,3,0", "1,1,2,0", "panels.csv:2: r1c1: weak is 2, must be 3"},
    /* Bricks. */
    {FLAT, "bricks.csv", "tiers,size", "size,tiers", "bricks.csv:1: columns are not"},
    {FLAT, "bricks.csv", "r1c1,1,2,1", "r1c9,1,2,1", "bricks.csv:3: panel: 'r1c9'"},
    {FLAT, "bricks.csv", "2x2,K", "2x2,X", "bricks.csv:3: colour: 'X' is not a colour"},
    {FLAT, "bricks.csv", "2x2,K", "2by2,K", "bricks.csv:3: size: '2by2' is not a size"},
    {FLAT, "bricks.csv", "r1c1,1,2,1", "r1c1,0,2,1", "bricks.csv:3: column: '0' is not"},
    {FLAT, "bricks.csv", "2x2,K,1", "2x2,K,2", "bricks.csv:3: shown: '2' is not 0 or 1"},
    {FLAT, "bricks.csv", "r1c2,4,4,1,3", "r1c2,5,4,1,3",
     "bricks.csv:9: column 5, row 4, tier 1: reaches out of the mural"},
    {FLAT, "bricks.csv", "r1c1,1,4", "r1c2,1,4",
     "bricks.csv:5: column 1, row 4, tier 1: crosses the edge of panel r1c2"},
    {FLAT, "bricks.csv", "r1c1,1,4,1", "r1c1,1,4,2",
     "bricks.csv:5: column 1, row 4, tier 2: reaches out of the solid"},
    {FLAT, "bricks.csv", "3,1,1,1x3,W,1\nr1c1,1,2", "3,1,1,1x4,W,1\nr1c1,1,2",
     "bricks.csv:2: column 1, row 1, tier 1: 3 columns and 1 rows are no 1x4"},
    {RAISED, "bricks.csv", "2,2,2,1,1,1", "2,2,2,1,1,2",
     "bricks.csv:7: column 2, row 2, tier 2: 2 tiers, a brick of a plaque is one"},
    {WALL, "bricks.csv", "r1c1,1,2,1,1,1,2", "r1c1,1,2,1,1,2,1",
     "bricks.csv:5: column 1, row 2, tier 1: 2 rows, a brick of a wall is one"},
    {FLAT, "bricks.csv", "r1c1,3,2,1,1,2", "r1c1,2,2,1,1,2",
     "bricks.csv:4: column 2, row 2, tier 1: overlaps the brick of line 3"},
    {FLAT, "bricks.csv", "r1c1,3,2,1,1,2", "r1c1,2,2,1,1,2",
     "bricks.csv: column 3, row 3, tier 1: in no brick"},
    {WALL, "bricks.csv", "r1c1,2,2,1,4,1,1,1x4,R,0\n", "",
     "bricks.csv: column 2, row 2, tier 1: in no brick"},
    {FLAT, "bricks.csv", "2x2,R", "2x2,K",
     "bricks.csv:8: column 5, row 2, tier 1: is 'K', but shows column 5, row 2, tier 1, which is "
     "'R'"},
    {RAISED, "bricks.csv", "r1c1,2,2,2,1,1,1,1x1,K", "r1c1,2,2,2,1,1,1,1x1,W",
     "bricks.csv:7: column 2, row 2, tier 2: is 'W'"},
    {FLAT, "bricks.csv", "2x2,R,1", "2x2,R,0", "bricks.csv:8: column 5, row 2, tier 1: shown is 0"},
    {WALL, "bricks.csv", "1x4,R,0", "1x4,R,1", "bricks.csv:6: column 2, row 2, tier 1: shown is 1"},
    /* Rows. */
    {FLAT, "rows.csv", "nth,column", "column,nth", "rows.csv:1: "},
    {FLAT, "rows.csv", "r1c1,2,1,1,1,2x2,K\n", "",
     "rows.csv: panel r1c1, row 2, tier 1, column 1: the brick of bricks.csv:3 is missing"},
    {FLAT, "rows.csv", "2,3,1x2", "3,3,1x2",
     "rows.csv:4: panel r1c1, row 2, tier 1, column 3: nth is 3, but it is number 2"},
    {FLAT, "rows.csv", "2x2,K", "2x2,R",
     "rows.csv:3: panel r1c1, row 2, tier 1, column 1: is 2x2 in 'R', but bricks.csv:3 has 2x2 in "
     "'K'"},
    {FLAT, "rows.csv", "r1c1,2,1,1,1,2x2", "r1c1,2,1,1,2,2x2",
     "rows.csv:3: panel r1c1, row 2, tier 1, column 2: no brick"},
    {FLAT, "rows.csv", "r1c1,4,1,1,1,1x3,W\nr1c2,1,1,1,4,1x3,W\n",
     "r1c2,1,1,1,4,1x3,W\nr1c1,4,1,1,1,1x3,W\n",
     "rows.csv:6: panel r1c1, row 4, tier 1, column 1: is not in building order"},
    {FLAT, "rows.csv", "r1c1,4,1,1,1,1x3,W\n", "r1c1,4,1,1,1,1x3,W\nr1c1,4,1,2,1,1x3,W\n",
     "rows.csv:6: panel r1c1, row 4, tier 1, column 1: stands there twice"},
    {RAISED, "rows.csv",
     "r1c1,2,1,1,1,1x1,W\nr1c1,2,1,2,2,1x1,K\nr1c1,2,1,3,3,1x1,W\nr1c1,1,2,1,2,1x2,W\n",
     "r1c1,1,2,1,2,1x2,W\nr1c1,2,1,1,1,1x1,W\nr1c1,2,1,2,2,1x1,K\nr1c1,2,1,3,3,1x1,W\n",
     "rows.csv:4: panel r1c1, row 2, tier 1, column 1: is not in building order"},
    /* Parts. */
    {FLAT, "parts.csv", "2x2,1,1,2,0,2", "2x2,2,1,3,0,3",
     "parts.csv:5: 'R' 2x2: count is 2, must be 1"},
    {FLAT, "parts.csv", "1,2,5,0", "1,3,5,0", "parts.csv:2: 'K' 2x2: order is 3, must be 2"},
    {FLAT, "parts.csv", "1,2,5,0", "1,2,5,1", "parts.csv:2: 'K' 2x2: to_buy is 1, must be 0"},
    {FLAT, "parts.csv", "1,5,2,3", "1,5,2,5", "parts.csv:4: 'W' 1x3: to_buy is 5, must be 3"},
    {FLAT, "parts.csv", "K,Black", "K,Blank", "parts.csv:2: 'K': name 'Blank'"},
    {FLAT, "parts.csv", "R,Red,2x2,1,1,2,0,2,0.20,1.50\r\n", "",
     "parts.csv: 'R' 2x2: missing, bricks.csv has 1"},
    {FLAT, "parts.csv", "R,Red,2x2,1,1,2,0,2,0.20,1.50\r\n",
     "R,Red,2x2,1,1,2,0,2,0.20,1.50\r\nTotal,,1x1,8,4,12,7,8,1.20,9.40\r\n",
     "parts.csv:6: colour: 'Total' is not a colour"},
    {FLAT, "parts.csv", "R,Red,2x2", "K,Black,2x2", "parts.csv:5: 'K' 2x2: stands there twice"},
    {FLAT, "parts.csv", "0.20,1.50\r\nW", "0.20,heavy\r\nW", "parts.csv:2: mass_g: 'heavy' is not"},
    {FLAT, "parts.csv", ",1.50\r\nW", ",1.70\r\nW",
     "plan.json: measures.mass_kg: 0.0094, but the files give 0.0096"},
    /* book.html: another colour, size, turn, place or flag of a brick; too few, too many; heads
     * that are not plan.json's. */
    {FLAT, "book.html", "CgEAEgADBgEC", "CgAAEgADBgEC",
     "book.html: panel r1c1, row 1, tier 1, column 1: is 1x3 in 'K', but bricks.csv:2 has 1x3 in "
     "'W'"},
    {FLAT, "book.html", "CgEAEgADBgEC", "AgEAEgADBgEC",
     "book.html: panel r1c1, row 1, tier 1, column 1: is 1x2 in 'W', but bricks.csv:2 has 1x3"},
    {FLAT, "book.html", "CgEAEgADBgEC", "CAEAEgADBgEC",
     "book.html: panel r1c1, row 1, tier 1, column 1: is 1x3 in 'W', but bricks.csv:2 has 1x3 in "
     "'W', "
     "lying or shown otherwise"},
    {FLAT, "book.html", "CgEAEgADBgEC", "DgEAEgADBgEC", "lying or shown otherwise"},
    {FLAT, "book.html", "CgEAEgADBgEC", "CgEAEgADBgED",
     "book.html: panel r1c1, row 3, tier 1, column 1: no brick of bricks.csv starts here"},
    {FLAT, "book.html", "CgEAEgADBgEC", "CgEAEgADBgED",
     "book.html: the brick of bricks.csv:4 is missing"},
    {FLAT, "book.html", "CgEAEgADBgEC", "CgEACgEABgEC", "bricks: two stand in one place"},
    {FLAT, "book.html", "CgEAEgADBgEC", "CgEAEgAABgEC", "stands there"},
    {FLAT, "book.html", "EgIBCgEF\n", "EgIB\n", "book.html: bricks: cannot be read to their end"},
    {FLAT, "book.html", "EgIBCgEF\n", "EgIBCgEFCgEF\n", "book.html: bricks: there are more than"},
    {FLAT, "book.html", "EgIBCgEF\n", "EgIBCgE*\n", "book.html: its plan cannot be read"},
    {FLAT, "book.html", "EgIBCgEF\n", "EgMBCgEF\n",
     "book.html: bricks: cannot be read to their end"},
    {FLAT, "book.html", "CgEAEgADBgEC", "CgEAEgADBgED", "book.html: its digest is not"},
    {FLAT, "book.html", "\"columns\": 6", "\"columns\": 7", "book.html: columns: must be 6"},
    {FLAT, "book.html", "\"bricks\": 8", "\"bricks\": 9", "book.html: bricks: must be 8"},
    {FLAT, "book.html", "\"plaque\"", "\"wall\"", "book.html: build: is not"},
    {FLAT, "book.html", "#ff0000", "#ff0001", "book.html: colours: are not"},
    {FLAT, "book.html", "\"r1c2\", 3", "\"r1c2\", 2", "book.html: panels: are not"},
    {FLAT, "book.html", "{\"build\"", "{build", "book.html: its plan cannot be read"},
    {FLAT, "book.html", "id=\"bricks\"", "id=\"tricks\"", "book.html: holds no plan"},

    {FLAT, "parts.csv", "in_stock", "stock", "parts.csv:1: "},
    /* Measures. */
    {FLAT, "plan.json", "\"cells\": 24", "\"cells\": 25",
     "plan.json: measures.cells: 25, but the files give 24"},
    {FLAT, "plan.json", "\"bricks\": 8", "\"bricks\": 9", "plan.json: measures.bricks: 9"},
    {FLAT, "plan.json", "\"mass_kg\": 0.0094", "\"mass_kg\": 0.0194",
     "plan.json: measures.mass_kg"},
    {FLAT, "plan.json", "\"price\": 1.20", "\"price\": 1.35",
     "plan.json: measures.price: 1.35, but the files give 1.2"},
    {FLAT, "plan.json", "\"hours\": 0.04", "\"hours\": 0.4", "plan.json: measures.hours"},
    {FLAT, "plan.json", "\"pieces\": 2", "\"pieces\": 1", "plan.json: measures.pieces: 1, but"},
    {FLAT, "plan.json", "\"unsupported\": 0", "\"unsupported\": 1",
     "plan.json: measures.unsupported: 1"},
    {FLAT, "plan.json", "\"longest_straight_joint\": 2", "\"longest_straight_joint\": 3",
     "plan.json: measures.longest_straight_joint: 3"},
    {WALL, "plan.json", "\"weak\": 0", "\"weak\": 1", "plan.json: measures.weak: 1"},
};

static void change(Folder *f, const char *name, const char *old, const char *new)
{
    File *file = file_named(f, name);
    assert_non_null(file);
    const size_t length = file->length, was = strlen(old), is = strlen(new);
    char *at = memmem(file->bytes, length, old, was);
    if (!at) fail_msg("%s: nothing to replace: %s", name, old);
    char *bytes = malloc(length + is + 1);
    assert_non_null(bytes);
    const size_t before = (size_t)(at - file->bytes);
    memcpy(bytes, file->bytes, before);
    memcpy(bytes + before, new, is);
    memcpy(bytes + before + is, at + was, length - before - was);
    put(f, name, bytes, length - was + is);
    free(bytes);
}

static void each_broken_promise_is_said(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof tamper / sizeof *tamper; i++) {
        const Tamper *t = &tamper[i];
        Folder f;
        Heard heard;
        Fault fault;
        make[t->plan](&f);
        const int plan = strcmp(t->file, "plan.json") == 0;
        if (!plan) change(&f, t->file, t->old, t->new);
        write_folder(&f, plan ? t->old : NULL, t->new);
        const Status status = run(&f, &heard, &fault);
        if (status != STATUS_UNHELD || !says(&heard, t->line)) {
            print(&heard, &fault);
            fail_msg("%s: '%s' for '%s': status %d, wanted a line: %s", t->file, t->new, t->old,
                     status, t->line);
        }
        remove_folder(&f);
        free_folder(&f);
    }
}

/* Runs, wants a line, and cleans up. */
static void expect(Folder *f, const char *line)
{
    Heard heard;
    Fault fault;
    const Status status = run(f, &heard, &fault);
    if (status != STATUS_UNHELD || !says(&heard, line)) {
        print(&heard, &fault);
        fail_msg("status %d, wanted a line: %s", status, line);
    }
    remove_folder(f);
    free_folder(f);
}

/* cells.png and steps.png: format, size, palette, index; and a file that is not there,
 * one that nobody listed, and one whose bytes changed. */
static void pictures_of_cells_are_held_to_the_plan(void **state)
{
    (void)state;
    static const uint8_t white[30] = {1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1,
                                      1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 3};
    static const png_color swapped[4] = {{255, 255, 255}, {0, 0, 0}, {255, 0, 0}, {1, 1, 1}};
    Folder f;
    make_flat(&f);
    put_png(&f, "cells.png", 6, 4, white, 0, NULL);
    write_folder(&f, NULL, NULL);
    expect(&f, "cells.png: not 8-bit indexed");
    make_flat(&f);
    put_png(&f, "cells.png", 6, 5, white, 3, colour);
    write_folder(&f, NULL, NULL);
    expect(&f, "cells.png: 6 x 5, but the plan has 6 columns and 4 rows");
    make_flat(&f);
    put_png(&f, "cells.png", 6, 4, white, 3, swapped);
    write_folder(&f, NULL, NULL);
    expect(&f, "cells.png: PLTE entry 0: #ffffff, but colour 'K' is #000000");
    make_flat(&f);
    put_png(&f, "cells.png", 6, 4, white, 4, swapped);
    write_folder(&f, NULL, NULL);
    expect(&f, "cells.png: PLTE has 4 entries, but plan.json has 3");
    make_flat(&f);
    put_png(&f, "cells.png", 6, 4, white + 6, 3, colour);
    write_folder(&f, NULL, NULL);
    expect(&f, "cells.png: column 6, row 1: index 3, but plan.json has 3 colours");
    make_raised(&f);
    put_png(&f, "steps.png", 3, 3, white, 3, colour);
    write_folder(&f, NULL, NULL);
    expect(&f, "steps.png: 3 x 3, but the plan has 3 columns and 2 rows");
    make_raised(&f);
    put_png(&f, "steps.png", 3, 2, white, 0, NULL);
    write_folder(&f, NULL, NULL);
    expect(&f, "bricks.csv: column 1, row 1, tier 2: in no brick");
    make_flat(&f);
    write_folder(&f, NULL, NULL);
    remove_file(&f, "rows.csv");
    expect(&f, "rows.csv: listed in plan.json but not there");
    make_wall(&f);
    write_folder(&f, NULL, NULL);
    write_file(&f, "book.html", "<!DOCTYPE html>", 15);
    expect(&f, "plan.json: files: book.html: is there but not listed");
    make_flat(&f);
    write_folder(&f, NULL, NULL);
    write_file(&f, "preview.png", "no", 2);
    expect(&f, "preview.png: its SHA-256 is");
    make_flat(&f);
    put(&f, "preview.png", "\x89PNG\r\n\x1a\n", 8);
    write_folder(&f, NULL, NULL);
    expect(&f, "preview.png: not a PNG that can be read");
}

/* What cannot be read at all is a fault with the file's name, not a broken promise. */
static void malformed_files_are_named(void **state)
{
    (void)state;
    static const struct {
        const char *file, *bytes;
        Status status;
        const char *says;
    } bad[] = {
        {"plan.json", "", STATUS_DATA, "plan.json:1:"},
        {"plan.json", "[]", STATUS_DATA, "plan.json:1:1: not a JSON object"},
        {"plan.json", "{\"a\": 1,\n \"a\": 2}", STATUS_DATA, "plan.json:2:"},
        {"cells.png", "GIF89a", STATUS_DATA, "cells.png: not a PNG"},
        {"bricks.csv", "", STATUS_DATA, "bricks.csv:1: empty"},
        {"bricks.csv", BRICKS "r1c1,1,1\n", STATUS_DATA,
         "bricks.csv:2: 3 fields where the header has 10"},
        {"bricks.csv", BRICKS "\"r1c1,1,1,1,3,1,1,1x3,W,1\n", STATUS_DATA,
         "bricks.csv:2: a quote is not closed"},
        {"rows.csv", ROWS "r1\"c1,1,1,1,1,1x3,W\n", STATUS_DATA, "rows.csv:2: a quote or a zero"},
        {"parts.csv", PARTS "\"K\"x,Black,2x2,1,1,2,5,0,0.20,1.50\n", STATUS_DATA,
         "parts.csv:2: a field goes on"},
        {"panels.csv", PANELS "\nr1c1\n", STATUS_DATA,
         "panels.csv:2: 1 fields where the header has 12"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        Folder f;
        Heard heard;
        Fault fault;
        make_flat(&f);
        if (file_named(&f, bad[i].file)) put_text(&f, bad[i].file, bad[i].bytes);
        write_folder(&f, NULL, NULL);
        if (strcmp(bad[i].file, "plan.json") == 0)
            write_file(&f, "plan.json", bad[i].bytes, strlen(bad[i].bytes));
        const Status status = run(&f, &heard, &fault);
        if (status != bad[i].status || !strstr(fault.text, bad[i].says)) {
            print(&heard, &fault);
            fail_msg("%s: status %d, wanted: %s", bad[i].file, status, bad[i].says);
        }
        remove_folder(&f);
        free_folder(&f);
    }
}

static void a_missing_plan_is_said(void **state)
{
    (void)state;
    Folder f;
    Heard heard;
    Fault fault;
    make_flat(&f);
    write_folder(&f, NULL, NULL);
    remove_file(&f, "plan.json");
    assert_int_equal(run(&f, &heard, &fault), STATUS_NO_INPUT);
    assert_non_null(strstr(fault.text, "plan.json"));
    remove_folder(&f);
    assert_int_equal(run(&f, &heard, &fault), STATUS_NO_INPUT);
    free_folder(&f);
}

/* Of many places only the first few are lines, and the rest a number. */
static void lines_are_capped(void **state)
{
    (void)state;
    Folder f;
    Heard heard;
    Fault fault;
    make_flat(&f);
    put_text(&f, "bricks.csv", BRICKS);
    write_folder(&f, NULL, NULL);
    assert_int_equal(run(&f, &heard, &fault), STATUS_UNHELD);
    assert_int_equal(says(&heard, "in no brick"), 9);
    assert_int_equal(says(&heard, "bricks.csv: 16 more units in no brick"), 1);
    remove_folder(&f);
    free_folder(&f);
}

/* A stranger's file is noted and is no broken promise. */
static void note(void *self, const char *text) { snprintf(self, LINE_MOST, "%s", text); }

static bool stop(void *self)
{
    (void)self;
    return true;
}

static void strangers_are_left_alone(void **state)
{
    (void)state;
    Folder f;
    Heard heard = {0};
    Fault fault;
    char text[LINE_MOST] = "";
    const Voice voice = {.self = text, .note = note}, stopped = {.stopped = stop};
    make_flat(&f);
    write_folder(&f, NULL, NULL);
    write_file(&f, "notes.txt", "call the client", 15);
    assert_int_equal(check_run(f.path, &voice, hear, &heard, &fault), STATUS_OK);
    assert_non_null(strstr(text, "notes.txt"));
    assert_int_equal(check_run(f.path, &stopped, NULL, NULL, &fault), STATUS_INTERRUPTED);
    remove_folder(&f);
    free_folder(&f);
}

/* ---- random builds against brute force ---- */

enum { SIDE = 12, RANDOM_SIDE = 9, UNITS = SIDE * SIDE * 3, BLOCKS = UNITS };

typedef struct Block {
    int box[6]; /* column, row, tier, columns, rows, tiers, from 0 */
    int panel;
} Block;

typedef struct Pile {
    int wall, columns, rows, depth, split; /* split: the first column of panel 2, or columns */
    int steps[SIDE][SIDE];
    int owner[SIDE][SIDE][3]; /* 0 none, else brick + 1 */
    int blocks;
    Block block[BLOCKS];
} Pile;

static uint32_t seed;
static int dice(int sides) { return (int)((chance(&seed) >> 8) % (uint32_t)sides); }

static int inside(const Pile *p, int c, int r, int t)
{
    return c >= 0 && r >= 0 && t >= 0 && c < p->columns && r < p->rows &&
           t < (p->wall ? p->depth : 1) + p->steps[r][c];
}

static int fits(const Pile *p, const Block *b)
{
    if (b->box[0] < p->split && b->box[0] + b->box[3] > p->split) return 0;
    for (int i = 0; i < b->box[3] * b->box[4] * b->box[5]; i++) {
        const int c = b->box[0] + i % b->box[3], r = b->box[1] + i / b->box[3] % b->box[4];
        const int t = b->box[2] + i / b->box[3] / b->box[4];
        if (!inside(p, c, r, t) || p->owner[r][c][t]) return 0;
    }
    return 1;
}

static void place(Pile *p, int c, int r, int t)
{
    Block b = {{c, r, t, 1, 1, 1}, c >= p->split};
    for (int tries = 0; tries < 3; tries++) {
        Block larger = b;
        larger.box[3] = 1 + dice(4);
        larger.box[p->wall ? 5 : 4] = 1 + dice(2);
        if (fits(p, &larger)) b = larger;
    }
    p->block[p->blocks++] = b;
    for (int i = 0; i < b.box[3] * b.box[4] * b.box[5]; i++)
        p->owner[r + i / b.box[3] % b.box[4]][c + i % b.box[3]][t + i / b.box[3] / b.box[4]] =
            p->blocks;
}

static void make_pile(Pile *p, int wall)
{
    *p = (Pile){.wall = wall,
                .columns = 2 + dice(RANDOM_SIDE - 1),
                .rows = 2 + dice(RANDOM_SIDE - 1),
                .depth = 1 + dice(2)};
    p->split = dice(2) ? p->columns : 1 + dice(p->columns - 1);
    for (int i = 0; i < p->columns * p->rows; i++)
        p->steps[i / p->columns][i % p->columns] = dice(p->wall ? 2 : 3) * dice(2);
    /* Building order: layers outermost, so that rows.csv can be written as it comes. */
    for (int panel = 0; panel < 2; panel++)
        for (int a = 0; a < (wall ? p->rows : 3); a++)
            for (int b = 0; b < (wall ? 3 : p->rows); b++)
                for (int c = panel ? p->split : 0; c < (panel ? p->columns : p->split); c++) {
                    const int r = wall ? a : b, t = wall ? b : a;
                    if (inside(p, c, r, t) && !p->owner[r][c][t]) place(p, c, r, t);
                }
}

/* Bricks that overlap by a unit in neighbouring layers of one panel. */
static int touch(const Pile *p, const Block *a, const Block *b)
{
    const int layer = p->wall ? 1 : 2;
    if (a->panel != b->panel) return 0;
    if (a->box[layer] != b->box[layer] + 1 && b->box[layer] != a->box[layer] + 1) return 0;
    for (int i = 0; i < 3; i++)
        if (i != layer &&
            (a->box[i] >= b->box[i] + b->box[i + 3] || b->box[i] >= a->box[i] + a->box[i + 3]))
            return 0;
    return 1;
}

/* Pieces of a panel without one brick (-1: with all), by spreading labels until nothing
 * changes; the base ledger of a plaque is one label more. */
static int pieces(const Pile *p, int panel, int without)
{
    int label[BLOCKS], changed = 1, n = 0, ledger = 0;
    for (int i = 0; i < p->blocks; i++) label[i] = !p->wall && p->block[i].box[2] == 0 ? -1 : i;
    while (changed) {
        changed = 0;
        for (int i = 0; i < p->blocks; i++)
            for (int j = 0; j < p->blocks; j++)
                if (i != without && j != without && label[j] < label[i] &&
                    touch(p, &p->block[i], &p->block[j])) {
                    label[i] = label[j];
                    changed = 1;
                }
    }
    for (int i = 0; i < p->blocks; i++)
        if (i != without && p->block[i].panel == panel) {
            n += label[i] == i;
            ledger = 1;
        }
    return n + (!p->wall && (ledger || without >= 0));
}

static int weak(const Pile *p, int panel)
{
    int n = 0;
    const int whole = pieces(p, panel, -1);
    for (int i = 0; i < p->blocks; i++) {
        if (p->block[i].panel != panel) continue;
        /* A brick that is a piece of its own takes its piece with it. */
        int alone = !(!p->wall && p->block[i].box[2] == 0);
        for (int j = 0; j < p->blocks; j++)
            if (touch(p, &p->block[i], &p->block[j])) alone = 0;
        n += !alone && pieces(p, panel, i) > whole;
    }
    return n;
}

static int unsupported(const Pile *p, int panel)
{
    int n = 0;
    for (int i = 0; i < p->blocks; i++) {
        const Block *b = &p->block[i];
        int rests = b->panel != panel || b->box[p->wall ? 1 : 2] == 0;
        for (int j = 0; j < p->blocks; j++)
            if (p->block[j].box[p->wall ? 1 : 2] < b->box[p->wall ? 1 : 2] &&
                touch(p, b, &p->block[j]))
                rests = 1;
        n += !rests;
    }
    return n;
}

/* The longest run of rows whose line x is a joint, tried from every row. */
static int straight(const Pile *p, int panel)
{
    int longest = 0;
    for (int x = (panel ? p->split : 0) + 1; x < (panel ? p->columns : p->split); x++)
        for (int tier = 0; tier < (p->wall ? 1 : 3); tier++)
            for (int from = 0; from < p->rows; from++)
                for (int r = from; r < p->rows; r++) {
                    int parted = 1;
                    for (int t = 0; t < 3; t++) {
                        const int left = p->owner[r][x - 1][t], right = p->owner[r][x][t];
                        if (p->wall && left && left == right) parted = 0;
                        if (!p->wall && t == tier && (!left || !right || left == right)) parted = 0;
                    }
                    if (!parted) break;
                    if (r - from + 1 > longest) longest = r - from + 1;
                }
    return longest;
}

static int seen(const Pile *p, const Block *b)
{
    for (int i = 0; i < b->box[3] * b->box[4] * b->box[5]; i++) {
        const int c = b->box[0] + i % b->box[3], r = b->box[1] + i / b->box[3] % b->box[4];
        const int t = b->box[2] + i / b->box[3] / b->box[4];
        if (!inside(p, c, r, t + 1) || !inside(p, c - 1, r, t) || !inside(p, c + 1, r, t) ||
            !inside(p, c, r - 1, t) || !inside(p, c, r + 1, t))
            return 1;
    }
    return 0;
}

typedef struct Text {
    char bytes[40000];
    size_t length;
} Text;

static void write_to(Text *t, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void write_to(Text *t, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    t->length +=
        (size_t)vsnprintf(t->bytes + t->length, sizeof t->bytes - t->length, format, arguments);
    va_end(arguments);
    assert_true(t->length < sizeof t->bytes);
}

static void put_bricks(Folder *f, const Pile *p)
{
    static Text bricks, rows, parts;
    int count[7][7] = {{0}}, nth = 0, last[3] = {-1, -1, -1};
    bricks.length = rows.length = parts.length = 0;
    write_to(&bricks, BRICKS);
    write_to(&rows, ROWS);
    write_to(&parts, PARTS);
    for (int i = 0; i < p->blocks; i++) {
        const Block *b = &p->block[i];
        const int long_side = b->box[3], short_side = b->box[p->wall ? 5 : 4];
        const int now[3] = {b->panel, b->box[1], b->box[2]};
        nth = memcmp(now, last, sizeof now) == 0 ? nth + 1 : 1;
        memcpy(last, now, sizeof now);
        count[long_side][short_side]++;
        write_to(&bricks, "%s,%d,%d,%d,%d,%d,%d,%dx%d,W,%d\n", b->panel ? "b" : "a", b->box[0] + 1,
                 b->box[1] + 1, b->box[2] + 1, b->box[3], b->box[4], b->box[5], long_side,
                 short_side, seen(p, b));
        write_to(&rows, "%s,%d,%d,%d,%d,%dx%d,W\n", b->panel ? "b" : "a", b->box[1] + 1,
                 b->box[2] + 1, nth, b->box[0] + 1, long_side, short_side);
    }
    for (int i = 0; i < 49; i++)
        if (count[i / 7][i % 7])
            write_to(&parts, "W,\"White, plain\",%dx%d,%d,0,%d,0,%d,0,%d\n", i / 7, i % 7,
                     count[i / 7][i % 7], count[i / 7][i % 7], count[i / 7][i % 7],
                     (i / 7) * (i % 7) * count[i / 7][i % 7]);
    put_text(f, "bricks.csv", bricks.bytes);
    put_text(f, "rows.csv", rows.bytes);
    put_text(f, "parts.csv", parts.bytes);
}

/* lap: the share of quarter laps of panel a, or NULL to leave that out. */
static void put_pile(Folder *f, const Pile *p, int plus_weak, const char *lap)
{
    static Text plan, panels;
    uint8_t cells[SIDE * SIDE], steps[SIDE * SIDE];
    int units = 0, all_pieces = 0, all_loose = 0, longest = 0;
    *f = (Folder){0};
    plan.length = panels.length = 0;
    for (int i = 0; i < p->columns * p->rows; i++) {
        const int r = p->rows - 1 - i / p->columns, c = i % p->columns;
        cells[i] = 1;
        steps[i] = (uint8_t)p->steps[r][c];
        units += p->steps[r][c] + (p->wall ? p->depth : 1);
    }
    write_to(&panels, PANELS ",pieces,unsupported,weak%s\n", lap ? ",quarter_lap" : "");
    write_to(&plan,
             HEAD "\"build\": \"%s\", \"columns\": %d, \"rows\": %d, \"base\": %d, \"cell_mm\": "
                  "[8, 9], \"step_mm\": 10, \"settings\": {\"pace\": 1}, \"panels\": [",
             p->wall ? "wall" : "plaque", p->columns, p->rows, p->wall ? p->depth : 1);
    for (int k = 0; k < 1 + (p->split < p->columns); k++) {
        const int from = k ? p->split : 0, across = k ? p->columns - p->split : p->split;
        int deep = 0, bricks = 0, mass = 0;
        for (int r = 0; r < p->rows; r++)
            for (int c = from; c < from + across; c++)
                for (int t = 0; inside(p, c, r, t); t++) {
                    mass++;
                    if (t + 1 > deep) deep = t + 1;
                }
        for (int i = 0; i < p->blocks; i++) bricks += p->block[i].panel == k;
        const int n = pieces(p, k, -1), joint = straight(p, k), loose = unsupported(p, k);
        all_pieces += n;
        all_loose += loose;
        if (joint > longest) longest = joint;
        write_to(&panels, "%s,%d,1,%d,%d,%d,%d,%d,%d,%d.%03d,%d,%d,%d,%d,%d%s%s\n", k ? "b" : "a",
                 from + 1, across, p->rows, 8 * across, 9 * p->rows, 10 * deep, bricks, mass / 1000,
                 mass % 1000, n == 1, joint, n, loose, weak(p, k) + plus_weak, lap ? "," : "",
                 lap ? lap : "");
        write_to(&plan,
                 "%s{\"name\": \"%s\", \"column\": %d, \"row\": 1, \"columns\": %d, \"rows\": %d}",
                 k ? ", " : "", k ? "b" : "a", from + 1, across, p->rows);
    }
    write_to(&plan,
             "], \"measures\": {\"cells\": %d, \"bricks\": %d, " DE
             "\"mass_kg\": %d.%03d, \"price\": 0, \"hours\": %d, \"longest_straight_joint\": %d, "
             "\"pieces\": %d, \"unsupported\": %d}",
             p->columns * p->rows, p->blocks, units / 1000, units % 1000, p->blocks, longest,
             all_pieces, all_loose);
    f->plan = strdup(plan.bytes);
    put_png(f, "cells.png", p->columns, p->rows, cells, 3, colour);
    put_png(f, "steps.png", p->columns, p->rows, steps, 0, NULL);
    put_bricks(f, p);
    put_text(f, "panels.csv", panels.bytes);
    put_pictures(f);
    put_png(f, "relief.png", 1, 1, steps, 0, NULL);
    put_model(f, (const double[]){8, 9, 10});
}

static void random_builds_agree_with_brute_force(void **state)
{
    (void)state;
    int apart = 0, loose = 0, weakened = 0;
    for (int i = 0; i < 60; i++) {
        static Pile pile;
        Folder f;
        Heard heard;
        Fault fault;
        seed = (uint32_t)i + 1;
        make_pile(&pile, i % 2);
        put_pile(&f, &pile, 0, NULL);
        write_folder(&f, NULL, NULL);
        const Status status = run(&f, &heard, &fault);
        const bool holds = pieces(&pile, 0, -1) < 2 && unsupported(&pile, 0) == 0;
        const int others =
            heard.lines - says(&heard, "comes apart") - says(&heard, "rest on nothing");
        if (status != (holds ? STATUS_OK : STATUS_UNHELD) || others) {
            print(&heard, &fault);
            fail_msg("random build %d", i);
        }
        apart += pieces(&pile, 0, -1) > 1;
        loose += unsupported(&pile, 0) > 0;
        weakened += weak(&pile, 0) > 0;
        remove_folder(&f);
        free_folder(&f);
        put_pile(&f, &pile, 1, NULL);
        write_folder(&f, NULL, NULL);
        expect(&f, "weak is");
    }
    /* The builds must have had something to find. */
    assert_true(apart > 3 && loose > 3 && weakened > 10);
}

/* Bonds as sets of joints, a course and the one above it, with the share of joints that
 * lap a quarter of the shorter brick. Units of 4, headers of 2: stretcher bond laps 2 of
 * 4, English 1 of headers of 2, Flemish 1 of headers of 2; a stack bond laps nothing,
 * and a lap of 1 on bricks of 6 is less than a quarter. */
static void bonds_lap_as_masonry_says(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        int joint[2][8]; /* columns of the joints, ended by the width, 12 */
        const char *lap;
    } bond[] = {
        {"stretcher", {{4, 8, 12}, {2, 6, 10, 12}}, "1"},
        {"English", {{4, 8, 12}, {1, 3, 5, 7, 9, 11, 12}}, "1"},
        {"Flemish", {{4, 6, 10, 12}, {1, 3, 7, 9, 12}}, "1"},
        {"stack", {{4, 8, 12}, {4, 8, 12}}, "0"},
        {"short lap", {{6, 12}, {1, 7, 12}}, "0.5"},
    };
    for (size_t i = 0; i < sizeof bond / sizeof *bond; i++) {
        static Pile p;
        Folder f;
        Heard heard;
        Fault fault;
        p = (Pile){.wall = 1, .columns = 12, .rows = 2, .depth = 1, .split = 12};
        for (int row = 0; row < 2; row++)
            for (int from = 0, k = 0; from < 12; from = bond[i].joint[row][k++]) {
                p.block[p.blocks++] =
                    (Block){{from, row, 0, bond[i].joint[row][k] - from, 1, 1}, 0};
                for (int c = from; c < bond[i].joint[row][k]; c++) p.owner[row][c][0] = p.blocks;
            }
        put_pile(&f, &p, 0, bond[i].lap);
        write_folder(&f, NULL, NULL);
        run(&f, &heard, &fault);
        if (heard.lines != says(&heard, "comes apart")) { /* as a stack does */
            print(&heard, &fault);
            fail_msg("%s bond", bond[i].name);
        }
        remove_folder(&f);
        free_folder(&f);
    }
}

static void what_does_not_hold_is_said(void **state)
{
    (void)state;
    static Pile pile;
    Folder f;
    for (seed = 1; make_pile(&pile, 1), pieces(&pile, 0, -1) < 2;) {
    }
    put_pile(&f, &pile, 0, NULL);
    write_folder(&f, NULL, NULL);
    expect(&f, "comes apart into");
}

/* Every allocation fails in turn; the folder is always the same afterwards. */
static void failed_allocations_are_faults(void **state)
{
    (void)state;
    for (int i = 0; i < PLANS; i++) {
        Folder f;
        Heard heard;
        Fault fault;
        make[i](&f);
        write_folder(&f, NULL, NULL);
        long n = 0;
        for (;; n++) {
            memory_fail_after(n);
            const Status status = run(&f, &heard, &fault);
            const long left = memory_countdown();
            memory_fail_after(-1);
            if (left >= 0) {
                assert_int_equal(status, STATUS_OK);
                break;
            }
            if (status != STATUS_NO_RESOURCE) {
                print(&heard, &fault);
                fail_msg("allocation %ld failed, status %d", n, status);
            }
            assert_non_null(strstr(fault.text, "memory"));
        }
        assert_true(n > 20);
        remove_folder(&f);
        free_folder(&f);
    }
}

int main(void)
{
    const struct CMUnitTest test[] = {
        cmocka_unit_test(sound_plans_hold),
        cmocka_unit_test(each_broken_promise_is_said),
        cmocka_unit_test(pictures_of_cells_are_held_to_the_plan),
        cmocka_unit_test(malformed_files_are_named),
        cmocka_unit_test(a_missing_plan_is_said),
        cmocka_unit_test(lines_are_capped),
        cmocka_unit_test(strangers_are_left_alone),
        cmocka_unit_test(random_builds_agree_with_brute_force),
        cmocka_unit_test(bonds_lap_as_masonry_says),
        cmocka_unit_test(what_does_not_hold_is_said),
        cmocka_unit_test(failed_allocations_are_faults),
    };
    return cmocka_run_group_tests(test, NULL, NULL);
}
