/* TIFF (revision 6.0 and its supplements, BigTIFF too) through libtiff: the first
 * directory, row by row.
 *
 * Where colours lie in planes of their own each plane is read through a handle of its
 * own, so that all of them move down the picture together; of tiles one row of tiles is
 * held. Memory thus follows the width, never the height, save that libtiff holds the
 * stored bytes of the strip in hand: a file that is one compressed strip is held as it
 * is stored. */
#include "base/memory.h"
#include "picture/decoder.h"

#include <tiffio.h>

#include <stdio.h>
#include <string.h>

enum { MOST_SAMPLES = 32, MOST_PLANES = 5, MOST_ROW_BYTES = 1 << 28, MOST_TILES_BYTES = 1 << 30 };

struct Tiff;

typedef struct Plane {
    struct Tiff *of;
    TIFF *tiff;
    uint64_t at;
    int sample;    /* stored sample, where planes are apart */
    uint8_t *held; /* a row, or a row of tiles */
} Plane;

typedef struct Tiff {
    Bytes *bytes;
    Fault *fault;  /* of the call that runs */
    Status status; /* of the fault that a callback has set already, or OK */
    char why[200]; /* libtiff's first complaint in this call */
    Plane plane[MOST_PLANES];
    int planes;
    bool apart, tiled;
    uint32_t width, height, next;
    uint16_t samples, bits, photometric; /* as stored */
    int alpha_sample;                    /* -1: none */
    bool associated;
    PixelFormat format;
    const uint16_t *map[3];
    unsigned map_scale; /* 257 for old maps of 8 bits */
    size_t row_bytes;   /* of one plane's row, as held */
    uint32_t tile_width, tile_height;
    uint8_t *tile;
} Tiff;

/* ---- libtiff's view of the file ---- */

/* Of this thread: what it read last. */
static _Thread_local Plane *in_use;

static tmsize_t tiff_on_read(thandle_t handle, void *buffer, tmsize_t want)
{
    Plane *plane = handle;
    size_t got = 0;
    const Status status =
        bytes_read(plane->of->bytes, plane->at, buffer, (size_t)want, &got, plane->of->fault);
    if (status && !plane->of->status) plane->of->status = status;
    plane->at += got;
    return (tmsize_t)got;
}

static tmsize_t tiff_on_write(thandle_t handle, void *buffer, tmsize_t size)
{
    (void)handle;
    (void)buffer;
    (void)size;
    return -1;
}

static toff_t tiff_on_seek(thandle_t handle, toff_t offset, int whence)
{
    Plane *plane = handle;
    in_use = plane;
    if (whence == SEEK_CUR) offset += plane->at;
    if (whence == SEEK_END) offset += bytes_size(plane->of->bytes);
    return plane->at = offset;
}

static int tiff_on_close(thandle_t handle)
{
    if (handle == in_use) in_use = NULL;
    return 0;
}

static toff_t tiff_on_size(thandle_t handle) { return bytes_size(((Plane *)handle)->of->bytes); }

static int tiff_on_map(thandle_t handle, void **base, toff_t *size)
{
    (void)handle;
    (void)base;
    (void)size;
    return 0;
}

static void tiff_on_unmap(thandle_t handle, void *base, toff_t size)
{
    (void)handle;
    (void)base;
    (void)size;
}

static __attribute__((format(printf, 2, 0))) void complain(Tiff *self, const char *format,
                                                           va_list arguments)
{
    if (!self->why[0]) vsnprintf(self->why, sizeof self->why, format, arguments);
}

#if TIFFLIB_VERSION >= 20221213
static __attribute__((format(printf, 4, 0))) int
tiff_on_error(TIFF *tiff, void *self, const char *module, const char *format, va_list arguments)
{
    (void)tiff;
    (void)module;
    complain(self, format, arguments);
    return 1;
}

static __attribute__((format(printf, 4, 0))) int
tiff_on_warning(TIFF *tiff, void *self, const char *module, const char *format, va_list arguments)
{
    (void)tiff;
    (void)self;
    (void)module;
    (void)format;
    (void)arguments;
    return 1;
}

