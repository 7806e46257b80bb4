/* What all decoders share: the limit on size, asked before any memory is, and the words of
 * their faults, so that a broken file reads the same whatever its format. */
#include "picture/decoder.h"

#include "base/memory.h"

void decoder_close(Decoder *decoder)
{
    if (decoder->close) decoder->close(decoder->self);
    memory_free(decoder->tags.icc);
    *decoder = (Decoder){0};
}

Status decoder_check_size(const DecoderInput *input, double width, double height, Fault *fault)
{
    const char *name = bytes_name(input->bytes);
    if (width < 1.0 || height < 1.0)
        return fault_set(fault, STATUS_DATA, "%s: has no pixels (%.0fx%.0f); give another picture",
                         name, width, height);
    if (width > SOURCE_MOST_SIDE || height > SOURCE_MOST_SIDE)
        return fault_set(fault, STATUS_DATA,
                         "%s: claims %.0fx%.0f pixels, more than %d on a side; give a smaller one",
                         name, width, height, SOURCE_MOST_SIDE);
    if (width * height > input->limit_pixels)
        return fault_set(fault, STATUS_DATA,
                         "%s: claims %.0fx%.0f pixels, over the limit of %g megapixels; "
                         "give a smaller picture or raise the limit",
                         name, width, height, input->limit_pixels / 1e6);
    return STATUS_OK;
}

Status decoder_broken(const Bytes *bytes, const char *format, const char *why, Fault *fault)
{
    return fault_set(fault, STATUS_DATA, "%s: broken %s: %s; get a whole copy of it",
                     bytes_name(bytes), format, why);
}

Status decoder_ends_early(const Bytes *bytes, const char *format, Fault *fault)
{
    return decoder_broken(bytes, format, "it ends too early", fault);
}
