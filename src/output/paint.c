/* The rows of a picture are cut into pieces that are packed at the same time, each by its own
 * deflate, and joined into one zlib stream: a piece ends at a whole byte, and the Adler-32 of the
 * whole follows from those of the pieces. libpng writes the chunks and their checks.
 *
 * Where a piece ends depends on the picture alone, so the number of threads never changes a byte.
 * RGB rows are stored as differences from the row above: a face repeats it except where a cell
 * ends. A row's worth of memory and of packed pieces is held, never the picture.
 *
 * Sources: PNG, ISO/IEC 15948, 9.2 (filters) and 10 (compression); zlib, RFC 1950. */
#include "output/paint.h"

#include "base/bands.h"
#include "base/memory.h"
#include "base/output_file.h"
#include "base/written_png.h"

#include <errno.h>
#include <setjmp.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <png.h>
#include <zlib.h>

/* Rows that are packed by themselves, as one piece of the zlib stream (RFC 1950): it begins
 * anew, and ends at a whole byte. */
typedef struct Pack {
    z_stream stream;
    bool begun; /* the stream exists */
    uint8_t *raw, *packed;
    size_t raw_size, room, packed_size;
    uLong sum;   /* Adler-32 of the raw bytes */
    bool last;   /* of the picture */
    bool broken; /* zlib failed */
} Pack;

/* Bytes of a piece. One that begins anew cannot refer to what was before it, so pieces must be
 * long against the window of 32 KiB: eight windows. */
enum { PACK_BYTES = 256 * 1024, MOST_PACKS = 8 };

/* Of zlib's levels the fastest for differences, which are mostly zeros and pack as well at any;
 * zlib's own choice (6) for rows as they are. */
enum { LEVEL_OF_DIFFERENCES = 1, LEVEL_OF_ROWS = 6 };

struct Paint {
    FILE *file;
    bool in_memory;
    png_structp png;
    png_infop info;
    bool up;          /* rows are stored as the difference from the row above */
    size_t row_bytes; /* without the filter's byte */
    int rows_left;
    uint8_t *above;
    Pack pack[MOST_PACKS];
    int packs, filling; /* the packs before `filling` are full */
    uLong sum;
    char path[1]; /* as long as it needs */
};

static void on_png_error(png_structp png, png_const_charp message)
{
    (void)message;
    longjmp(png_jmpbuf(png), 1);
}
static void on_png_warning(png_structp png, png_const_charp message)
{
    (void)png;
    (void)message;
}
static png_voidp png_take(png_structp png, png_alloc_size_t size)
{
    (void)png;
    return memory_create(1, size);
}
static void png_give(png_structp png, png_voidp block)
{
    (void)png;
    memory_free(block);
}

static void write_data(Paint *p, const uint8_t *bytes, size_t size)
{
    static const png_byte idat[5] = "IDAT";
    png_write_chunk(p->png, idat, bytes, size);
}