static TIFF *open_handle(Tiff *self, Plane *plane)
{
    TIFFOpenOptions *options = TIFFOpenOptionsAlloc();
    if (!options) return NULL;
    TIFFOpenOptionsSetMaxSingleMemAlloc(options, MOST_TILES_BYTES);
    TIFFOpenOptionsSetErrorHandlerExtR(options, tiff_on_error, self);
    TIFFOpenOptionsSetWarningHandlerExtR(options, tiff_on_warning, self);
    TIFF *tiff =
        TIFFClientOpenExt("", "r", plane, tiff_on_read, tiff_on_write, tiff_on_seek, tiff_on_close,
                          tiff_on_size, tiff_on_map, tiff_on_unmap, options);
    TIFFOpenOptionsFree(options);
    return tiff;
}
#else
/* Before 4.5 handlers belong to the whole process; these are the same for every file, and are told
 * of files that others of the process read and write, too. */
static __attribute__((format(printf, 3, 0))) void
tiff_on_error(thandle_t handle, const char *module, const char *format, va_list arguments)
{
    (void)module;
    if (in_use && handle == in_use) complain(in_use->of, format, arguments);
}

static TIFF *open_handle(Tiff *self, Plane *plane)
{
    (void)self;
    TIFFSetErrorHandler(NULL);
    TIFFSetWarningHandler(NULL);
    TIFFSetErrorHandlerExt(tiff_on_error);
    return TIFFClientOpen("", "r", plane, tiff_on_read, tiff_on_write, tiff_on_seek, tiff_on_close,
                          tiff_on_size, tiff_on_map, tiff_on_unmap);
}
#endif

static Status tiff_broken(Tiff *self)
{
    if (self->status) return self->status;
    for (char *c = self->why; *c; c++)
        if (*c == ';') *c = ',';
    return decoder_broken(self->bytes, "TIFF", self->why[0] ? self->why : "unreadable",
                          self->fault);
}

static Status not_taken(Tiff *self, const char *what)
{
    return fault_set(self->fault, STATUS_DATA,
                     "%s: a TIFF with %s is not taken; save it as 8- or 16-bit RGB",
                     bytes_name(self->bytes), what);
}

static void tiff_close(void *context)
{
    Tiff *self = context;
    for (int i = 0; i < MOST_PLANES; i++) {
        if (self->plane[i].tiff) TIFFClose(self->plane[i].tiff);
        memory_free(self->plane[i].held);
    }
    memory_free(self->tile);
    memory_free(self);
}

/* ---- The head ---- */

static uint32_t field32(TIFF *tiff, uint32_t tag)
{
    uint32_t value = 0;
    TIFFGetFieldDefaulted(tiff, tag, &value);
    return value;
}

static uint16_t field16(TIFF *tiff, uint32_t tag, uint16_t fallback)
{
    uint16_t value = fallback;
    TIFFGetFieldDefaulted(tiff, tag, &value);
    return value;
}

static Status read_photometric(Tiff *self, TIFF *tiff)
{
    uint16_t photometric = 0;
    if (!TIFFGetField(tiff, TIFFTAG_PHOTOMETRIC, &photometric))
        return not_taken(self, "no photometric interpretation");
    self->photometric = photometric;
    self->format.model = MODEL_RGB;
    switch (photometric) {
    case PHOTOMETRIC_MINISBLACK:
    case PHOTOMETRIC_MINISWHITE:
        self->format.model = MODEL_GREY;
        return STATUS_OK;
    case PHOTOMETRIC_RGB:
        return STATUS_OK;
    case PHOTOMETRIC_PALETTE:
        return STATUS_OK;
    case PHOTOMETRIC_SEPARATED:
        self->format.model = MODEL_CMYK;
        return field16(tiff, TIFFTAG_INKSET, INKSET_CMYK) == INKSET_CMYK
                   ? STATUS_OK
                   : not_taken(self, "inks other than CMYK");
    case PHOTOMETRIC_YCBCR:
        if (field16(tiff, TIFFTAG_COMPRESSION, 0) != COMPRESSION_JPEG || self->apart)
            return not_taken(self, "YCbCr outside JPEG compression");
        for (int i = 0; i < self->planes; i++)
            TIFFSetField(self->plane[i].tiff, TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB);
        return STATUS_OK;
    default:
        return not_taken(self, "an unusual colour space");
    }
}

static Status read_palette(Tiff *self, TIFF *tiff)
{
    uint16_t *map[3];
    if (!TIFFGetField(tiff, TIFFTAG_COLORMAP, &map[0], &map[1], &map[2]))
        return not_taken(self, "a palette that is missing");
    self->map_scale = 257;
    for (int c = 0; c < 3; c++) {
        self->map[c] = map[c];
        for (int i = 0; i < 1 << self->bits; i++)
            if (map[c][i] > 255) self->map_scale = 1;
    }
    return STATUS_OK;
}

