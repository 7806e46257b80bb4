/* The front door: formats told by content, BMP, TGA, GIF and PNM written by hand from
 * their definitions, standard input, digests, flat memory; and everything that can be
 * wrong with a file, each case named after what is bad. */
#include <stdio.h>

#include <jpeglib.h>
#include <png.h>
#include <tiffio.h>

#include "support/stills.h"

#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>

static const PictureOptions usual = {
    .limit_pixels = 1e9, .limit_bytes = 1e9, .ground = {255, 255, 255}};

/* ---- Small pictures, as bytes ---- */

typedef struct File {
    const char *name;
    size_t size;
    uint8_t bytes[6000];
} File;

static void put(File *file, const void *bytes, size_t size)
{
    assert_true(file->size + size <= sizeof file->bytes);
    memcpy(file->bytes + file->size, bytes, size);
    file->size += size;
}

static void put_le(File *file, uint32_t value, int size)
{
    for (int i = 0; i < size; i++) put(file, &(uint8_t){(uint8_t)(value >> 8 * i)}, 1);
}

enum { WIDE = 5, HIGH = 3 };

/* The picture of most tests: 8-bit RGB, row 0 on top. */
static uint8_t pixel(int x, int y, int c) { return (uint8_t)(x * 50 + y * 17 + c * 23); }

static Xyz pixel_xyz(int x, int y)
{
    return xyz_of_srgb(pixel(x, y, 0) / 255.0, pixel(x, y, 1) / 255.0, pixel(x, y, 2) / 255.0);
}

static void assert_pixels(const char *path)
{
    Cells cells = cells_png_read(path, NULL, 0, 0);
    assert_int_equal(cells.columns, WIDE);
    assert_int_equal(cells.rows, HIGH);
    for (int y = 0; y < HIGH; y++)
        for (int x = 0; x < WIDE; x++)
            assert_xyz(cells_xyz(&cells, x, y), pixel_xyz(x, y), 2e-7, path);
    cells_free(&cells);
}

static File make_bmp(void)
{
    File file = {.name = "a.bmp"};
    put(&file, "BM", 2);
    put_le(&file, 54 + 16 * HIGH, 4);
    put_le(&file, 0, 4);
    put_le(&file, 54, 4);
    put_le(&file, 40, 4);
    put_le(&file, WIDE, 4);
    put_le(&file, HIGH, 4);
    put_le(&file, 1, 2);
    put_le(&file, 24, 2);
    for (int i = 0; i < 6; i++) put_le(&file, 0, 4);
    for (int y = HIGH - 1; y >= 0; y--) {
        for (int x = 0; x < WIDE; x++)
            for (int c = 2; c >= 0; c--) put_le(&file, pixel(x, y, c), 1);
        put_le(&file, 0, 1);
    }
    return file;
}

static File make_tga(void)
{
    File file = {.name = "a.tga"};
    put(&file, "\0\0\2\0\0\0\0\0\0\0\0\0", 12);
    put_le(&file, WIDE, 2);
    put_le(&file, HIGH, 2);
    put(&file, "\x18\x20", 2); /* 24 bits, from the top */
    for (int y = 0; y < HIGH; y++)
        for (int x = 0; x < WIDE; x++)
            for (int c = 2; c >= 0; c--) put_le(&file, pixel(x, y, c), 1);
    return file;
}

/* Two frames, of which the first counts; index 15 is transparent. Codes are not
 * compressed: 5 bits each, with a clear code before the table would grow. */
static File make_gif(void)
{
    File file = {.name = "a.gif"};
    put(&file, "GIF89a", 6);
    put_le(&file, WIDE, 2);
    put_le(&file, HIGH, 2);
    put(&file, "\xf3\0\0", 3); /* 16 colours */
    for (int i = 0; i < 16; i++)
        for (int c = 0; c < 3; c++) put_le(&file, pixel(i % WIDE, i / WIDE, c), 1);
    for (int frame = 0; frame < 2; frame++) {
        put(&file, "!\xf9\4\1\0\0\x0f\0", 8);
        put(&file, ",\0\0\0\0", 5);
        put_le(&file, WIDE, 2);
        put_le(&file, HIGH, 2);
        put(&file, "\0\4", 2);
        uint8_t packed[64] = {0};
        size_t bit = 0;
        for (int i = 0; i <= WIDE * HIGH; i++) {
            const int code = i == WIDE * HIGH ? 17 : frame ? 0 : i;
            const int codes[2] = {16, code};
            for (int k = i % 8 == 0 ? 0 : 1; k < 2; k++)
                for (int b = 0; b < 5; b++, bit++)
                    packed[bit / 8] |= (uint8_t)((codes[k] >> b & 1) << bit % 8);
        }
        put_le(&file, (uint32_t)(bit + 7) / 8, 1);
        put(&file, packed, (bit + 7) / 8);
        put_le(&file, 0, 1);
    }
    put(&file, ";", 1);
    return file;
}

