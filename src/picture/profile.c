/* Three ways from codes to light:
 *   - a curve and a matrix (sRGB, H.273, gamma, and ICC profiles that hold no more):
 *     the curve becomes a table over all codes, in doubles, so that dark codes are exact;
 *   - inks without a profile: each is taken as a filter over the others, which gives
 *     sRGB codes of 16 bits;
 *   - any other ICC profile: the pixel goes through the colour management module to
 *     Lab, and from there to XYZ. */
#include "picture/profile.h"

#include "base/memory.h"
#include "colour/colour.h"

#include <lcms2.h>

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { CHUNK = 256 }; /* pixels converted at a time, on the stack */

static int codes_of(const Profile *profile) { return profile->depth == DEPTH_8 ? 256 : 65536; }

static Status table_create(const Profile *profile, double **table_out, Fault *fault)
{
    const size_t codes = (size_t)codes_of(profile);
    *table_out = memory_create(codes, sizeof **table_out);
    return *table_out ? STATUS_OK : memory_fault(fault, codes, sizeof **table_out);
}

static void matrix_set(Profile *profile, double columns[3][3])
{
    for (int c = 0; c < profile->channels; c++)
        for (int k = 0; k < 3; k++) profile->matrix[k][c] = columns[c][k];
    if (profile->format.model != MODEL_GREY) return;
    /* Grey is as neutral as the white. */
    profile->matrix[0][0] = WHITE_D50.x;
    profile->matrix[1][0] = WHITE_D50.y;
    profile->matrix[2][0] = WHITE_D50.z;
}

static void matrix_srgb(Profile *profile)
{
    double columns[3][3];
    for (int c = 0; c < 3; c++) {
        const Xyz xyz = xyz_from_linear((Rgb){c == 0, c == 1, c == 2});
        memcpy(columns[c], (double[3]){xyz.x, xyz.y, xyz.z}, sizeof columns[c]);
    }
    matrix_set(profile, columns);
}

/* One curve for all channels. */
static Status curve_set(Profile *profile, double (*decode)(const void *how, double code),
                        const void *how, Fault *fault)
{
    const Status status = table_create(profile, &profile->curve[0], fault);
    if (status) return status;
    const int codes = codes_of(profile);
    for (int i = 0; i < codes; i++) profile->curve[0][i] = decode(how, i / (codes - 1.0));
    return STATUS_OK;
}

static double decode_srgb(const void *how, double code)
{
    (void)how;
    return srgb_decode(code);
}

static double decode_gamma(const void *how, double code)
{
    return pow(code, 1.0 / *(const double *)how);
}

static double decode_none(const void *how, double code)
{
    (void)how;
    return code;
}

static Status init_srgb(Profile *profile, const char *name, Fault *fault)
{
    snprintf(profile->name, sizeof profile->name, "%s", name);
    matrix_srgb(profile);
    return curve_set(profile, decode_srgb, NULL, fault);
}

/* ---- Coding-independent code points: ITU-T H.273, tables 2 and 3 ---- */

typedef struct Primaries {
    int code;
    double xy[8]; /* white, red, green, blue */
} Primaries;

#define D65 0.3127, 0.3290
#define ILLUMINANT_C 0.310, 0.316

static const Primaries h273_primaries[] = {
    {1, {D65, 0.640, 0.330, 0.300, 0.600, 0.150, 0.060}},
    {4, {ILLUMINANT_C, 0.67, 0.33, 0.21, 0.71, 0.14, 0.08}},
    {5, {D65, 0.64, 0.33, 0.29, 0.60, 0.15, 0.06}},
    {6, {D65, 0.630, 0.340, 0.310, 0.595, 0.155, 0.070}},
    {7, {D65, 0.630, 0.340, 0.310, 0.595, 0.155, 0.070}},
    {8, {ILLUMINANT_C, 0.681, 0.319, 0.243, 0.692, 0.145, 0.049}},
    {9, {D65, 0.708, 0.292, 0.170, 0.797, 0.131, 0.046}},
    {11, {0.314, 0.351, 0.680, 0.320, 0.265, 0.690, 0.150, 0.060}},
    {12, {D65, 0.680, 0.320, 0.265, 0.690, 0.150, 0.060}},
    {22, {D65, 0.630, 0.340, 0.295, 0.605, 0.155, 0.077}},
};

enum { TRANSFER_PQ = 16, TRANSFER_HLG = 18 };