static void write_header(Paint *p, const PaintOptions *options)
{
    const PaintKind kind = options->kind;
    const int type = kind == PAINT_RGB       ? PNG_COLOR_TYPE_RGB
                     : kind == PAINT_INDEXED ? PNG_COLOR_TYPE_PALETTE
                                             : PNG_COLOR_TYPE_GRAY;
    png_set_IHDR(p->png, p->info, (png_uint_32)options->width, (png_uint_32)options->height,
                 kind == PAINT_GREY16 ? 16 : 8, type, PNG_INTERLACE_NONE,
                 PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    if (type != PNG_COLOR_TYPE_GRAY) png_set_sRGB(p->png, p->info, PNG_sRGB_INTENT_RELATIVE);
    if (kind == PAINT_INDEXED) {
        png_color plte[256];
        for (int i = 0; i < options->colours; i++)
            plte[i] =
                (png_color){options->colour[i][0], options->colour[i][1], options->colour[i][2]};
        png_set_PLTE(p->png, p->info, plte, options->colours);
        png_byte opaque[256];
        memset(opaque, 255, sizeof opaque);
        if (options->clear) opaque[options->colours - 1] = 0;
        if (options->clear) png_set_tRNS(p->png, p->info, opaque, options->colours, NULL);
    }
    png_write_info(p->png, p->info);
    /* RFC 1950: deflate, a window of 32 KiB. */
    static const uint8_t stream[2] = {0x78, 0x01};
    write_data(p, stream, sizeof stream);
}

static voidpf zlib_take(voidpf context, uInt count, uInt size)
{
    (void)context;
    return memory_create(count, size);
}
static void zlib_give(voidpf context, voidpf block)
{
    (void)context;
    memory_free(block);
}

static bool pack_init(Pack *k, size_t bytes, int level)
{
    k->stream.zalloc = zlib_take;
    k->stream.zfree = zlib_give;
    k->begun =
        deflateInit2(&k->stream, level, Z_DEFLATED, -MAX_WBITS, 8, Z_DEFAULT_STRATEGY) == Z_OK;
    if (!k->begun) return false;
    /* What zlib promises for one call, and the marker at the end of a piece. */
    k->room = deflateBound(&k->stream, bytes) + 16;
    k->raw = memory_create(bytes, 1);
    k->packed = memory_create(k->room, 1);
    return k->raw && k->packed;
}

static Status packs_init(Paint *p, int threads, Fault *fault)
{
    const size_t row = p->row_bytes + 1, rows = row < PACK_BYTES ? PACK_BYTES / row : 1;
    p->packs = threads < 1 ? 1 : threads < MOST_PACKS ? threads : MOST_PACKS;
    p->above = memory_create(p->row_bytes, 1);
    bool made = p->above != NULL;
    for (int i = 0; i < p->packs && made; i++)
        made = pack_init(&p->pack[i], rows * row, p->up ? LEVEL_OF_DIFFERENCES : LEVEL_OF_ROWS);
    p->sum = adler32(0, NULL, 0);
    return made ? STATUS_OK : memory_fault(fault, rows, row);
}

Status paint_create(Paint **out, const PaintPlace *place, const PaintOptions *options, Fault *fault)
{
    const char *path = place->path;
    *out = NULL;
    const size_t length = strlen(path);
    Paint *p = memory_create(1, sizeof *p + length);
    if (!p) return memory_fault(fault, 1, sizeof *p + length);
    memcpy(p->path, path, length + 1);
    p->up = options->kind == PAINT_RGB;
    static const size_t bytes[] = {
        [PAINT_RGB] = 3, [PAINT_GREY] = 1, [PAINT_GREY16] = 2, [PAINT_INDEXED] = 1};
    p->row_bytes = (size_t)options->width * bytes[options->kind];
    p->rows_left = options->height;
    p->in_memory = place->memory;
    Status status = packs_init(p, options->threads, fault);
    p->png = png_create_write_struct_2(PNG_LIBPNG_VER_STRING, NULL, on_png_error, on_png_warning,
                                       NULL, png_take, png_give);
    p->info = p->png ? png_create_info_struct(p->png) : NULL;
    if (!status && !p->info) status = memory_fault(fault, 1, 1);
    if (!status)
        status = place->memory ? memory_file_open(&p->file, place->memory, fault)
                               : output_file_open(&p->file, path, fault);
    if (status) {
        paint_free(p);
        return status;
    }
    if (setjmp(png_jmpbuf(p->png))) {
        status = output_file_fault(path, errno, fault);
        paint_free(p);
        return status;
    }
    png_init_io(p->png, p->file);
    write_header(p, options);
    *out = p;
    return STATUS_OK;
}

static void pack_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    for (Pack *k = (Pack *)context + begin; k < (Pack *)context + end; k++) {
        z_stream *z = &k->stream;
        k->sum = adler32(adler32(0, NULL, 0), k->raw, (uInt)k->raw_size);
        z->next_in = k->raw;
        z->avail_in = (uInt)k->raw_size;
        z->next_out = k->packed;
        z->avail_out = (uInt)k->room;
        const int got = deflate(z, k->last ? Z_FINISH : Z_FULL_FLUSH);
        k->broken = got != (k->last ? Z_STREAM_END : Z_OK) || z->avail_in || !z->avail_out;
        k->packed_size = k->room - z->avail_out;
    }
}

