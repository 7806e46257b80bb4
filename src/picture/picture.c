/* A picture is a file's bytes, the decoder that its first bytes ask for, and the profile that
 * turns the decoder's codes into light; the sampler sees all three as one Source. Formats are
 * told by the marks that their standards put at the start, never by a file's name. */
#include "picture/picture.h"

#include "base/memory.h"
#include "colour/colour.h"
#include "picture/decoder.h"

#include <stdio.h>
#include <string.h>

struct Picture {
    Bytes *bytes;
    Decoder decoder;
    Profile profile;
    Source source;
};

/* ---- Which format ---- */

typedef struct Kind {
    const char *name;
    size_t at, length;
    const char *start;
    DecoderOpen *open; /* NULL: known, but not taken */
} Kind;

static const Kind kinds[] = {
    {"PNG", 0, 8, "\x89PNG\r\n\x1a\n", png_open},
    {"JPEG", 0, 3, "\xff\xd8\xff", jpeg_open},
    {"TIFF", 0, 4, "II*\0", tiff_open},
    {"TIFF", 0, 4, "MM\0*", tiff_open},
    {"TIFF", 0, 4, "II+\0", tiff_open},
    {"TIFF", 0, 4, "MM\0+", tiff_open},
    {"GIF", 0, 6, "GIF87a", other_open},
    {"GIF", 0, 6, "GIF89a", other_open},
    {"BMP", 0, 2, "BM", other_open},
    {"PNM", 0, 2, "P1", pnm_open},
    {"PNM", 0, 2, "P2", pnm_open},
    {"PNM", 0, 2, "P3", pnm_open},
    {"PNM", 0, 2, "P4", pnm_open},
    {"PNM", 0, 2, "P5", pnm_open},
    {"PNM", 0, 2, "P6", pnm_open},
    {"PAM", 0, 2, "P7", NULL},
    {"WebP", 8, 4, "WEBP", NULL},
    {"HEIF or AVIF", 4, 4, "ftyp", NULL},
    {"JPEG XL", 0, 2, "\xff\x0a", NULL},
    {"JPEG XL", 4, 4, "JXL ", NULL},
    {"JPEG 2000", 4, 4, "jP  ", NULL},
    {"PDF", 0, 5, "%PDF-", NULL},
    {"Photoshop", 0, 4, "8BPS", NULL},
    {"OpenEXR", 0, 4, "\x76\x2f\x31\x01", NULL},
    {"Radiance HDR", 0, 2, "#?", NULL},
};

/* TGA has no mark at its start; a head that makes sense must do. */
static bool looks_like_tga(const uint8_t *head, size_t length)
{
    if (length < 18) return false;
    const int type = head[2] & ~8, bits = head[16];
    const bool mapped = head[1] == 1;
    return head[1] <= 1 && (mapped ? type == 1 : type == 2 || type == 3) && !(head[2] & ~11) &&
           (bits == 8 || bits == 15 || bits == 16 || bits == 24 || bits == 32) &&
           !(head[17] & 0xc0);
}

/* The most bytes of a file with so many pixels: three numbers of five digits with a blank each, as
 * a plain PNM has, and 64 MiB for profiles and comments. */
static uint64_t most_bytes(double pixels) { return (uint64_t)(18 * pixels) + (64 << 20); }

/* The head tells the kind; only of what is a picture the rest is waited for. */
static Status open_kind(Decoder *decoder, const DecoderInput *input, DecoderOpen *open,
                        Fault *fault)
{
    const Status status =
        bytes_complete(input->bytes, most_bytes(input->limit_pixels), input->voice, fault);
    return status ? status : open(decoder, input, fault);
}

static Status decoder_open(Decoder *decoder, const DecoderInput *input, Fault *fault)
{
    uint8_t head[18];
    size_t length;
    const char *name = bytes_name(input->bytes);
    const Status status = bytes_read(input->bytes, 0, head, sizeof head, &length, fault);
    if (status) return status;
    if (!length) return fault_set(fault, STATUS_DATA, "%s: is empty; give a picture", name);
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        const Kind *kind = &kinds[i];
        if (length < kind->at + kind->length || memcmp(head + kind->at, kind->start, kind->length))
            continue;
        if (kind->open) return open_kind(decoder, input, kind->open, fault);
        return fault_set(fault, STATUS_DATA,
                         "%s: is %s, which is not taken; save it as PNG, JPEG or TIFF", name,
                         kind->name);
    }
    if (looks_like_tga(head, length)) return open_kind(decoder, input, other_open, fault);
    return fault_set(
        fault, STATUS_DATA,
        "%s: is no picture of a known kind; give PNG, JPEG, TIFF, BMP, TGA, GIF or PNM", name);
}