static bool transfer_known(int transfer)
{
    return (transfer >= 1 && transfer <= 8 && transfer != 2 && transfer != 3) ||
           (transfer >= 11 && transfer <= 15);
}

/* The inverse of the transfer characteristics as printed: scene light, no display's
 * rendering added. */
static double decode_h273(const void *how, double code)
{
    const uint8_t *cicp = how;
    const double alpha = 1.09929682680944, beta = 0.018053968510807;
    double v = code;
    /* Narrow range: black at 16, white at 235, of 256. */
    if (!cicp[3]) v = fmin(fmax((code * 255.0 - 16.0) / 219.0, 0.0), 1.0);
    switch (cicp[1]) {
    case 4:
        return pow(v, 2.2);
    case 5:
        return pow(v, 2.8);
    case 7:
        return v < 0.0913 ? v / 4.0 : pow((v + 0.1115) / 1.1115, 1.0 / 0.45);
    case 8:
        return v;
    case 13:
        return srgb_decode(v);
    default:
        return v < 4.5 * beta ? v / 4.5 : pow((v + alpha - 1.0) / alpha, 1.0 / 0.45);
    }
}

/* In narrow range 16-bit codes are 8-bit ones times 256, not 257. */
static double decode_h273_narrow_16(const void *how, double code)
{
    return decode_h273(how, code * 65535.0 / 256.0 / 255.0);
}

/* Primaries to XYZ D50, Bradford-adapted. */
static bool matrix_from_xy(Profile *profile, const double xy[8])
{
    const cmsCIExyY white = {xy[0], xy[1], 1.0};
    const cmsCIExyYTRIPLE primaries = {
        {xy[2], xy[3], 1.0}, {xy[4], xy[5], 1.0}, {xy[6], xy[7], 1.0}};
    for (int i = 1; i < 8; i += 2)
        if (!(xy[i] > 0.0)) return false;
    cmsToneCurve *line = cmsBuildGamma(NULL, 1.0);
    cmsToneCurve *const curves[3] = {line, line, line};
    cmsHPROFILE rgb = line ? cmsCreateRGBProfile(&white, &primaries, curves) : NULL;
    static const cmsTagSignature tags[3] = {cmsSigRedColorantTag, cmsSigGreenColorantTag,
                                            cmsSigBlueColorantTag};
    double columns[3][3];
    bool sound = rgb != NULL;
    for (int c = 0; sound && c < 3; c++) {
        const cmsCIEXYZ *xyz = cmsReadTag(rgb, tags[c]);
        sound = xyz && isfinite(xyz->X) && isfinite(xyz->Y) && isfinite(xyz->Z) &&
                fabs(xyz->X) < 10.0 && fabs(xyz->Y) < 10.0 && fabs(xyz->Z) < 10.0;
        if (sound) memcpy(columns[c], (double[3]){xyz->X, xyz->Y, xyz->Z}, sizeof columns[c]);
    }
    if (rgb) cmsCloseProfile(rgb);
    if (line) cmsFreeToneCurve(line);
    if (sound) matrix_set(profile, columns);
    return sound;
}

/* True if the tag decides; else the next in line does. */
static bool try_cicp(Profile *profile, const ColourTags *tags, const char *file, const Voice *voice,
                     Status *status_out, Fault *fault)
{
    const uint8_t *cicp = tags->cicp;
    if (!tags->cicp_given) return false;
    const bool high = cicp[1] == TRANSFER_PQ || cicp[1] == TRANSFER_HLG;
    if (high && !tags->icc) {
        *status_out = fault_set(
            fault, STATUS_DATA,
            "%s: high dynamic range (%s) has no one look as bricks; save it as a standard picture",
            file, cicp[1] == TRANSFER_PQ ? "PQ" : "HLG");
        return true;
    }
    const Primaries *found = NULL;
    for (size_t i = 0; i < sizeof h273_primaries / sizeof *h273_primaries; i++)
        if (h273_primaries[i].code == cicp[0]) found = &h273_primaries[i];
    if (!found || !transfer_known(cicp[1]) || cicp[2] != 0 || cicp[3] > 1 ||
        !matrix_from_xy(profile, found->xy)) {
        voice_note(voice, "%s: its cICP colours (%d, %d, %d, %d) are not known here; passed over",
                   file, cicp[0], cicp[1], cicp[2], cicp[3]);
        return false;
    }
    if (cicp[0] == 1) matrix_srgb(profile);
    snprintf(profile->name, sizeof profile->name, "H.273 primaries %d, transfer %d%s", cicp[0],
             cicp[1], cicp[3] ? "" : ", narrow range");
    const bool wide_codes = profile->depth == DEPTH_16 && !cicp[3];
    *status_out = curve_set(profile, wide_codes ? decode_h273_narrow_16 : decode_h273, cicp, fault);
    return true;
}

