/* In show.pdf every page is an object in the clear, and there are no others; a book of cairo's may
 * have a page twice, since what it lacked was added later, so there the page tree's count is read.
 *
 * Source: ISO 32000-1:2008, 7.7.3 (page tree). */
#include "check/check_binding.h"

#include "base/folder.h"
#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

static const char *find(const char *at, const char *end, const char *word)
{
    return at < end ? memmem(at, (size_t)(end - at), word, strlen(word)) : NULL;
}

static long count_pages(const char *bytes, size_t length)
{
    static const char mark[] = "/Type /Page";
    const char *end = bytes + length;
    long pages = 0;
    for (const char *at = bytes; (at = find(at, end, mark)); pages += *at == ' ' || *at == '\n')
        at += sizeof mark - 1;
    return pages;
}

/* The most that any node of a page tree says is what its root says. */
static long counted_pages(const char *bytes, size_t length)
{
    const char *end = bytes + length;
    long most = 0;
    for (const char *at = bytes; (at = find(at, end, "/Type /Pages")); at++) {
        const char *count = find(at, end, "/Count "), *close = find(at, end, "endobj");
        const long pages = count && count < close ? strtol(count + 7, NULL, 10) : 0;
        if (pages > most) most = pages;
    }
    return most;
}

/* Pages of a file, as one of these finds them; 0 where it is not there. */
static Status look(const char *folder, const char *name, long (*pages)(const char *, size_t),
                   long *pages_out, Fault *fault)
{
    char *bytes = NULL;
    size_t length = 0;
    *pages_out = 0;
    const Status status = folder_read(folder, name, &bytes, &length, fault);
    if (!status) *pages_out = pages(bytes, length);
    memory_free(bytes);
    return status == STATUS_NO_INPUT ? STATUS_OK : status;
}

static void expect(Verdict *v, const char *what, json_int_t told, long found)
{
    if (told != found)
        verdict_broken(v, PROMISE_TOGETHER, "show.json: book: %.60s: %lld pages, must be %ld", what,
                       (long long)told, found);
}

Status check_binding(Verdict *v, const char *folder, const json_t *show, Fault *fault)
{
    const json_t *book = json_object_get(show, "book"), *told = json_object_get(book, "murals");
    const json_t *murals = json_object_get(show, "murals");
    long whole, bound = 0;
    if (!book) return STATUS_OK; /* a show of an earlier program, which bound no books */
    Status status = look(folder, "show.pdf", count_pages, &whole, fault);
    for (size_t i = 0; i < json_array_size(murals) && !status; i++) {
        const char *name = json_string_value(json_object_get(json_array_get(murals, i), "name"));
        char path[FOLDER_PATH];
        long pages;
        if (!name || !folder_join(path, folder, name)) continue;
        status = look(path, "book.pdf", counted_pages, &pages, fault);
        if (!status) expect(v, name, json_integer_value(json_object_get(told, name)), pages);
        bound += pages;
    }
    if (status) return status;
    expect(v, "pages", json_integer_value(json_object_get(book, "pages")), whole);
    expect(v, "own", json_integer_value(json_object_get(book, "own")), whole - bound);
    return STATUS_OK;
}