static File make_pnm(int kind, int most)
{
    File file = {.name = "a.pnm"};
    char text[64];
    const bool bitmap = kind == 1 || kind == 4, colour = kind == 3 || kind == 6;
    snprintf(text, sizeof text, bitmap ? "P%d\n# a note\n%d %d\n" : "P%d\n# a note\n%d %d %d\n",
             kind, WIDE, HIGH, most);
    put(&file, text, strlen(text));
    for (int y = 0; y < HIGH; y++) {
        uint8_t bits = 0;
        for (int x = 0; x < WIDE; x++)
            for (int c = 0; c < (colour ? 3 : 1); c++) {
                const int code = bitmap ? pixel(x, y, 0) & 1 : (pixel(x, y, c) * most + 127) / 255;
                snprintf(text, sizeof text, "%d ", code);
                if (kind <= 3) put(&file, text, strlen(text));
                if (kind >= 5 && most > 255) put_le(&file, (uint32_t)code >> 8, 1);
                if (kind >= 5) put_le(&file, (uint32_t)code & 255, 1);
                bits |= (uint8_t)(code << (7 - x));
            }
        if (kind == 4) put(&file, &bits, 1);
        if (kind <= 3) put(&file, "\n", 1);
    }
    return file;
}

static File load(const char *name)
{
    File file = {.name = name};
    size_t size;
    uint8_t *bytes = bytes_load(in_folder(name), &size);
    put(&file, bytes, size);
    free(bytes);
    return file;
}

static File make_png(int interlace)
{
    const char *path = in_folder("a.png");
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    FILE *out = fopen(path, "wb");
    png_init_io(png, out);
    png_set_IHDR(png, info, WIDE, HIGH, 8, PNG_COLOR_TYPE_RGB, interlace, 0, 0);
    png_set_sRGB(png, info, 1);
    png_write_info(png, info);
    const int passes = interlace ? png_set_interlace_handling(png) : 1;
    for (int p = 0; p < passes; p++)
        for (int y = 0; y < HIGH; y++) {
            uint8_t row[3 * WIDE];
            for (int i = 0; i < 3 * WIDE; i++) row[i] = pixel(i / 3, y, i % 3);
            png_write_row(png, row);
        }
    png_write_end(png, NULL);
    png_destroy_write_struct(&png, &info);
    fclose(out);
    return load("a.png");
}

static void write_jpeg(const char *path, int width, int height, bool progressive)
{
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    FILE *out = fopen(path, "wb");
    jpeg_stdio_dest(&jpeg, out);
    jpeg.image_width = (JDIMENSION)width;
    jpeg.image_height = (JDIMENSION)height;
    jpeg.input_components = 3;
    jpeg.in_color_space = JCS_RGB;
    jpeg_set_defaults(&jpeg);
    if (progressive) jpeg_simple_progression(&jpeg);
    jpeg_start_compress(&jpeg, TRUE);
    uint8_t *row = malloc(3 * (size_t)width);
    JSAMPROW rows[1] = {row};
    for (int y = 0; y < height; y++) {
        for (int i = 0; i < 3 * width; i++) row[i] = pixel(i / 3 / 4, y / 4, i % 3);
        jpeg_write_scanlines(&jpeg, rows, 1);
    }
    free(row);
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    fclose(out);
}

static File make_jpeg(bool progressive)
{
    write_jpeg(in_folder("a.jpg"), 40, 40, progressive);
    return load("a.jpg");
}

