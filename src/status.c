#include "status.h"

#include <stdarg.h>
#include <stdio.h>

Status fault_set(Fault *fault, Status status, const char *format, ...)
{
    if (!fault) return status;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(fault->text, sizeof fault->text, format, arguments);
    va_end(arguments);
    for (char *c = fault->text; *c; c++)
        if ((unsigned char)*c < 0x20 || *c == 0x7f) *c = '?';
    fault->status = status;
    return status;
}