/* ---- Source ---- */

static Status pull_rows(void *context, int rows, uint8_t *stored_out, Fault *fault)
{
    Picture *picture = context;
    return picture->decoder.pull(picture->decoder.self, rows, stored_out, fault);
}

static void make_ready(void *context, const uint8_t *stored, void *ready_out)
{
    const Picture *picture = context;
    profile_ready(&picture->profile, stored, ready_out, picture->decoder.width);
}

static void source_set(Picture *picture, const PictureOptions *options)
{
    const Decoder *decoder = &picture->decoder;
    const Profile *profile = &picture->profile;
    Source *source = &picture->source;
    *source = (Source){.self = picture,
                       .pull = pull_rows,
                       .ready = profile->ready == READY_AS_STORED ? NULL : make_ready,
                       .name = bytes_name(picture->bytes),
                       .width = decoder->width,
                       .height = decoder->height,
                       .orientation = decoder->orientation,
                       .stored_bytes = decoder_row_bytes(decoder),
                       .depth = profile->depth,
                       .channels = profile->channels,
                       .alpha = decoder->format.alpha,
                       .data = options->data};
    for (int c = 0; c < SOURCE_MOST_CHANNELS; c++)
        source->curve[c] = profile->curve[c] ? profile->curve[c] : profile->curve[0];
    memcpy(source->matrix, profile->matrix, sizeof source->matrix);
    if (options->data) return;
    const uint8_t *g = options->ground;
    const Xyz ground = xyz_from_linear(
        (Rgb){srgb_decode(g[0] / 255.0), srgb_decode(g[1] / 255.0), srgb_decode(g[2] / 255.0)});
    memcpy(source->ground, (double[3]){ground.x, ground.y, ground.z}, sizeof source->ground);
}

/* Before it is taken: a small file can claim a picture that is larger than the memory. */
static Status check_held(const Picture *picture, const PictureOptions *options, Fault *fault)
{
    const double held = picture->decoder.held;
    if (held <= options->limit_bytes) return STATUS_OK;
    return fault_set(fault, STATUS_NO_RESOURCE,
                     "%s: of its kind it must be held whole, which takes %.0f MB where %.0f MB may "
                     "be taken; %s, or raise --memory",
                     bytes_name(picture->bytes), held / 1e6, options->limit_bytes / 1e6,
                     options->exact ? "make it smaller" : "save it without interlacing");
}

Status picture_open(Picture **picture_out, const char *path, const PictureOptions *options,
                    const Voice *voice, Fault *fault)
{
    Picture *picture = memory_create(1, sizeof *picture);
    if (!picture) return memory_fault(fault, 1, sizeof *picture);
    Decoder *decoder = &picture->decoder;
    Status status = bytes_open(&picture->bytes, path, voice, fault);
    if (!status) {
        const DecoderInput input = {picture->bytes, options->limit_pixels, voice, options->exact};
        status = decoder_open(decoder, &input, fault);
    }
    if (!status) status = check_held(picture, options, fault);
    if (!status)
        status = options->data ? profile_init_data(&picture->profile, &decoder->format, fault)
                               : profile_init(&picture->profile, &decoder->tags, &decoder->format,
                                              bytes_name(picture->bytes), voice, fault);
    if (status) {
        picture_close(picture);
        return status;
    }
    source_set(picture, options);
    *picture_out = picture;
    return STATUS_OK;
}

void picture_close(Picture *picture)
{
    if (!picture) return;
    profile_clear(&picture->profile);
    decoder_close(&picture->decoder);
    bytes_close(picture->bytes);
    memory_free(picture);
}

Source *picture_source(Picture *picture) { return &picture->source; }

long picture_width(const Picture *picture) { return source_width(&picture->source); }

long picture_height(const Picture *picture) { return source_height(&picture->source); }

Status picture_finish(Picture *picture, PictureFacts *facts_out, Fault *fault)
{
    *facts_out = (PictureFacts){.width = picture_width(picture), .height = picture_height(picture)};
    snprintf(facts_out->profile, sizeof facts_out->profile, "%s", picture->profile.name);
    return bytes_digest(picture->bytes, facts_out->sha256, fault);
}
