/* Fuzz entry for pictures of indices and of data that come back edited: cells.png, pins, steps,
 * strokes and labels, depth maps, masks, care. Any bytes give what they are for, within bounds, or
 * a fault. */
#include "base/memory.h"
#include "fuzz/fuzz_input.h"
#include "output/cells_png.h"
#include "relief/depth.h"
#include "relief/grey_map.h"
#include "relief/layer_picture.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void read_cells(const char *path)
{
    static Palette palette;
    Grid grid = {0};
    Fault fault = {0};
    if (!palette.count && palette_default(&palette, &fault)) abort();
    if (fuzz_well(cells_png_read(&grid, path, &palette, 0, 0, &fault), &fault))
        for (size_t i = 0; i < grid_cells(&grid); i++)
            if (grid.colour[i] >= palette.count) abort();
    grid_clear(&grid);
}

static void read_pins(const char *path)
{
    static Palette palette;
    Grid pins = {0};
    Fault fault = {0};
    if (!palette.count && palette_default(&palette, &fault)) abort();
    if (fuzz_well(pins_png_read(&pins, path, &palette, 0, 0, &fault), &fault))
        for (size_t i = 0; i < grid_cells(&pins); i++)
            if (pins.colour[i] >= palette.count && pins.colour[i] != PIN_NONE) abort();
    grid_clear(&pins);
}

/* As a map of steps, and as a depth map with a mask. */
static void read_steps(const char *path, const DepthFrame *frame)
{
    static Job job;
    Image image;
    Fault fault = {0};
    uint8_t steps[6 * 4];
    if (image_init(&image, frame->columns, frame->rows, &fault)) abort();
    const DepthInput input = {.frame = frame, .picture = &image, .guide = &image, .threads = 1};
    job_init(&job);
    job.steps = 5;
    job.limit = 0.1;
    snprintf(job.steps_map, sizeof job.steps_map, "%s", path);
    fuzz_well(depth_steps(&job, &input, steps, NULL, &fault), &fault);
    snprintf(job.depth_map, sizeof job.depth_map, "%s", path);
    snprintf(job.mask, sizeof job.mask, "%s", path);
    *job.steps_map = '\0';
    job.relief = RELIEF_MAP;
    if (fuzz_well(depth_steps(&job, &input, steps, NULL, &fault), &fault))
        for (size_t i = 0; i < sizeof steps; i++)
            if (steps[i] > job.steps) abort();
    image_clear(&image);
}

static void read_strokes(const char *path, const DepthFrame *frame)
{
    LayerPictureInput input = {
        .path = path, .kind = "layer", .list_path = "list", .frame = frame, .limit_pixels = 1e5};
    for (int i = 0; i < 256; i++) input.label[i] = i < 4 ? i - 1 : LABEL_UNKNOWN;
    LayerPicture picture = {0};
    Fault fault = {0};
    uint8_t stroke[6 * 4];
    if (fuzz_well(layer_picture_read(&picture, &input, &fault), &fault))
        layer_picture_strokes(&picture, 6, 4, stroke);
    layer_picture_clear(&picture);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    const char *path = fuzz_path(bytes, length);
    const DepthFrame frame = {.columns = 6,
                              .rows = 4,
                              .width = 12,
                              .height = 8,
                              .cut = {0, 0, 12, 8},
                              .crop = {0, 0, 12, 8}};
    const GreyMap map = {
        .path = path, .frame = &frame, .limit_pixels = 1e5, .limit_bytes = 1e6, .threads = 1};
    float *cells = NULL;
    Fault fault = {0};
    read_cells(path);
    read_pins(path);
    read_steps(path, &frame);
    read_strokes(path, &frame);
    fuzz_well(grey_map_read(&map, &cells, &fault), &fault);
    memory_free(cells);
    return 0;
}