static void write_tiff(const char *path, int width, int height, uint16_t compression, bool tiled)
{
    TIFF *tiff = TIFFOpen(path, "w");
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, width);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, height);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 3);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, compression);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    uint8_t *row = calloc(3 * (size_t)width + 16 * 16 * 3, 1);
    if (tiled) {
        TIFFSetField(tiff, TIFFTAG_TILEWIDTH, 16);
        TIFFSetField(tiff, TIFFTAG_TILELENGTH, 16);
        for (int y = 0; y < height; y += 16)
            for (int x = 0; x < width; x += 16) {
                for (int i = 0; i < 16 * 16 * 3; i++)
                    row[i] = pixel(x + i / 3 % 16, y + i / 48, i % 3);
                TIFFWriteTile(tiff, row, (uint32_t)x, (uint32_t)y, 0, 0);
            }
    } else {
        TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 2);
        for (int y = 0; y < height; y++) {
            for (int i = 0; i < 3 * width; i++) row[i] = pixel(i / 3, y, i % 3);
            TIFFWriteScanline(tiff, row, (uint32_t)y, 0);
        }
    }
    free(row);
    TIFFClose(tiff);
}

static File make_tiff(uint16_t compression, bool tiled)
{
    write_tiff(in_folder("a.tif"), WIDE, HIGH, compression, tiled);
    return load("a.tif");
}

/* ---- What reads ---- */

/* Under a name that tells nothing, or lies. */
static void test_content_decides(void **state)
{
    (void)state;
    const File files[] = {make_bmp(),
                          make_tga(),
                          make_gif(),
                          make_png(0),
                          make_png(1),
                          make_tiff(COMPRESSION_LZW, false),
                          make_tiff(COMPRESSION_NONE, true),
                          make_pnm(3, 255),
                          make_pnm(6, 255)};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        bytes_write(in_folder("picture.jpg"), files[i].bytes, files[i].size);
        assert_pixels(in_folder("picture.jpg"));
    }
}

/* All six kinds, and maxima that are not 255: 16 bits are kept. */
static void test_pnm(void **state)
{
    (void)state;
    static const int most[] = {1, 7, 100, 255, 256, 1023, 65535};
    for (int kind = 1; kind <= 6; kind++)
        for (size_t m = 0; m < sizeof most / sizeof *most; m++) {
            const bool bitmap = kind == 1 || kind == 4, colour = kind == 3 || kind == 6;
            const File file = make_pnm(kind, most[m]);
            bytes_write(in_folder("a.pnm"), file.bytes, file.size);
            Cells cells = cells_png_read(in_folder("a.pnm"), NULL, 0, 0);
            for (int y = 0; y < HIGH; y++)
                for (int x = 0; x < WIDE; x++) {
                    double v[3];
                    for (int c = 0; c < 3; c++) {
                        const int code = pixel(x, y, colour ? c : 0);
                        v[c] = bitmap ? 1 - (code & 1)
                                      : (code * most[m] + 127) / 255 / (double)most[m];
                    }
                    assert_xyz(cells_xyz(&cells, x, y), xyz_of_srgb(v[0], v[1], v[2]), 2e-5, "pnm");
                }
            cells_free(&cells);
        }
}

/* A transparent index of a GIF shows the ground. */
static void test_gif_transparency(void **state)
{
    (void)state;
    File file = make_gif();
    for (size_t i = 0; i + 8 < file.size; i++)
        if (!memcmp(file.bytes + i, "!\xf9\4\1", 4)) file.bytes[i + 6] = 7; /* was 15 */
    bytes_write(in_folder("clear.gif"), file.bytes, file.size);
    const PictureOptions options = {
        .limit_pixels = 1e9, .limit_bytes = 1e9, .ground = {10, 200, 30}};
    Cells cells = cells_png_read(in_folder("clear.gif"), &options, 0, 0);
    assert_xyz(cells_xyz(&cells, 2, 1), xyz_of_srgb(10 / 255.0, 200 / 255.0, 30 / 255.0), 1e-6,
               "ground");
    assert_xyz(cells_xyz(&cells, 3, 1), pixel_xyz(3, 1), 1e-6, "beside");
    cells_free(&cells);
}

