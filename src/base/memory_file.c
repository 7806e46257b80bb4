/* A stream of the C library whose writes go to a block that grows. open_memstream does the same
 * with memory that is not the library's own, which no test can let run out; it serves where Linux's
 * fopencookie(3) is missing. The heap is one, so memory_free frees either's. */
#include "base/memory_file.h"

#include "base/memory.h"

#include <errno.h>
#include <string.h>

#ifdef __linux__
static ssize_t add(void *self, const char *bytes, size_t length)
{
    MemoryFile *to = self;
    if (memory_grow(&to->byte, &to->capacity, to->length + length, 1, NULL)) {
        errno = ENOMEM;
        return 0;
    }
    memcpy(to->byte + to->length, bytes, length);
    to->length += length;
    return (ssize_t)length;
}

static FILE *open_stream(MemoryFile *to)
{
    return fopencookie(to, "wb", (cookie_io_functions_t){.write = add});
}
#else
static FILE *open_stream(MemoryFile *to) { return open_memstream((char **)&to->byte, &to->length); }
#endif

Status memory_file_open(FILE **file_out, MemoryFile *to, Fault *fault)
{
    *file_out = open_stream(to);
    return *file_out ? STATUS_OK : memory_fault(fault, 1, BUFSIZ);
}
