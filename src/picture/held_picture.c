/* What is kept is the rows as their format stores them, not light made from them: these are the
 * smallest, and sampled as if they came from the file they give the same cells, to the bit. */
#include "picture/held_picture.h"

#include "base/memory.h"

/* Rows that are decoded between two looks at whether to stop: a few milliseconds' worth. */
enum { ROWS_AT_ONCE = 32 };

/* Whether the pixels fit. The file's head is read for it, by itself, since what is said of a
 * picture should be said once, by whoever goes on with it. */
static Status look_at_size(const char *path, const PictureOptions *options, size_t most_bytes,
                           bool *fits_out, Fault *fault)
{
    Picture *picture = NULL;
    const Status status = picture_open(&picture, path, options, NULL, fault);
    *fits_out = false;
    if (!status) {
        const Source *source = picture_source(picture);
        *fits_out = source->stored_bytes <= most_bytes / (size_t)source->height;
    }
    picture_close(picture);
    return status;
}

static Status decode(HeldPicture *held, const Voice *voice, Fault *fault)
{
    Source *source = picture_source(held->picture);
    const long height = source->height;
    held->rows = memory_create((size_t)height, source->stored_bytes);
    if (!held->rows) return memory_fault(fault, (size_t)height, source->stored_bytes);
    Status status = STATUS_OK;
    for (long row = 0; !status && row < height; row += ROWS_AT_ONCE) {
        const int rows = (int)(height - row < ROWS_AT_ONCE ? height - row : ROWS_AT_ONCE);
        if (voice_stopped(voice))
            return fault_set(fault, STATUS_INTERRUPTED, "%s: stopped; run it again", source->name);
        status = source->pull(source->self, rows, held->rows + (size_t)row * source->stored_bytes,
                              fault);
        voice_progress(voice, "reading", (double)(row + rows) / (double)height);
    }
    return status;
}

Status held_picture_init(HeldPicture *held_out, const char *path, const PictureOptions *options,
                         size_t most_bytes, const Voice *voice, Fault *fault)
{
    bool fits = false;
    *held_out = (HeldPicture){0};
    Status status = most_bytes ? look_at_size(path, options, most_bytes, &fits, fault) : STATUS_OK;
    if (status || !fits) return status;
    status = picture_open(&held_out->picture, path, options, voice, fault);
    if (!status) status = decode(held_out, voice, fault);
    return status ? status : picture_finish(held_out->picture, &held_out->facts, fault);
}

void held_picture_clear(HeldPicture *held)
{
    picture_close(held->picture);
    memory_free(held->rows);
    *held = (HeldPicture){0};
}

Source held_picture_source(const HeldPicture *held)
{
    Source source = *picture_source(held->picture);
    source.stored = held->rows;
    return source;
}