/* SHA-256 against coreutils' sha256sum, whatever was read of the file before. */
static void test_digest(void **state)
{
    (void)state;
    const File files[] = {make_png(0), make_jpeg(false), make_tiff(COMPRESSION_LZW, false),
                          make_gif()};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        char command[200], line[65] = "";
        bytes_write(in_folder("sum"), files[i].bytes, files[i].size);
        snprintf(command, sizeof command, "sha256sum %s", in_folder("sum"));
        FILE *pipe = popen(command, "r");
        assert_non_null(fgets(line, sizeof line, pipe));
        pclose(pipe);
        Cells cells = cells_png_read(in_folder("sum"), NULL, 1, 1);
        assert_string_equal(cells.facts.sha256, line);
        cells_free(&cells);
    }
    /* FIPS 180-4's own example. */
    char text[DIGEST_TEXT];
    assert_int_equal(digest_of("abc", 3, text, NULL), STATUS_OK);
    assert_string_equal(text, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

/* "-": from a pipe and from a file. */
static void test_standard_input(void **state)
{
    (void)state;
    const File files[] = {make_png(0), make_tiff(COMPRESSION_NONE, false)};
    const int kept = dup(STDIN_FILENO);
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        int ends[2];
        assert_int_equal(pipe(ends), 0);
        assert_int_equal(write(ends[1], files[i].bytes, files[i].size), files[i].size);
        close(ends[1]);
        dup2(ends[0], STDIN_FILENO);
        close(ends[0]);
        Cells piped, file;
        Fault fault = {0};
        assert_int_equal(cells_try(&piped, "-", &usual, 0, 0, 1, &fault), STATUS_OK);
        bytes_write(in_folder("in"), files[i].bytes, files[i].size);
        const int plain = open(in_folder("in"), O_RDONLY);
        dup2(plain, STDIN_FILENO);
        close(plain);
        assert_int_equal(cells_try(&file, "-", &usual, 0, 0, 1, &fault), STATUS_OK);
        assert_xyz(cells_xyz(&piped, 4, 2), pixel_xyz(4, 2), 2e-7, "piped");
        assert_memory_equal(piped.value, file.value, WIDE * HIGH * 3 * sizeof(float));
        assert_string_equal(piped.facts.sha256, file.facts.sha256);
        cells_free(&piped);
        cells_free(&file);
    }
    dup2(kept, STDIN_FILENO);
    close(kept);
}

/* Peak memory of a child that reads this file, in KiB. */
static long peak_of(const char *path)
{
    const pid_t child = fork();
    if (child == 0) {
        Cells cells;
        const Status status = cells_try(&cells, path, &usual, 20, 20, 2, NULL);
        _exit(status ? 1 : 0);
    }
    int status;
    struct rusage usage;
    assert_true(wait4(child, &status, 0, &usage) == child);
    assert_int_equal(status, 0);
    return usage.ru_maxrss;
}

static void write_tall_png(const char *path, int height)
{
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    FILE *out = fopen(path, "wb");
    png_init_io(png, out);
    png_set_compression_level(png, 1);
    png_set_IHDR(png, info, 400, (png_uint_32)height, 8, PNG_COLOR_TYPE_RGB, 0, 0, 0);
    png_write_info(png, info);
    for (int y = 0; y < height; y++) {
        uint8_t row[3 * 400];
        for (int i = 0; i < 3 * 400; i++) row[i] = pixel(i / 3, y, i % 3);
        png_write_row(png, row);
    }
    png_write_end(png, NULL);
    png_destroy_write_struct(&png, &info);
    fclose(out);
}

/* A picture twenty times as high takes no more memory (decoded it would be 24 MB). */
static void test_flat_memory(void **state)
{
    (void)state;
    long peak[2];
    for (int kind = 0; kind < 5; kind++) {
        for (int i = 0; i < 2; i++) {
            const char *path = in_folder("tall");
            const int height = i ? 20000 : 1000;
            if (kind == 0) write_tall_png(path, height);
            if (kind == 1) write_jpeg(path, 400, height, false);
            if (kind == 2) write_tiff(path, 400, height, COMPRESSION_LZW, false);
            if (kind == 3) write_tiff(path, 400, height, COMPRESSION_NONE, false);
            if (kind == 4) write_tiff(path, 400, height, COMPRESSION_ADOBE_DEFLATE, true);
            peak[i] = peak_of(path);
        }
        if (peak[1] > peak[0] + 4000)
            fail_msg("kind %d: %ld KiB, twenty times as high %ld KiB", kind, peak[0], peak[1]);
    }
}

/* ---- What does not ---- */

/* A fault in one line that names the file and says how to mend it. */
static void assert_line(const Fault *fault, const char *name)
{
    if (strncmp(fault->text, name, strlen(name)) || !strstr(fault->text, "; ") ||
        strchr(fault->text, '\n'))
        fail_msg("poor message: %s", fault->text);
}

