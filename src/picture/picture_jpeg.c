/* JPEG (ITU-T T.81) through libjpeg-turbo, with the settings that it has by itself
 * (accurate integer DCT, smooth chroma), as rows of grey, RGB or CMYK.
 *
 * For those who ask for it, the samples are made by jpeg_planes.h, without rounding, of
 * coefficients that are held whole.
 *
 * libjpeg would rather paint over damage than stop; here damage to pixels is a fault. */
#include "base/memory.h"
#include "picture/decoder.h"
#include "picture/exif.h"
#include "picture/jpeg_planes.h"

#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

#include <jerror.h>

/* A malicious file could make a large picture be gone over thousands of times. */
enum {
    JPEG_BUFFER = 32 * 1024,
    MOST_SCANS = 500,
    APP_EXIF = JPEG_APP0 + 1,
    APP_ICC = JPEG_APP0 + 2
};

typedef struct Jpeg {
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr errors;
    struct jpeg_source_mgr source;
    struct jpeg_progress_mgr progress;
    jmp_buf jump;
    Bytes *bytes;
    const Voice *voice;
    uint64_t at;
    Fault *fault;  /* of the call that runs */
    Status status; /* of the fault that is set already, or OK */
    bool created, started, ended, icc_broken;
    JpegPlanes *planes; /* NULL: rows come from libjpeg */
    jvirt_barray_ptr *coefficients;
    size_t row_bytes;
    uint8_t buffer[JPEG_BUFFER];
} Jpeg;

static Jpeg *jpeg_of(j_common_ptr jpeg) { return jpeg->client_data; }

/* Goes back to the function that called libjpeg. */
static _Noreturn void jpeg_leave(Jpeg *self, Status status)
{
    self->status = status;
    longjmp(self->jump, 1);
}

static _Noreturn void leave_broken(j_common_ptr jpeg)
{
    Jpeg *self = jpeg_of(jpeg);
    char why[JMSG_LENGTH_MAX];
    if (self->ended) jpeg_leave(self, decoder_ends_early(self->bytes, "JPEG", self->fault));
    if (jpeg->err->msg_code == JERR_OUT_OF_MEMORY)
        jpeg_leave(self, memory_fault(self->fault, 1, 1));
    jpeg->err->format_message(jpeg, why);
    jpeg_leave(self, decoder_broken(self->bytes, "JPEG", why, self->fault));
}

static void jpeg_on_error(j_common_ptr jpeg) { leave_broken(jpeg); }

/* Warnings about bytes that are merely odd are let pass. */
static void jpeg_on_message(j_common_ptr jpeg, int level)
{
    if (level >= 0) return;
    switch (jpeg->err->msg_code) {
    case JWRN_HIT_MARKER:
    case JWRN_HUFF_BAD_CODE:
    case JWRN_ARITH_BAD_CODE:
    case JWRN_MUST_RESYNC:
        leave_broken(jpeg);
    case JWRN_BOGUS_ICC:
        jpeg_of(jpeg)->icc_broken = true;
        break;
    default:
        break;
    }
}

static void jpeg_on_output(j_common_ptr jpeg) { (void)jpeg; }

static void jpeg_on_progress(j_common_ptr jpeg)
{
    Jpeg *self = jpeg_of(jpeg);
    const char *name = bytes_name(self->bytes);
    if (voice_stopped(self->voice))
        jpeg_leave(self,
                   fault_set(self->fault, STATUS_INTERRUPTED, "%s: stopped; run it again", name));
    if (self->jpeg.input_scan_number > MOST_SCANS)
        jpeg_leave(self, decoder_broken(self->bytes, "JPEG", "more than 500 scans", self->fault));
}

static void source_nothing(j_decompress_ptr jpeg) { (void)jpeg; }

static boolean source_fill(j_decompress_ptr jpeg)
{
    Jpeg *self = jpeg->client_data;
    size_t got = 0;
    const Status status =
        bytes_read(self->bytes, self->at, self->buffer, JPEG_BUFFER, &got, self->fault);
    if (status) jpeg_leave(self, status);
    self->at += got;
    if (!got) {
        /* An end marker, so that rows that are whole can still be had. */
        self->ended = true;
        self->buffer[0] = 0xff;
        self->buffer[1] = JPEG_EOI;
        got = 2;
    }
    self->source.next_input_byte = self->buffer;
    self->source.bytes_in_buffer = got;
    return TRUE;
}

static void source_skip(j_decompress_ptr jpeg, long count)
{
    Jpeg *self = jpeg->client_data;
    if (count <= 0) return;
    const size_t held = self->source.bytes_in_buffer;
    if ((size_t)count <= held) {
        self->source.next_input_byte += count;
        self->source.bytes_in_buffer -= (size_t)count;
        return;
    }
    self->at += (size_t)count - held;
    self->source.bytes_in_buffer = 0;
}

static void jpeg_close(void *context)
{
    Jpeg *self = context;
    jpeg_planes_free(self->planes);
    if (self->created) jpeg_destroy_decompress(&self->jpeg);
    memory_free(self);
}

static void read_orientation(Decoder *decoder, const Jpeg *self)
{
    static const uint8_t start[6] = "Exif\0";
    for (jpeg_saved_marker_ptr m = self->jpeg.marker_list; m; m = m->next)
        if (m->marker == APP_EXIF && m->data_length > 6 && memcmp(m->data, start, 6) == 0) {
            decoder->orientation = exif_orientation(m->data + 6, m->data_length - 6);
            return;
        }
}

