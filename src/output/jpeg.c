/* stb_image_write packs the picture and hands out bytes, which go into the file as they come; it
 * holds no memory of its own for a JPEG. It shifts negative numbers to the left, which C17 (6.5.7)
 * leaves undefined and the compilers that build this program define, so the Makefile builds this
 * file without the sanitizer's check of shifts. Libjpeg reads what it writes in the test. */
#include "output/jpeg.h"

#include "base/output_file.h"

#define STB_IMAGE_WRITE_IMPLEMENTATION
#define STB_IMAGE_WRITE_STATIC
#if __has_include(<stb/stb_image_write.h>)
#include <stb/stb_image_write.h>
#else /* Alpine has it in no folder of its own */
#include <stb_image_write.h>
#endif

static void take_bytes(void *file, void *bytes, int size) { fwrite(bytes, 1, (size_t)size, file); }

Status jpeg_write(const char *path, int width, int height, const uint8_t *rgb, int quality,
                  Fault *fault)
{
    FILE *file;
    const Status status = output_file_open(&file, path, fault);
    if (status) return status;
    /* 0 only for a picture without pixels. */
    stbi_write_jpg_to_func(take_bytes, file, width, height, 3, rgb, quality);
    return output_file_close(file, path, fault);
}