static Status try_bytes(const void *bytes, size_t size, Fault *fault)
{
    const char *path = in_folder("bad");
    Cells cells;
    bytes_write(path, bytes, size);
    const Status status = cells_try(&cells, path, &usual, 3, 2, 1, fault);
    if (status)
        assert_line(fault, path);
    else
        cells_free(&cells);
    return status;
}

typedef struct Bad {
    const char *name, *bytes;
    size_t size;
    const char *says;
} Bad;

#define BAD(name, bytes, says)                                                                     \
    {                                                                                              \
        name, bytes, sizeof bytes - 1, says                                                        \
    }

static const Bad bad[] = {
    BAD("empty", "", "is empty"),
    BAD("one byte", "x", "no picture of a known kind"),
    BAD("text", "This is a letter, not a picture of any kind.", "no picture of a known kind"),
    BAD("webp", "RIFF\0\0\0\0WEBPVP8 ", "is WebP, which is not taken"),
    BAD("heif",
        "\0\0\0\x18"
        "ftypheic\0\0\0\0",
        "is HEIF or AVIF, which is not taken"),
    BAD("pdf", "%PDF-1.7\n", "is PDF, which is not taken"),
    BAD("png head only", "\x89PNG\r\n\x1a\n", "ends too early"),
    BAD("png zero width",
        "\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\0\0\0\0\0\1\x08\2\0\0\0\x1b\x9b\x07\x61",
        "broken PNG"),
    BAD("png wrong head checksum",
        "\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\0\1\0\0\0\1\x08\2\0\0\0\0\0\0\0", "broken PNG"),
    BAD("jpeg start only", "\xff\xd8\xff\xe0", "ends too early"),
    BAD("jpeg without pixels", "\xff\xd8\xff\xd9", "broken JPEG"),
    BAD("jpeg zero height",
        "\xff\xd8\xff\xc0\0\x0b\x08\0\0\0\x10\1\1\x11\0\xff\xda\0\x08\1\1\0\0\x3f\0",
        "broken JPEG"),
    BAD("jpeg of 65500 x 65500",
        "\xff\xd8\xff\xc0\0\x0b\x08\xff\xdc\xff\xdc\1\1\x11\0\xff\xda\0\x08\1\1\0\0\x3f\0",
        "over the limit of 1000 megapixels"),
    BAD("jpeg of 30000 x 30000 without data",
        "\xff\xd8\xff\xc0\0\x0b\x08\x75\x30\x75\x30\1\1\x11\0\xff\xda\0\x08\1\1\0\0\x3f\0",
        "broken JPEG"),
    BAD("tiff head only", "II*\0", "broken TIFF"),
    BAD("tiff directory beyond the end", "II*\0\xff\xff\xff\x7f", "broken TIFF"),
    BAD("tiff that points at itself", "II*\0\0\0\0\0\0\0\0\0", "broken TIFF"),
    BAD("tiff without size", "II*\0\x08\0\0\0\1\0\x06\1\3\0\1\0\0\0\2\0\0\0\0\0\0\0", "TIFF"),
    BAD("tiff huge",
        "\111\111\052\000\010\000\000\000\005\000\000\001\004\000\001\000\000\000\000\204\003\000"
        "\001\001\004\000\001\000\000\000\000\204\003\000\021\001\004\000\001\000\000\000\010\000"
        "\000\000\026\001\004\000\001\000\000\000\001\000\000\000\027\001\004\000\001\000\000\000"
        "\001\000\000\000\000\000\000\000",
        "over the limit"),
    BAD("tiff wider than any",
        "\111\111\052\000\010\000\000\000\005\000\000\001\004\000\001\000\000\000\377\377\377\377"
        "\001\001\004\000\001\000\000\000\001\000\000\000\021\001\004\000\001\000\000\000\010\000"
        "\000\000\026\001\004\000\001\000\000\000\001\000\000\000\027\001\004\000\001\000\000\000"
        "\001\000\000\000\000\000\000\000",
        "more than 1000000 on a side"),
    BAD("pnm unknown kind", "P9\n1 1\n255\n0", "no picture of a known kind"),
    BAD("pnm without numbers", "P5\n", "its head lacks a number"),
    BAD("pnm negative", "P5\n-3 4\n255\n", "its head lacks a number"),
    BAD("pnm zero", "P5\n0 4\n255\n", "has no pixels"),
    BAD("pnm huge", "P5\n900000 900000\n255\n", "over the limit"),
    BAD("pnm overflowing", "P5\n99999999999999999999 1\n255\n", "its head lacks a number"),
    BAD("pnm maximum of 0", "P5\n1 1\n0\n\0", "maximum"),
    BAD("pnm maximum of 65536", "P5\n1 1\n65536\n\0\0", "maximum"),
    BAD("pnm over its maximum", "P2\n1 1\n7\n8\n", "over the maximum"),
    BAD("pnm letters for numbers", "P2\n1 1\n7\nx\n", "a number is missing"),
    BAD("pnm short", "P5\n2 2\n255\nabc", "ends too early"),
    BAD("bitmap of twos", "P1\n1 1\n2\n", "no bit"),
    BAD("bmp head only", "BM", "ends too early"),
    BAD("bmp of a foreign head", "BM\0\0\0\0\0\0\0\0\x36\0\0\0\x99\0\0\0\1\0\0\0\1\0\0\0\1\0\x18\0",
        "broken BMP"),
    BAD("gif head only", "GIF89a", "ends too early"),
    BAD("gif without frames", "GIF89a\1\0\1\0\0\0\0;;;;;;;;;;;;;;;;", "broken GIF"),
    BAD("tga without pixels", "\0\0\2\0\0\0\0\0\0\0\0\0\2\0\2\0\x18\x20", "broken TGA"),
};

