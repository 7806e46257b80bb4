/* SHA-256 by nettle; here is the text form alone, and the reading of files.
 *
 * Source: FIPS 180-4. */
#include "base/digest.h"

#include "base/input_file.h"
#include "base/memory.h"

#include <nettle/sha2.h>

#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

struct Digest {
    struct sha256_ctx context;
};

Status digest_create(Digest **digest_out, Fault *fault)
{
    Digest *digest = memory_create(1, sizeof *digest);
    if (!digest) return memory_fault(fault, 1, sizeof *digest);
    sha256_init(&digest->context);
    *digest_out = digest;
    return STATUS_OK;
}

void digest_add(Digest *digest, const void *bytes, size_t length)
{
    sha256_update(&digest->context, length, bytes);
}

void digest_text(Digest *digest, char text_out[DIGEST_TEXT])
{
    static const char hex[] = "0123456789abcdef";
    uint8_t sum[SHA256_DIGEST_SIZE];
    sha256_digest(&digest->context, sizeof sum, sum);
    for (size_t i = 0; i < sizeof sum; i++) {
        text_out[2 * i] = hex[sum[i] >> 4];
        text_out[2 * i + 1] = hex[sum[i] & 15];
    }
    text_out[2 * sizeof sum] = '\0';
}

void digest_free(Digest *digest) { memory_free(digest); }

Status digest_of(const void *bytes, size_t length, char text_out[DIGEST_TEXT], Fault *fault)
{
    Digest *digest = NULL;
    const Status status = digest_create(&digest, fault);
    if (status) return status;
    digest_add(digest, bytes, length);
    digest_text(digest, text_out);
    digest_free(digest);
    return STATUS_OK;
}

Status digest_file(const char *path, char text_out[DIGEST_TEXT], Fault *fault)
{
    FILE *file = input_file_open_regular(path);
    if (!file)
        return fault_set(fault, STATUS_IO, "%s: cannot be read back (%s); check the folder", path,
                         strerror(errno));
    Digest *digest = NULL;
    const Status status = digest_create(&digest, fault);
    char block[1 << 15];
    for (size_t got; !status && (got = fread(block, 1, sizeof block, file)) > 0;)
        digest_add(digest, block, got);
    const int broken = ferror(file);
    fclose(file);
    if (!status) digest_text(digest, text_out);
    digest_free(digest);
    if (!status && broken)
        return fault_set(fault, STATUS_IO, "%s: cannot be read back; check the disk", path);
    return status;
}
