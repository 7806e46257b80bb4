/* Source: getentropy(3) of POSIX.1-2024, which gives no more than 256 bytes at once. */
#include "serve/token.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

Status random_bytes(void *bytes, size_t length, Fault *fault)
{
    if (!getentropy(bytes, length)) return STATUS_OK;
    return fault_set(fault, STATUS_NO_RESOURCE, "no random bits for the link (%s); try again",
                     strerror(errno));
}

Status token_draw(char token[TOKEN_TEXT], Fault *fault)
{
    unsigned char bits[(TOKEN_TEXT - 1) / 2];
    *token = 0;
    const Status status = random_bytes(bits, sizeof bits, fault);
    for (size_t i = 0; !status && i < sizeof bits; i++) sprintf(token + 2 * i, "%02x", bits[i]);
    return status;
}

bool secret_is(const char *secret, const char *given)
{
    const size_t length = strlen(secret);
    unsigned differs = 0;
    if (!length || !given || strlen(given) != length) return false;
    for (size_t i = 0; i < length; i++) differs |= (unsigned char)(given[i] ^ secret[i]);
    return !differs;
}
