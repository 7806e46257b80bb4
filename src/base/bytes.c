/* The digest follows the reading: bytes are added to it when they are read in order,
 * which is how most pictures are read, and only the rest is read again at the end. */
#include "base/bytes.h"

#include "base/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { WINDOW = 64 * 1024 };

struct Bytes {
    const char *name;
    int file;
    bool owned;
    off_t base; /* where the input starts, for a standard input that somebody has read from */
    uint64_t size;
    Digest *digest;
    uint64_t digested;      /* bytes from the start */
    char text[DIGEST_TEXT]; /* once it is done */
    uint64_t window_at;
    size_t window_length;
    uint8_t window[WINDOW];
    char path[]; /* what name points to */
};

static Status broke_off(const char *name, Fault *fault)
{
    return fault_set(fault, STATUS_IO, "%s: %s while reading; see whether the disk is sound", name,
                     strerror(errno));
}

static Status stopped(const char *name, Fault *fault)
{
    return fault_set(fault, STATUS_INTERRUPTED,
                     "%s: stopped from outside, nothing was changed; run it again", name);
}

/* Waits until there is something to read, or the end. The voice is asked in between, so that the
 * wait for a pipe can be stopped at any time. */
static Status await(const Bytes *bytes, const Voice *voice, Fault *fault)
{
    enum { PATIENCE_MS = 200 };
    struct pollfd input = {.fd = bytes->file, .events = POLLIN};
    while (!voice_stopped(voice)) {
        const int ready = poll(&input, 1, PATIENCE_MS);
        if (ready > 0 || (ready < 0 && errno != EINTR)) return STATUS_OK;
    }
    return stopped(bytes->name, fault);
}

/* Copies what comes through a pipe into a file that can be read at any place. */
static Status spool(Bytes *bytes, const Voice *voice, Fault *fault)
{
    FILE *copy = tmpfile();
    const int kept = copy ? dup(fileno(copy)) : -1;
    if (copy) fclose(copy);
    if (kept < 0)
        return fault_set(fault, STATUS_IO, "%s: no temporary file: %s; set TMPDIR or give a file",
                         bytes->name, strerror(errno));
    Status status = STATUS_OK;
    for (;;) {
        status = await(bytes, voice, fault);
        if (status) break;
        const ssize_t got = read(bytes->file, bytes->window, WINDOW);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) status = broke_off(bytes->name, fault);
        if (got <= 0) break;
        digest_add(bytes->digest, bytes->window, (size_t)got);
        bytes->digested += (uint64_t)got;
        for (ssize_t done = 0; done < got && !status;) {
            const ssize_t put = write(kept, bytes->window + done, (size_t)(got - done));
            if (put > 0) done += put;
            if (put < 0 && errno != EINTR)
                status = fault_set(fault, STATUS_IO,
                                   "%s: the temporary copy broke off: %s; make room in %s",
                                   bytes->name, strerror(errno), P_tmpdir);
        }
        if (status) break;
    }
    if (bytes->owned) close(bytes->file);
    bytes->file = kept;
    bytes->owned = true;
    bytes->base = 0;
    bytes->size = bytes->digested;
    return status;
}

static Status measure(Bytes *bytes, const Voice *voice, Fault *fault)
{
    struct stat about;
    if (fstat(bytes->file, &about)) return broke_off(bytes->name, fault);
    if (S_ISDIR(about.st_mode))
        return fault_set(fault, STATUS_NO_INPUT, "%s: is a folder; give a picture", bytes->name);
    bytes->base = lseek(bytes->file, 0, SEEK_CUR);
    if (!S_ISREG(about.st_mode) || bytes->base < 0) return spool(bytes, voice, fault);
    bytes->size = about.st_size > bytes->base ? (uint64_t)(about.st_size - bytes->base) : 0;
    return STATUS_OK;
}

