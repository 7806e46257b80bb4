/* Group by group, so that whoever writes a stream and whoever fills a text need no more than four
 * characters at a time. Source: RFC 4648, section 4. */
#include "base/base64.h"

void base64_group(const unsigned char *bytes, size_t left, char text_out[4])
{
    static const char digit[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    const unsigned group = (unsigned)bytes[0] << 16 | (left > 1 ? (unsigned)bytes[1] << 8 : 0) |
                           (left > 2 ? bytes[2] : 0);
    text_out[0] = digit[group >> 18];
    text_out[1] = digit[group >> 12 & 63];
    text_out[2] = left > 1 ? digit[group >> 6 & 63] : '=';
    text_out[3] = left > 2 ? digit[group & 63] : '=';
}
