/* Fuzz entry for pictures: whatever the format that the bytes look like, the picture becomes cells,
 * as colours, exact or not, and as data, or a fault. */
#include "base/memory.h"
#include "fuzz/fuzz_input.h"
#include "picture/picture.h"
#include "picture/sample.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void sample_so(const char *path, int data, int exact)
{
    Picture *picture = NULL;
    PictureFacts facts;
    PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    Image image = {0};
    float *cells = NULL;
    Fault fault = {0};
    options.limit_pixels = 1e5;
    options.data = data;
    options.exact = exact;
    Status status = picture_open(&picture, path, &options, NULL, &fault);
    if (!status) {
        Source *source = picture_source(picture);
        const Sampling sampling = {crop_all(source), 5, 4, 1};
        status = data ? sample_data(source, &sampling, &cells, NULL, &fault)
                      : sample_image(source, &sampling, &image, NULL, &fault);
    }
    if (!status) status = picture_finish(picture, &facts, &fault);
    fuzz_well(status, &fault);
    picture_close(picture);
    image_clear(&image);
    memory_free(cells);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    const char *path = fuzz_path(bytes, length);
    sample_so(path, 0, 0);
    sample_so(path, 0, 1);
    sample_so(path, 1, 0);
    return 0;
}