Status bytes_open(Bytes **bytes_out, const char *path, const Voice *voice, Fault *fault)
{
    const bool input = strcmp(path, "-") == 0;
    const char *name = input ? "standard input" : path;
    const size_t length = strlen(name) + 1;
    Bytes *bytes = memory_create(1, sizeof *bytes + length);
    if (!bytes) return memory_fault(fault, 1, sizeof *bytes + length);
    bytes->name = memcpy(bytes->path, name, length);
    bytes->file = input ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC);
    bytes->owned = !input;
    Status status = STATUS_OK;
    if (bytes->file < 0 && errno == EINTR)
        status = stopped(name, fault);
    else if (bytes->file < 0)
        status = fault_set(fault, STATUS_NO_INPUT, "%s: %s; check the name", name, strerror(errno));
    if (!status) status = digest_create(&bytes->digest, fault);
    if (!status) status = measure(bytes, voice, fault);
    if (status)
        bytes_close(bytes);
    else
        *bytes_out = bytes;
    return status;
}

void bytes_close(Bytes *bytes)
{
    if (!bytes) return;
    if (bytes->owned && bytes->file >= 0) close(bytes->file);
    digest_free(bytes->digest);
    memory_free(bytes);
}

const char *bytes_name(const Bytes *bytes) { return bytes->name; }

uint64_t bytes_size(const Bytes *bytes) { return bytes->size; }

/* From the file, past the window. */
static Status read_through(Bytes *bytes, uint64_t offset, uint8_t *buffer, size_t want,
                           size_t *got_out, Fault *fault)
{
    size_t got = 0;
    while (got < want && offset + got < bytes->size) {
        const ssize_t part =
            pread(bytes->file, buffer + got, want - got, bytes->base + (off_t)(offset + got));
        if (part < 0 && errno == EINTR) continue;
        if (part < 0) return broke_off(bytes->name, fault);
        if (part == 0) break;
        got += (size_t)part;
    }
    if (offset <= bytes->digested && offset + got > bytes->digested) {
        const size_t known = (size_t)(bytes->digested - offset);
        digest_add(bytes->digest, buffer + known, got - known);
        bytes->digested = offset + got;
    }
    *got_out = got;
    return STATUS_OK;
}

Status bytes_read(Bytes *bytes, uint64_t offset, void *buffer, size_t want, size_t *got_out,
                  Fault *fault)
{
    uint8_t *out = buffer;
    size_t got = 0;
    *got_out = 0;
    if (offset >= bytes->size) return STATUS_OK;
    if (want > bytes->size - offset) want = (size_t)(bytes->size - offset);
    while (got < want) {
        const uint64_t at = offset + got;
        if (at >= bytes->window_at && at < bytes->window_at + bytes->window_length) {
            size_t part = bytes->window_length - (size_t)(at - bytes->window_at);
            if (part > want - got) part = want - got;
            memcpy(out + got, bytes->window + (at - bytes->window_at), part);
            got += part;
            continue;
        }
        size_t part;
        const bool large = want - got >= WINDOW;
        const Status status = read_through(bytes, at, large ? out + got : bytes->window,
                                           large ? want - got : WINDOW, &part, fault);
        if (status) return status;
        if (!part) break;
        if (large) {
            got += part;
        } else {
            bytes->window_at = at;
            bytes->window_length = part;
        }
    }
    *got_out = got;
    return STATUS_OK;
}

Status bytes_digest(Bytes *bytes, char text_out[DIGEST_TEXT], Fault *fault)
{
    while (!bytes->text[0] && bytes->digested < bytes->size) {
        const uint64_t before = bytes->digested;
        size_t got;
        bytes->window_length = 0;
        const Status status =
            read_through(bytes, bytes->digested, bytes->window, WINDOW, &got, fault);
        if (status) return status;
        if (bytes->digested == before)
            return fault_set(fault, STATUS_IO, "%s: became shorter while it was read; run it again",
                             bytes->name);
    }
    if (!bytes->text[0]) digest_text(bytes->digest, bytes->text);
    memcpy(text_out, bytes->text, DIGEST_TEXT);
    return STATUS_OK;
}