static void read_alpha(Tiff *self, TIFF *tiff, int colours)
{
    uint16_t count = 0, *kind = NULL;
    self->alpha_sample = -1;
    if (!TIFFGetField(tiff, TIFFTAG_EXTRASAMPLES, &count, &kind)) return;
    for (int i = 0; i < count && colours + i < self->samples; i++) {
        if (kind[i] != EXTRASAMPLE_ASSOCALPHA && kind[i] != EXTRASAMPLE_UNASSALPHA) continue;
        self->alpha_sample = colours + i;
        self->associated = kind[i] == EXTRASAMPLE_ASSOCALPHA;
        self->format.alpha = true;
        return;
    }
}

static Status read_layout(Tiff *self, TIFF *tiff)
{
    self->samples = field16(tiff, TIFFTAG_SAMPLESPERPIXEL, 1);
    self->bits = field16(tiff, TIFFTAG_BITSPERSAMPLE, 1);
    self->apart =
        self->samples > 1 && field16(tiff, TIFFTAG_PLANARCONFIG, 1) == PLANARCONFIG_SEPARATE;
    self->tiled = TIFFIsTiled(tiff);
    const uint16_t kind = field16(tiff, TIFFTAG_SAMPLEFORMAT, SAMPLEFORMAT_UINT);
    if (kind != SAMPLEFORMAT_UINT && kind != SAMPLEFORMAT_VOID)
        return not_taken(self, "samples that are not whole numbers");
    if (self->bits != 1 && self->bits != 2 && self->bits != 4 && self->bits != 8 &&
        self->bits != 16)
        return not_taken(self, "samples of other than 1, 2, 4, 8 or 16 bits");
    if (self->samples < 1 || self->samples > MOST_SAMPLES)
        return not_taken(self, "so many samples a pixel");
    const Status status = read_photometric(self, tiff);
    if (status) return status;
    const bool palette = self->photometric == PHOTOMETRIC_PALETTE;
    const int colours = palette ? 1 : (int)self->format.model;
    if (self->samples < colours) return not_taken(self, "fewer samples than its colours need");
    if (!palette)
        read_alpha(self, tiff, colours);
    else
        self->alpha_sample = -1;
    self->format.bits = palette || self->bits == 16 ? 16 : 8;
    return palette ? read_palette(self, tiff) : STATUS_OK;
}

/* A handle for each sample that matters, if samples lie apart. */
static Status open_planes(Tiff *self)
{
    const int colours = self->photometric == PHOTOMETRIC_PALETTE ? 1 : (int)self->format.model;
    self->planes = self->apart ? colours + self->format.alpha : 1;
    for (int i = 0; i < self->planes; i++) {
        Plane *plane = &self->plane[i];
        plane->of = self;
        plane->sample = i < colours ? i : self->alpha_sample;
        if (!plane->tiff) plane->tiff = open_handle(self, plane);
        if (!plane->tiff) return tiff_broken(self);
    }
    return STATUS_OK;
}

static Status hold(Tiff *self, size_t rows)
{
    for (int i = 0; i < self->planes; i++) {
        self->plane[i].held = memory_create(rows, self->row_bytes);
        if (!self->plane[i].held) return memory_fault(self->fault, rows, self->row_bytes);
    }
    return STATUS_OK;
}

static Status prepare_tiles(Tiff *self, TIFF *tiff)
{
    self->tile_width = field32(tiff, TIFFTAG_TILEWIDTH);
    self->tile_height = field32(tiff, TIFFTAG_TILELENGTH);
    if (!self->tile_width || !self->tile_height) return not_taken(self, "tiles of no size");
    const uint64_t across = (self->width - 1) / self->tile_width + 1;
    const uint64_t row = TIFFTileRowSize64(tiff), size = TIFFTileSize64(tiff);
    const uint64_t bits =
        (uint64_t)self->tile_width * self->bits * (self->apart ? 1 : self->samples);
    if (row != (bits + 7) / 8 || (self->bits < 8 && self->tile_width % 8) || row > MOST_ROW_BYTES ||
        across * row > MOST_ROW_BYTES || self->tile_height > MOST_TILES_BYTES / (across * row) ||
        size != row * self->tile_height)
        return not_taken(self, "tiles of an impossible size");
    self->row_bytes = (size_t)(across * row);
    self->tile = memory_create((size_t)size, 1);
    if (!self->tile) return memory_fault(self->fault, (size_t)size, 1);
    return hold(self, self->tile_height);
}