/* Packs what is full and writes it out, in order. */
static void write_packs(Paint *p, int count)
{
    bands_run(p->packs, count, 1, pack_rows, p->pack);
    for (int i = 0; i < count; i++) {
        Pack *k = &p->pack[i];
        if (k->broken) png_error(p->png, "zlib failed");
        write_data(p, k->packed, k->packed_size);
        p->sum = adler32_combine(p->sum, k->sum, (z_off_t)k->raw_size);
        k->raw_size = 0;
        deflateReset(&k->stream);
    }
    p->filling = 0;
}

/* Sixteen bytes at any address. */
typedef uint8_t Sixteen __attribute__((vector_size(16), aligned(1), may_alias));

static void subtract(const uint8_t *row, const uint8_t *above, size_t count, uint8_t *to)
{
    size_t i = 0;
    for (; i + 16 <= count; i += 16)
        *(Sixteen *)(to + i) = *(const Sixteen *)(row + i) - *(const Sixteen *)(above + i);
    for (; i < count; i++) to[i] = (uint8_t)(row[i] - above[i]);
}

/* The row with the byte of its filter (PNG specification, 9.2). */
static void pack_row(Paint *p, Pack *k, const uint8_t *row)
{
    uint8_t *to = k->raw + k->raw_size;
    *to++ = p->up ? 2 : 0;
    if (p->up) {
        subtract(row, p->above, p->row_bytes, to);
        memcpy(p->above, row, p->row_bytes);
    } else {
        memcpy(to, row, p->row_bytes);
    }
    k->raw_size += p->row_bytes + 1;
}

Status paint_row(Paint *p, const uint8_t *row, Fault *fault)
{
    if (setjmp(png_jmpbuf(p->png))) return output_file_fault(p->path, errno, fault);
    Pack *k = &p->pack[p->filling];
    pack_row(p, k, row);
    k->last = --p->rows_left == 0;
    if (!k->last && k->raw_size + p->row_bytes + 1 <= PACK_BYTES) return STATUS_OK;
    p->filling++;
    if (k->last || p->filling == p->packs) write_packs(p, p->filling);
    return STATUS_OK;
}

/* A function of its own, so that no variable lives across the jump. */
static bool ended(Paint *p)
{
    if (setjmp(png_jmpbuf(p->png))) return false;
    static const png_byte iend[5] = "IEND";
    const uint8_t sum[4] = {(uint8_t)(p->sum >> 24), (uint8_t)(p->sum >> 16),
                            (uint8_t)(p->sum >> 8), (uint8_t)p->sum};
    write_data(p, sum, sizeof sum);
    png_write_chunk(p->png, iend, NULL, 0);
    return fflush(p->file) == 0;
}

Status paint_finish(Paint *p, Fault *fault)
{
    if (!p) return STATUS_OK;
    Status status = ended(p) ? STATUS_OK : output_file_fault(p->path, errno, fault);
    if (!status && !p->in_memory) status = written_png_check(p->path, fault);
    paint_free(p);
    return status;
}

void paint_free(Paint *p)
{
    if (!p) return;
    if (p->png) png_destroy_write_struct(&p->png, &p->info);
    for (int i = 0; i < p->packs; i++) {
        if (p->pack[i].begun) deflateEnd(&p->pack[i].stream);
        memory_free(p->pack[i].raw);
        memory_free(p->pack[i].packed);
    }
    memory_free(p->above);
    if (p->file) fclose(p->file);
    memory_free(p);
}