/* ---- ICC ---- */

static void quiet(cmsContext context, cmsUInt32Number code, const char *text)
{
    (void)context;
    (void)code;
    (void)text;
}

static size_t put_utf8(char *out, uint32_t c)
{
    if (c < 0x20 || c == 0x7f || (c >= 0xd800 && c < 0xe000) || c > 0x10ffff) c = '?';
    if (c < 0x80) return out[0] = (char)c, 1;
    if (c < 0x800) return out[0] = (char)(0xc0 | c >> 6), out[1] = (char)(0x80 | (c & 63)), 2;
    const size_t length = c < 0x10000 ? 3 : 4;
    out[0] = (char)((length == 3 ? 0xe0 : 0xf0) | c >> 6 * (length - 1));
    for (size_t i = 1; i < length; i++) out[i] = (char)(0x80 | ((c >> 6 * (length - 1 - i)) & 63));
    return length;
}

static void name_from_icc(Profile *profile, cmsHPROFILE icc)
{
    wchar_t wide[PROFILE_NAME] = {0};
    cmsGetProfileInfo(icc, cmsInfoDescription, "en", "US", wide, sizeof wide);
    wide[PROFILE_NAME - 1] = 0;
    size_t length = 0;
    for (const wchar_t *c = wide; *c && length + 4 < sizeof profile->name; c++)
        length += put_utf8(profile->name + length, (uint32_t)*c);
    while (length && profile->name[length - 1] == ' ') length--;
    profile->name[length] = '\0';
    if (!length) snprintf(profile->name, sizeof profile->name, "ICC profile without a name");
}

/* Tables of 16-bit values are interpolated here, since the module would round to 16 bits
 * between them. */
static double curve_at(const cmsToneCurve *curve, double code)
{
    if (cmsGetToneCurveParametricType(curve) || cmsIsToneCurveMultisegment(curve))
        return (double)cmsEvalToneCurveFloat(curve, (float)code);
    const uint32_t entries = cmsGetToneCurveEstimatedTableEntries(curve);
    const uint16_t *table = cmsGetToneCurveEstimatedTable(curve);
    const double place = code * (entries - 1.0);
    uint32_t below = (uint32_t)place;
    if (below + 1 >= entries) return table[entries - 1] / 65535.0;
    const double part = place - below;
    return ((1.0 - part) * table[below] + part * table[below + 1]) / 65535.0;
}

static Status curve_from_icc(Profile *profile, int channel, const cmsToneCurve *curve, bool *sound,
                             Fault *fault)
{
    if (!curve) return *sound = false, STATUS_OK;
    const Status status = table_create(profile, &profile->curve[channel], fault);
    if (status) return status;
    const int codes = codes_of(profile);
    for (int i = 0; i < codes && *sound; i++) {
        profile->curve[channel][i] = curve_at(curve, i / (codes - 1.0));
        *sound = fabs(profile->curve[channel][i]) < 16.0; /* false for NaN */
    }
    return STATUS_OK;
}

static bool has_table(cmsHPROFILE icc)
{
    static const cmsTagSignature tables[] = {cmsSigAToB0Tag, cmsSigAToB1Tag, cmsSigAToB2Tag,
                                             cmsSigDToB0Tag, cmsSigDToB1Tag, cmsSigDToB2Tag,
                                             cmsSigDToB3Tag};
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++)
        if (cmsIsTag(icc, tables[i])) return true;
    return false;
}