static Status prepare_rows(Tiff *self)
{
    TIFF *tiff = self->plane[0].tiff;
    if (self->tiled) return prepare_tiles(self, tiff);
    const uint64_t bits = (uint64_t)self->width * self->bits * (self->apart ? 1 : self->samples);
    if ((bits + 7) / 8 != TIFFScanlineSize64(tiff) || bits / 8 > MOST_ROW_BYTES)
        return not_taken(self, "rows of an impossible size");
    self->row_bytes = (size_t)((bits + 7) / 8);
    return hold(self, 1);
}

static Status tiff_read_icc(Decoder *decoder, Tiff *self)
{
    uint32_t length = 0;
    void *icc = NULL;
    if (!TIFFGetField(self->plane[0].tiff, TIFFTAG_ICCPROFILE, &length, &icc) || !length)
        return STATUS_OK;
    decoder->tags.icc = memory_create(length, 1);
    if (!decoder->tags.icc) return memory_fault(self->fault, length, 1);
    memcpy(decoder->tags.icc, icc, length);
    decoder->tags.icc_length = length;
    return STATUS_OK;
}

static Status tiff_read_head(Decoder *decoder, const DecoderInput *input, Tiff *self)
{
    Plane *first = &self->plane[0];
    first->of = self;
    self->planes = 1;
    first->tiff = open_handle(self, first);
    if (!first->tiff) return tiff_broken(self);
    self->width = field32(first->tiff, TIFFTAG_IMAGEWIDTH);
    self->height = field32(first->tiff, TIFFTAG_IMAGELENGTH);
    decoder->width = (long)self->width;
    decoder->height = (long)self->height;
    Status status = decoder_check_size(input, self->width, self->height, self->fault);
    if (!status) status = read_layout(self, first->tiff);
    if (!status) status = open_planes(self);
    if (!status) status = prepare_rows(self);
    if (status) return status;
    const uint16_t turned = field16(first->tiff, TIFFTAG_ORIENTATION, 1);
    decoder->orientation = turned >= 1 && turned <= 8 ? turned : 1;
    decoder->format = self->format;
    return tiff_read_icc(decoder, self);
}

/* ---- Rows ---- */

/* The row of tiles that starts at this row of pixels. */
static Status read_tiles(Tiff *self, Plane *plane, uint32_t y)
{
    const size_t tile_row = (size_t)TIFFTileRowSize64(plane->tiff);
    const size_t size = tile_row * self->tile_height;
    for (uint32_t x = 0; x < self->width; x += self->tile_width) {
        const uint16_t sample = (uint16_t)(self->apart ? plane->sample : 0);
        const uint32_t tile = TIFFComputeTile(plane->tiff, x, y, 0, sample);
        if (TIFFReadEncodedTile(plane->tiff, tile, self->tile, (tmsize_t)size) < 0 ||
            self->why[0] || self->status)
            return tiff_broken(self);
        for (uint32_t row = 0; row < self->tile_height; row++)
            memcpy(plane->held + row * self->row_bytes + x / self->tile_width * tile_row,
                   self->tile + row * tile_row, tile_row);
        if (self->width - x <= self->tile_width) break;
    }
    return STATUS_OK;
}

static Status tiff_read_row(Tiff *self, Plane *plane, uint32_t y, const uint8_t **row_out)
{
    if (!self->tiled) {
        const uint16_t sample = (uint16_t)(self->apart ? plane->sample : 0);
        *row_out = plane->held;
        const bool read = TIFFReadScanline(plane->tiff, plane->held, y, sample) >= 0;
        return read && !self->why[0] && !self->status ? STATUS_OK : tiff_broken(self);
    }
    const uint32_t within = y % self->tile_height;
    *row_out = plane->held + within * self->row_bytes;
    return within ? STATUS_OK : read_tiles(self, plane, y);
}

static unsigned sample_at(const uint8_t *row, size_t at, unsigned bits)
{
    if (bits == 16) return ((const uint16_t *)(const void *)row)[at];
    if (bits == 8) return row[at];
    const size_t place = at * bits;
    return (unsigned)row[place / 8] >> (8 - bits - place % 8) & ((1U << bits) - 1);
}

/* Which sample of a stored pixel becomes which channel of a pixel that is handed out. */
typedef struct ChannelMap {
    size_t stored, sample;    /* samples of a stored pixel, and which of them */
    size_t channels, channel; /* channels of an output pixel, and which of them */
} ChannelMap;

