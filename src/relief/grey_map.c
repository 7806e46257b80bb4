/* A map is sampled through the same frame as the picture, whatever its resolution, so that its
 * cells fall on the picture's. */
#include "relief/grey_map.h"

#include "picture/picture.h"

Status grey_map_read(const GreyMap *map, float **cells_out, Fault *fault)
{
    const DepthFrame *f = map->frame;
    PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    options.limit_pixels = map->limit_pixels;
    options.limit_bytes = map->limit_bytes;
    options.data = true;
    Picture *file = NULL;
    Sampling sampling = {.columns = f->columns, .rows = f->rows, .threads = map->threads};
    Status status = picture_open(&file, map->path, &options, map->voice, fault);
    if (!status)
        status = map_frame_place(f, (double)picture_width(file), (double)picture_height(file),
                                 map->path, &sampling.crop, fault);
    if (!status)
        status = sample_data(picture_source(file), &sampling, cells_out, map->voice, fault);
    picture_close(file);
    return status;
}