/* Curves and a matrix; *sound is false if they make no sense. */
static Status icc_matrix(Profile *profile, cmsHPROFILE icc, bool *sound, Fault *fault)
{
    static const cmsTagSignature colorant[3] = {cmsSigRedColorantTag, cmsSigGreenColorantTag,
                                                cmsSigBlueColorantTag};
    static const cmsTagSignature curve[3] = {cmsSigRedTRCTag, cmsSigGreenTRCTag, cmsSigBlueTRCTag};
    double columns[3][3];
    for (int c = 0; c < 3; c++) {
        const cmsCIEXYZ *xyz = cmsReadTag(icc, colorant[c]);
        if (!xyz || !(fabs(xyz->X) < 10.0 && fabs(xyz->Y) < 10.0 && fabs(xyz->Z) < 10.0))
            return *sound = false, STATUS_OK;
        memcpy(columns[c], (double[3]){xyz->X, xyz->Y, xyz->Z}, sizeof columns[c]);
        const Status status = curve_from_icc(profile, c, cmsReadTag(icc, curve[c]), sound, fault);
        if (status || !*sound) return status;
    }
    matrix_set(profile, columns);
    /* Equal curves share a table, which keeps the cache small. */
    const size_t bytes = (size_t)codes_of(profile) * sizeof(double);
    if (memcmp(profile->curve[0], profile->curve[1], bytes) ||
        memcmp(profile->curve[0], profile->curve[2], bytes))
        return STATUS_OK;
    for (int c = 1; c < 3; c++) {
        memory_free(profile->curve[c]);
        profile->curve[c] = NULL;
    }
    return STATUS_OK;
}

static cmsHTRANSFORM transform_create(const Profile *profile, cmsHPROFILE icc, cmsUInt32Number from,
                                      cmsUInt32Number to, cmsUInt32Number flags)
{
    cmsHPROFILE lab = cmsCreateLab4ProfileTHR(profile->context, NULL);
    cmsHTRANSFORM transform =
        lab ? cmsCreateTransformTHR(profile->context, icc, from, lab, to,
                                    INTENT_RELATIVE_COLORIMETRIC, flags | cmsFLAGS_NOCACHE)
            : NULL;
    if (lab) cmsCloseProfile(lab);
    return transform;
}

/* Grey pixels under an RGB profile: the lightness of equal channels. */
static Status icc_grey_of_rgb(Profile *profile, cmsHPROFILE icc, bool *sound, Fault *fault)
{
    cmsHTRANSFORM transform =
        transform_create(profile, icc, TYPE_RGB_DBL, TYPE_Lab_DBL, cmsFLAGS_NOOPTIMIZE);
    if (!transform) return *sound = false, STATUS_OK;
    const Status status = table_create(profile, &profile->curve[0], fault);
    const int codes = codes_of(profile);
    for (int i = 0; i < codes && !status; i++) {
        const double v = i / (codes - 1.0), rgb[3] = {v, v, v};
        double lab[3];
        cmsDoTransform(transform, rgb, lab, 1);
        profile->curve[0][i] = xyz_from_lab((Lab){lab[0], 0.0, 0.0}).y;
        if (!(fabs(profile->curve[0][i]) < 16.0)) *sound = false;
    }
    cmsDeleteTransform(transform);
    matrix_srgb(profile);
    return status;
}

/* Through Lab in 16 bits, where a table that the module makes of the profile, fine in
 * steps of Lab, strays by hundredths of a unit (inks: a tenth) and takes a fifth of the time. */
static Status icc_transform(Profile *profile, cmsHPROFILE icc, bool *sound)
{
    const PixelFormat *format = &profile->format;
    const cmsUInt32Number space = format->model == MODEL_GREY  ? PT_GRAY
                                  : format->model == MODEL_RGB ? PT_RGB
                                                               : PT_CMYK;
    const cmsUInt32Number from =
        COLORSPACE_SH(space) | CHANNELS_SH((cmsUInt32Number)format->model) |
        BYTES_SH((cmsUInt32Number)format->bits / 8) | EXTRA_SH(format->alpha ? 1U : 0U) |
        FLAVOR_SH(format->inverted ? 1U : 0U);
    profile->transform = transform_create(profile, icc, from, TYPE_Lab_16, cmsFLAGS_HIGHRESPRECALC);
    if (!profile->transform) return *sound = false, STATUS_OK;
    profile->ready = READY_BY_TRANSFORM;
    profile->depth = DEPTH_FLOAT;
    profile->channels = 3;
    for (int k = 0; k < 3; k++) profile->matrix[k][k] = 1.0;
    return STATUS_OK;
}