/* Copies one channel along the row, widened to 8 or 16 bits. */
static void put_channel(const Tiff *self, const uint8_t *row, ChannelMap map, uint8_t *out)
{
    const unsigned bits = self->bits, most = (1U << bits) - 1;
    const unsigned scale = bits < 8 ? 255 / most : 1;
    const bool white = self->photometric == PHOTOMETRIC_MINISWHITE && map.channel == 0;
    for (size_t x = 0; x < self->width; x++) {
        unsigned code = sample_at(row, x * map.stored + map.sample, bits);
        if (white) code = most - code;
        const size_t at = x * map.channels + map.channel;
        if (bits == 16)
            ((uint16_t *)(void *)out)[at] = (uint16_t)code;
        else
            out[at] = (uint8_t)(code * scale);
    }
}

static void put_palette(const Tiff *self, const uint8_t *row, uint16_t *out)
{
    for (size_t x = 0; x < self->width; x++) {
        const unsigned index = sample_at(row, x * (self->apart ? 1 : self->samples), self->bits);
        for (int c = 0; c < 3; c++) *out++ = (uint16_t)(self->map[c][index] * self->map_scale);
    }
}

/* Colours come multiplied by alpha: divides them again. */
static void unmultiply(const Tiff *self, uint8_t *out)
{
    const size_t colours = (size_t)self->format.model, samples = colours + 1;
    const unsigned most = self->format.bits == 16 ? 65535 : 255;
    uint16_t *wide = (uint16_t *)(void *)out;
    for (size_t at = 0; at < self->width * samples; at += samples) {
        const unsigned alpha = most == 255 ? out[at + colours] : wide[at + colours];
        for (size_t c = at; c < at + colours; c++) {
            const uint64_t code = most == 255 ? out[c] : wide[c];
            uint64_t whole = alpha ? (code * most + alpha / 2) / alpha : 0;
            if (whole > most) whole = most;
            if (most == 255)
                out[c] = (uint8_t)whole;
            else
                wide[c] = (uint16_t)whole;
        }
    }
}

static Status tiff_row(Tiff *self, uint8_t *out)
{
    const size_t colours = (size_t)self->format.model;
    const size_t channels = colours + self->format.alpha;
    const bool palette = self->photometric == PHOTOMETRIC_PALETTE;
    const uint8_t *row = NULL;
    for (int i = 0; i < self->planes; i++) {
        const Status status = tiff_read_row(self, &self->plane[i], self->next, &row);
        if (status) return status;
        if (self->apart && !palette)
            put_channel(self, row, (ChannelMap){1, 0, channels, (size_t)i}, out);
    }
    if (palette) {
        put_palette(self, row, (uint16_t *)(void *)out);
    } else if (!self->apart) {
        const bool same = self->samples == channels && self->bits >= 8 &&
                          self->photometric != PHOTOMETRIC_MINISWHITE;
        if (same) memcpy(out, row, self->width * channels * (self->bits / 8));
        for (size_t c = 0; c < channels && !same; c++) {
            const size_t sample = c < colours ? c : (size_t)self->alpha_sample;
            put_channel(self, row, (ChannelMap){self->samples, sample, channels, c}, out);
        }
    }
    if (self->associated) unmultiply(self, out);
    self->next++;
    return STATUS_OK;
}

static Status tiff_pull(void *context, int rows, uint8_t *rows_out, Fault *fault)
{
    Tiff *self = context;
    self->fault = fault;
    self->why[0] = '\0'; /* what was odd in the head but could be passed over */
    const size_t bytes = (size_t)self->width * ((size_t)self->format.model + self->format.alpha) *
                         ((size_t)self->format.bits / 8);
    for (int i = 0; i < rows; i++) {
        const Status status = tiff_row(self, rows_out + (size_t)i * bytes);
        if (status) return status;
    }
    return STATUS_OK;
}

Status tiff_open(Decoder *decoder, const DecoderInput *input, Fault *fault)
{
    Tiff *self = memory_create(1, sizeof *self);
    if (!self) return memory_fault(fault, 1, sizeof *self);
    self->bytes = input->bytes;
    self->fault = fault;
    *decoder = (Decoder){.self = self, .pull = tiff_pull, .close = tiff_close, .orientation = 1};
    const Status status = tiff_read_head(decoder, input, self);
    if (status) decoder_close(decoder);
    return status;
}