static Status jpeg_read_icc(Decoder *decoder, Jpeg *self)
{
    JOCTET *icc = NULL;
    unsigned length = 0;
    const boolean found = jpeg_read_icc_profile(&self->jpeg, &icc, &length);
    decoder->tags.icc_broken = self->icc_broken;
    if (!found) return STATUS_OK;
    decoder->tags.icc = memory_create(length, 1);
    if (decoder->tags.icc) memcpy(decoder->tags.icc, icc, length);
    free(icc);
    if (!decoder->tags.icc) return memory_fault(self->fault, length, 1);
    decoder->tags.icc_length = length;
    return STATUS_OK;
}

static void choose_format(Decoder *decoder, Jpeg *self)
{
    struct jpeg_decompress_struct *jpeg = &self->jpeg;
    const J_COLOR_SPACE stored = jpeg->jpeg_color_space;
    decoder->format = (PixelFormat){.model = MODEL_RGB, .bits = 8};
    jpeg->out_color_space = JCS_RGB;
    if (stored == JCS_GRAYSCALE) {
        decoder->format.model = MODEL_GREY;
        jpeg->out_color_space = JCS_GRAYSCALE;
    } else if (stored == JCS_CMYK || stored == JCS_YCCK) {
        decoder->format.model = MODEL_CMYK;
        /* Adobe's marker means Adobe's habit: 0 is all ink. */
        decoder->format.inverted = jpeg->saw_Adobe_marker;
        jpeg->out_color_space = JCS_CMYK;
    }
}

/* Scans that add to each other meet in the coefficients of the whole picture. */
static double bytes_of_coefficients(const struct jpeg_decompress_struct *jpeg)
{
    double bytes = 0;
    for (int i = 0; i < jpeg->num_components; i++)
        bytes += (double)jpeg->comp_info[i].width_in_blocks * jpeg->comp_info[i].height_in_blocks *
                 sizeof(JBLOCK);
    return bytes;
}

static Status jpeg_read_head(Decoder *decoder, const DecoderInput *input, Jpeg *self)
{
    struct jpeg_decompress_struct *jpeg = &self->jpeg;
    if (setjmp(self->jump)) return self->status;
    jpeg_create_decompress(jpeg);
    self->created = true;
    jpeg->client_data = self;
    jpeg->src = &self->source;
    jpeg->progress = &self->progress;
    jpeg_save_markers(jpeg, APP_EXIF, 0xffff);
    jpeg_save_markers(jpeg, APP_ICC, 0xffff);
    jpeg_read_header(jpeg, TRUE);
    decoder->width = jpeg->image_width;
    decoder->height = jpeg->image_height;
    Status status =
        decoder_check_size(input, (double)decoder->width, (double)decoder->height, self->fault);
    if (status) return status;
    choose_format(decoder, self);
    const bool exact = input->exact && jpeg_planes_can(jpeg);
    if (exact) {
        decoder->format.bits = 16;
        self->planes = jpeg_planes_create(jpeg);
        if (!self->planes) return memory_fault(self->fault, jpeg->image_width, sizeof(float));
    }
    read_orientation(decoder, self);
    self->row_bytes = decoder_row_bytes(decoder);
    if (exact || jpeg_has_multiple_scans(jpeg)) decoder->held = bytes_of_coefficients(jpeg);
    return jpeg_read_icc(decoder, self);
}

static Status jpeg_pull(void *context, int rows, uint8_t *rows_out, Fault *fault)
{
    Jpeg *self = context;
    struct jpeg_decompress_struct *jpeg = &self->jpeg;
    self->fault = fault;
    if (setjmp(self->jump)) return self->status;
    if (!self->started) {
        self->started = true;
        if (self->planes)
            self->coefficients = jpeg_read_coefficients(jpeg);
        else
            jpeg_start_decompress(jpeg);
        /* All scans are read by now: a missing one would merely blur the picture. */
        if (self->ended) leave_broken((j_common_ptr)jpeg);
    }
    for (int i = 0; self->planes && i < rows; i++)
        jpeg_planes_row(self->planes, jpeg, self->coefficients,
                        (uint16_t *)(void *)(rows_out + (size_t)i * self->row_bytes));
    if (self->planes) return STATUS_OK;
    JSAMPROW row[8];
    for (int done = 0; done < rows;) {
        const int left = rows - done, want = left < 8 ? left : 8;
        for (int i = 0; i < want; i++) row[i] = rows_out + (size_t)(done + i) * self->row_bytes;
        done += (int)jpeg_read_scanlines(jpeg, row, (JDIMENSION)want);
    }
    return STATUS_OK;
}

Status jpeg_open(Decoder *decoder, const DecoderInput *input, Fault *fault)
{
    Jpeg *self = memory_create(1, sizeof *self);
    if (!self) return memory_fault(fault, 1, sizeof *self);
    self->bytes = input->bytes;
    self->voice = input->voice;
    self->fault = fault;
    self->jpeg.err = jpeg_std_error(&self->errors);
    self->jpeg.client_data = self;
    self->errors.error_exit = jpeg_on_error;
    self->errors.emit_message = jpeg_on_message;
    self->errors.output_message = jpeg_on_output;
    self->progress.progress_monitor = jpeg_on_progress;
    self->source = (struct jpeg_source_mgr){.init_source = source_nothing,
                                            .fill_input_buffer = source_fill,
                                            .skip_input_data = source_skip,
                                            .resync_to_restart = jpeg_resync_to_restart,
                                            .term_source = source_nothing};
    *decoder = (Decoder){.self = self, .pull = jpeg_pull, .close = jpeg_close, .orientation = 1};
    const Status status = jpeg_read_head(decoder, input, self);
    if (status) decoder_close(decoder);
    return status;
}