static void test_bad_files(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        Fault fault = {0};
        if (try_bytes(bad[i].bytes, bad[i].size, &fault) != STATUS_DATA ||
            !strstr(fault.text, bad[i].says))
            fail_msg("%s: %s", bad[i].name, fault.text);
    }
}

static void test_bad_places(void **state)
{
    (void)state;
    Cells cells;
    Fault fault = {0};
    const char *path = in_folder("missing");
    assert_int_equal(cells_try(&cells, path, &usual, 1, 1, 1, &fault), STATUS_NO_INPUT);
    assert_line(&fault, path);
    assert_int_equal(cells_try(&cells, folder, &usual, 1, 1, 1, &fault), STATUS_NO_INPUT);
    assert_line(&fault, folder);
}

/* The limit is the caller's. */
static void test_limit(void **state)
{
    (void)state;
    const File file = make_png(0);
    PictureOptions options = usual;
    Cells cells;
    Fault fault = {0};
    bytes_write(in_folder("a.png"), file.bytes, file.size);
    options.limit_pixels = WIDE * HIGH;
    assert_int_equal(cells_try(&cells, in_folder("a.png"), &options, 0, 0, 1, &fault), STATUS_OK);
    cells_free(&cells);
    options.limit_pixels = WIDE * HIGH - 1;
    assert_int_equal(cells_try(&cells, in_folder("a.png"), &options, 0, 0, 1, &fault), STATUS_DATA);
    assert_non_null(strstr(fault.text, "raise the limit"));
}

enum { CORPUS = 14 };

static void make_corpus(File corpus[CORPUS])
{
    const File files[CORPUS] = {make_png(0),
                                make_png(1),
                                make_jpeg(false),
                                make_jpeg(true),
                                make_tiff(COMPRESSION_NONE, false),
                                make_tiff(COMPRESSION_LZW, false),
                                make_tiff(COMPRESSION_ADOBE_DEFLATE, true),
                                make_tiff(COMPRESSION_PACKBITS, false),
                                make_bmp(),
                                make_tga(),
                                make_gif(),
                                make_pnm(3, 255),
                                make_pnm(6, 65535),
                                make_pnm(4, 1)};
    memcpy(corpus, files, sizeof files);
}

/* Where a whole picture may be had from less than the whole file: what follows the
 * pixels (an end mark, a second frame, padding, a last blank). */
static size_t needed(const File *file)
{
    if (!strcmp(file->name, "a.png")) return file->size - 20;
    if (!strcmp(file->name, "a.jpg")) return file->size - 4;
    if (!strcmp(file->name, "a.gif")) return file->size / 2;
    if (!strcmp(file->name, "a.pnm")) return file->size - 3;
    if (!strcmp(file->name, "a.bmp")) return file->size - 1;
    return file->size;
}

/* Cut off at every byte: a fault, until all pixels are there. */
static void test_truncated_everywhere(void **state)
{
    (void)state;
    static File corpus[CORPUS];
    make_corpus(corpus);
    for (int i = 0; i < CORPUS; i++)
        for (size_t size = 0; size < corpus[i].size; size++) {
            Fault fault = {0};
            const Status status = try_bytes(corpus[i].bytes, size, &fault);
            /* Only TIFF's own order of things lets it do without its last bytes. */
            if (!status && size < needed(&corpus[i]))
                fail_msg("%s (%d), %zu bytes of %zu: read", corpus[i].name, i, size,
                         corpus[i].size);
        }
}