static Status icc_read(Profile *profile, cmsHPROFILE icc, bool *sound, Fault *fault)
{
    const Model model = profile->format.model;
    const cmsColorSpaceSignature space = cmsGetColorSpace(icc);
    const cmsProfileClassSignature class = cmsGetDeviceClass(icc);
    const bool rgb = space == cmsSigRgbData, grey = space == cmsSigGrayData;
    *sound = (class == cmsSigInputClass || class == cmsSigDisplayClass ||
              class == cmsSigOutputClass || class == cmsSigColorSpaceClass) &&
             (rgb    ? model != MODEL_CMYK
              : grey ? model == MODEL_GREY
                     : space == cmsSigCmykData && model == MODEL_CMYK);
    if (!*sound) return STATUS_OK;
    name_from_icc(profile, icc);
    if (rgb && model == MODEL_GREY) return icc_grey_of_rgb(profile, icc, sound, fault);
    const bool plain = !has_table(icc) && cmsGetPCS(icc) == cmsSigXYZData;
    if (rgb && plain) return icc_matrix(profile, icc, sound, fault);
    if (grey && plain) {
        matrix_srgb(profile);
        return curve_from_icc(profile, 0, cmsReadTag(icc, cmsSigGrayTRCTag), sound, fault);
    }
    return icc_transform(profile, icc, sound);
}

static void profile_start(Profile *profile, const PixelFormat *format)
{
    *profile = (Profile){.format = *format,
                         .depth = format->bits == 8 ? DEPTH_8 : DEPTH_16,
                         .channels = format->model == MODEL_GREY ? 1 : 3};
    if (format->model == MODEL_CMYK) {
        profile->ready = READY_BY_INKS;
        profile->depth = DEPTH_16;
    }
}

static bool try_icc(Profile *profile, const ColourTags *tags, Status *status_out, Fault *fault)
{
    bool sound = false;
    profile->context = cmsCreateContext(NULL, NULL);
    if (!profile->context) {
        *status_out = memory_fault(fault, 1, 1);
        return true;
    }
    cmsSetLogErrorHandlerTHR(profile->context, quiet);
    if (profile->format.model == MODEL_CMYK) profile->depth = DEPTH_FLOAT;
    cmsHPROFILE icc =
        tags->icc_length < UINT32_MAX
            ? cmsOpenProfileFromMemTHR(profile->context, tags->icc, (uint32_t)tags->icc_length)
            : NULL;
    if (icc) *status_out = icc_read(profile, icc, &sound, fault);
    if (icc) cmsCloseProfile(icc);
    if (sound) return true;
    const PixelFormat format = profile->format;
    profile_clear(profile);
    profile_start(profile, &format);
    return *status_out != STATUS_OK;
}

/* ---- The order ---- */

static bool try_gamma(Profile *profile, const ColourTags *tags, const char *file,
                      const Voice *voice, Status *status_out, Fault *fault)
{
    double gamma = tags->gamma;
    if (gamma != 0.0 && !(gamma > 0.01 && gamma < 100.0)) {
        voice_note(voice, "%s: its gamma of %g makes no sense; passed over", file, gamma);
        gamma = 0.0;
    }
    bool primaries = tags->chromaticities_given;
    if (primaries && !matrix_from_xy(profile, tags->chromaticities)) {
        voice_note(voice, "%s: its primaries make no sense; passed over", file);
        primaries = false;
    }
    if (gamma == 0.0 && !primaries) return false;
    if (!primaries) matrix_srgb(profile);
    char curve[32] = "sRGB curve";
    if (gamma != 0.0) snprintf(curve, sizeof curve, "gamma %.5g", gamma);
    snprintf(profile->name, sizeof profile->name, "%s, %s primaries", curve,
             primaries ? "its own" : "sRGB");
    *status_out = gamma != 0.0 ? curve_set(profile, decode_gamma, &gamma, fault)
                               : curve_set(profile, decode_srgb, NULL, fault);
    return true;
}

static Status choose(Profile *profile, const ColourTags *tags, const char *file, const Voice *voice,
                     Fault *fault)
{
    Status status = STATUS_OK;
    const bool inks = profile->format.model == MODEL_CMYK;
    if (!inks && try_cicp(profile, tags, file, voice, &status, fault)) return status;
    if (tags->icc && try_icc(profile, tags, &status, fault)) return status;
    const bool broken = tags->icc || tags->icc_broken;
    const char *what =
        broken ? "its colour profile is broken or does not fit" : "has no colour profile";
    if (inks) {
        voice_note(voice, "%s: %s; inks taken as plain filters over sRGB", file, what);
        return init_srgb(profile, "CMYK, plain filters over sRGB (assumed)", fault);
    }
    if (tags->srgb) {
        if (broken) voice_note(voice, "%s: %s; its sRGB tag holds", file, what);
        return init_srgb(profile, "sRGB", fault);
    }
    if (try_gamma(profile, tags, file, voice, &status, fault)) {
        if (broken) voice_note(voice, "%s: %s; its gamma holds", file, what);
        return status;
    }
    voice_note(voice, "%s: %s; sRGB assumed", file, what);
    return init_srgb(profile, "sRGB (assumed)", fault);
}

