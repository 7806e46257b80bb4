/* Three floats a cell, XYZ of D50 in linear light, so that areas can be averaged as light is. */
#include "model/image.h"

#include "base/memory.h"

#include <assert.h>

Status image_init(Image *image, int columns, int rows, Fault *fault)
{
    assert(columns > 0 && columns <= GRID_MOST && rows > 0 && rows <= GRID_MOST);
    const size_t cells = (size_t)columns * (size_t)rows;
    *image =
        (Image){.columns = columns, .rows = rows, .xyz = memory_create(cells, 3 * sizeof(float))};
    return image->xyz ? STATUS_OK : memory_fault(fault, cells, 3 * sizeof(float));
}

void image_clear(Image *image)
{
    memory_free(image->xyz);
    *image = (Image){0};
}
