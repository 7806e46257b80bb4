/* The digest follows the reading: bytes are added to it when they are read in order,
 * which is how most pictures are read, and only the rest is read again at the end. */
#include "base/bytes.h"

#include "base/input_file.h"
#include "base/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { WINDOW = 64 * 1024 };

struct Bytes {
    const char *name;
    int file;
    bool owned;
    int copy;   /* of a pipe, as far as it was read; -1: none is needed */
    bool ended; /* the pipe */
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
    return input_file_stopped(bytes->name, fault);
}

/* A file without a name, in the folder for such files (POSIX.1-2008, section 8.3, TMPDIR). */
static int create_nameless(const char *folder)
{
    char path[4096];
    const int length = snprintf(path, sizeof path, "%s/rowlock-XXXXXX", folder);
    if (length < 0 || (size_t)length >= sizeof path) {
        errno = ENAMETOOLONG;
        return -1;
    }
    const int file = mkostemp(path, O_CLOEXEC);
    if (file >= 0) unlink(path);
    return file;
}

const char *temporary_folder(void)
{
    const char *asked = getenv("TMPDIR");
    return asked && *asked ? asked : P_tmpdir;
}

static Status keep_copy(Bytes *bytes, size_t count, Fault *fault)
{
    for (size_t done = 0; done < count;) {
        const ssize_t put = write(bytes->copy, bytes->window + done, count - done);
        if (put > 0) done += (size_t)put;
        if (put < 0 && errno != EINTR)
            return fault_set(fault, STATUS_IO,
                             "%s: the temporary copy broke off: %s; make room in %s", bytes->name,
                             strerror(errno), temporary_folder());
    }
    return STATUS_OK;
}

/* Copies what comes through a pipe until `most` bytes are there, or it ends. */
static Status spool(Bytes *bytes, uint64_t most, const Voice *voice, Fault *fault)
{
    bytes->window_length = 0;
    while (!bytes->ended && bytes->size < most) {
        Status status = await(bytes, voice, fault);
        if (status) return status;
        const ssize_t got = read(bytes->file, bytes->window, WINDOW);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) return broke_off(bytes->name, fault);
        bytes->ended = !got;
        digest_add(bytes->digest, bytes->window, (size_t)got);
        bytes->digested = bytes->size += (uint64_t)got;
        status = keep_copy(bytes, (size_t)got, fault);
        if (status) return status;
    }
    return STATUS_OK;
}

static Status spool_head(Bytes *bytes, const Voice *voice, Fault *fault)
{
    bytes->copy = create_nameless(temporary_folder());
    if (bytes->copy < 0)
        return fault_set(fault, STATUS_IO,
                         "%s: no temporary file in %s: %s; set TMPDIR or give a file", bytes->name,
                         temporary_folder(), strerror(errno));
    bytes->base = 0;
    return spool(bytes, BYTES_HEAD, voice, fault);
}

static Status measure(Bytes *bytes, const Voice *voice, Fault *fault)
{
    struct stat about;
    if (fstat(bytes->file, &about)) return broke_off(bytes->name, fault);
    if (S_ISDIR(about.st_mode))
        return fault_set(fault, STATUS_NO_INPUT, "%s: is a folder; give a picture", bytes->name);
    bytes->base = lseek(bytes->file, 0, SEEK_CUR);
    if (!S_ISREG(about.st_mode) || bytes->base < 0) return spool_head(bytes, voice, fault);
    bytes->size = about.st_size > bytes->base ? (uint64_t)(about.st_size - bytes->base) : 0;
    return STATUS_OK;
}

Status bytes_complete(Bytes *bytes, uint64_t most, const Voice *voice, Fault *fault)
{
    if (bytes->copy < 0) return STATUS_OK;
    const Status status = spool(bytes, most + 1, voice, fault);
    if (status || bytes->size <= most) return status;
    return fault_set(fault, STATUS_DATA,
                     "%s: goes on after %.0f MB, more than a picture within the limit has; give a "
                     "file, or raise the limit",
                     bytes->name, (double)most / 1e6);
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
    bytes->copy = -1;
    Status status = STATUS_OK;
    if (bytes->file < 0) status = input_file_fault(name, errno, fault);
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
    if (bytes->copy >= 0) close(bytes->copy);
    digest_free(bytes->digest);
    memory_free(bytes);
}

const char *bytes_name(const Bytes *bytes) { return bytes->name; }

uint64_t bytes_size(const Bytes *bytes) { return bytes->size; }

/* From the file, past the window. */
static Status read_through(Bytes *bytes, uint64_t offset, uint8_t *buffer, size_t want,
                           size_t *got_out, Fault *fault)
{
    const int file = bytes->copy >= 0 ? bytes->copy : bytes->file;
    size_t got = 0;
    while (got < want && offset + got < bytes->size) {
        const ssize_t part =
            pread(file, buffer + got, want - got, bytes->base + (off_t)(offset + got));
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