Status profile_init(Profile *profile, const ColourTags *tags, const PixelFormat *format,
                    const char *file, const Voice *voice, Fault *fault)
{
    assert(format->bits == 8 || format->bits == 16);
    profile_start(profile, format);
    const Status status = choose(profile, tags, file, voice, fault);
    if (status) profile_clear(profile);
    return status;
}

Status profile_init_data(Profile *profile, const PixelFormat *format, Fault *fault)
{
    profile_start(profile, format);
    snprintf(profile->name, sizeof profile->name, "none (data)");
    static const double luma[3] = {0.2126, 0.7152, 0.0722};
    for (int c = 0; c < 3; c++) profile->matrix[0][c] = profile->channels == 1 ? c == 0 : luma[c];
    return curve_set(profile, decode_none, NULL, fault);
}

void profile_clear(Profile *profile)
{
    for (int c = 0; c < SOURCE_MOST_CHANNELS; c++) memory_free(profile->curve[c]);
    if (profile->transform) cmsDeleteTransform(profile->transform);
    if (profile->context) cmsDeleteContext(profile->context);
    *profile = (Profile){0};
}

/* ---- Making ready ---- */

static inline uint32_t code_at(const Profile *profile, const void *stored, size_t at)
{
    return profile->format.bits == 8 ? ((const uint8_t *)stored)[at]
                                     : ((const uint16_t *)stored)[at];
}

/* Each ink is a filter: red = (1 - cyan)(1 - black), as codes of 16 bits. */
static void ready_by_inks(const Profile *profile, const void *stored, uint16_t *ready, long pixels)
{
    const PixelFormat *format = &profile->format;
    const size_t samples = 4 + format->alpha;
    const uint32_t most = format->bits == 8 ? 255 : 65535;
    const uint64_t scale = (uint64_t)most * most;
    for (size_t i = 0; i < (size_t)pixels; i++) {
        uint32_t clear[4];
        for (size_t c = 0; c < 4; c++) {
            const uint32_t code = code_at(profile, stored, i * samples + c);
            clear[c] = format->inverted ? code : most - code;
        }
        for (size_t c = 0; c < 3; c++)
            *ready++ = (uint16_t)(((uint64_t)clear[c] * clear[3] * 65535 + scale / 2) / scale);
        if (format->alpha)
            *ready++ = (uint16_t)(code_at(profile, stored, i * samples + 4) *
                                  (format->bits == 8 ? 257 : 1));
    }
}

static void ready_by_transform(const Profile *profile, const void *stored, float *ready,
                               long pixels)
{
    const PixelFormat *format = &profile->format;
    const size_t model = (size_t)format->model, samples = model + format->alpha;
    const size_t bytes = samples * (size_t)format->bits / 8;
    const double most = format->bits == 8 ? 255.0 : 65535.0;
    uint16_t lab[CHUNK * 3];
    for (size_t i = 0; i < (size_t)pixels; i += CHUNK) {
        const size_t left = (size_t)pixels - i, count = left < CHUNK ? left : CHUNK;
        cmsDoTransform(profile->transform, (const uint8_t *)stored + i * bytes, lab,
                       (cmsUInt32Number)count);
        for (size_t p = 0; p < count; p++) {
            /* ICC.1, 16-bit encoding of the version 4 PCS. */
            const uint16_t *code = lab + 3 * p;
            const Xyz xyz = xyz_from_lab(
                (Lab){code[0] / 655.35, code[1] / 257.0 - 128.0, code[2] / 257.0 - 128.0});
            *ready++ = (float)xyz.x;
            *ready++ = (float)xyz.y;
            *ready++ = (float)xyz.z;
            if (format->alpha)
                *ready++ = (float)(code_at(profile, stored, (i + p) * samples + model) / most);
        }
    }
}

void profile_ready(const Profile *profile, const void *stored, void *ready_out, long pixels)
{
    assert(profile->ready != READY_AS_STORED);
    if (profile->ready == READY_BY_INKS)
        ready_by_inks(profile, stored, ready_out, pixels);
    else
        ready_by_transform(profile, stored, ready_out, pixels);
}