/* Every byte spoiled in three ways: a fault or a picture, never a crash. */
static void test_spoiled_everywhere(void **state)
{
    (void)state;
    static File corpus[CORPUS];
    make_corpus(corpus);
    for (int i = 0; i < CORPUS; i++)
        for (size_t at = 0; at < corpus[i].size; at++)
            for (int way = 0; way < 3; way++) {
                Fault fault = {0};
                const uint8_t kept = corpus[i].bytes[at];
                corpus[i].bytes[at] = way == 0 ? (uint8_t)~kept : way == 1 ? 0 : kept ^ 1;
                try_bytes(corpus[i].bytes, corpus[i].size, &fault);
                corpus[i].bytes[at] = kept;
            }
}

/* A PNG's checksum guards each byte of its pixels: any change there is found. */
static void test_wrong_checksum(void **state)
{
    (void)state;
    File file = make_png(0);
    size_t start = 0;
    while (memcmp(file.bytes + start, "IDAT", 4)) start++;
    for (size_t at = start + 4; at < file.size - 12; at++) {
        Fault fault = {0};
        file.bytes[at] ^= 0x10;
        assert_int_equal(try_bytes(file.bytes, file.size, &fault), STATUS_DATA);
        file.bytes[at] ^= 0x10;
    }
}

/* Every allocation of the library fails in turn: a fault that says so, or, where it was
 * for something that can be done without, the very same cells. */
static void test_no_memory(void **state)
{
    (void)state;
    static File corpus[CORPUS];
    make_corpus(corpus);
    for (int i = 0; i < CORPUS; i++) {
        const char *path = in_folder("memory");
        bytes_write(path, corpus[i].bytes, corpus[i].size);
        Cells whole = cells_png_read(path, NULL, 3, 2);
        int faults = 0;
        for (int n = 0, fired = 1; fired; n++) {
            Cells cells;
            Fault fault = {0};
            memory_fail_after(n);
            const Status status = cells_try(&cells, path, &usual, 3, 2, 2, &fault);
            fired = memory_countdown() < 0;
            memory_fail_after(-1);
            if (status && status != STATUS_NO_RESOURCE)
                fail_msg("%s, allocation %d: %s", corpus[i].name, n, fault.text);
            if (!status) assert_memory_equal(cells.value, whole.value, 18 * sizeof(float));
            if (!status) cells_free(&cells);
            faults += status != STATUS_OK;
        }
        assert_true(faults > 10);
        cells_free(&whole);
    }
}

/* ---- */

static int kept_error;

/* The libraries must not chatter: standard error goes to a file, which stays empty. */
static int silence_begin(void **state)
{
    if (folder_make(state)) return -1;
    const int file = open(in_folder("stderr"), O_CREAT | O_WRONLY | O_TRUNC, 0600);
    kept_error = dup(STDERR_FILENO);
    return dup2(file, STDERR_FILENO) < 0;
}

static int silence_end(void **state)
{
    size_t size;
    uint8_t *said = bytes_load(in_folder("stderr"), &size);
    dup2(kept_error, STDERR_FILENO);
    fwrite(said, 1, size, stderr);
    free(said);
    return folder_remove(state) || size != 0;
}

int main(void)
{
    const struct CMUnitTest reads[] = {
        cmocka_unit_test(test_content_decides),  cmocka_unit_test(test_pnm),
        cmocka_unit_test(test_gif_transparency), cmocka_unit_test(test_digest),
        cmocka_unit_test(test_standard_input),   cmocka_unit_test(test_flat_memory)};
    const struct CMUnitTest refuses[] = {cmocka_unit_test(test_bad_files),
                                         cmocka_unit_test(test_bad_places),
                                         cmocka_unit_test(test_limit),
                                         cmocka_unit_test(test_truncated_everywhere),
                                         cmocka_unit_test(test_spoiled_everywhere),
                                         cmocka_unit_test(test_wrong_checksum),
                                         cmocka_unit_test(test_no_memory)};
    return cmocka_run_group_tests(reads, folder_make, folder_remove) +
           cmocka_run_group_tests(refuses, silence_begin, silence_end);
}
