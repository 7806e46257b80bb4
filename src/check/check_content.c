/* Nothing is rendered: a file is decoded where its bytes are easy to get wrong (PNG, JSON), and of
 * the others head and tail are looked at, which shows a file that is cut off or another kind.
 *
 * Sources: PNG by libpng; JPEG's first and last markers, ITU-T T.81, B.1.1.3; PDF's, ISO 32000-1,
 * 7.5.2 and 7.5.5; glTF 2.0, 4.4; HTML's doctype, WHATWG HTML 13.1.1. */
#include "check/check_content.h"

#include "base/folder.h"
#include "base/json_file.h"
#include "base/memory.h"
#include "base/raster.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

static void unreadable(PlanFacts *e, const char *name, const char *what)
{
    verdict_broken(e->verdict, PROMISE_READABLE, "%s: %s", name, what);
}

Status content_png(PlanFacts *e, const char *name, Fault *fault)
{
    Raster raster;
    const Status status = raster_read(&raster, e->folder, name, 0, 0, fault);
    if (status == STATUS_DATA) {
        unreadable(e, name, "not a PNG that can be read");
        return STATUS_OK;
    }
    raster_clear(&raster);
    return status == STATUS_NO_INPUT ? STATUS_OK : status;
}

/* glTF 2.0, 4.4: a header of 12 bytes, then the JSON chunk. */
static Status look_gltf(PlanFacts *e, const char *name, const char *bytes, size_t length,
                        Fault *fault)
{
    if (length < 20 || memcmp(bytes, "glTF", 4) != 0 || plan_facts_u32(bytes + 4) != 2) {
        unreadable(e, name, "not glTF 2.0 binary");
        return STATUS_OK;
    }
    const uint32_t chunk = plan_facts_u32(bytes + 12);
    if (plan_facts_u32(bytes + 8) != length || memcmp(bytes + 16, "JSON", 4) != 0 ||
        chunk > length - 20) {
        unreadable(e, name, "its glTF header does not fit its length");
        return STATUS_OK;
    }
    json_t *root;
    const Status status = json_parse(&root, bytes + 20, chunk, 0, NULL, fault);
    if (status) return status;
    const char *version =
        json_string_value(json_object_get(json_object_get(root, "asset"), "version"));
    if (!version || strcmp(version, "2.0") != 0)
        unreadable(e, name, "its JSON chunk has no asset.version 2.0");
    json_decref(root);
    return STATUS_OK;
}

static Status look_pdf(PlanFacts *e, const char *name, const char *bytes, size_t length,
                       Fault *fault)
{
    (void)fault;
    if (length < 5 || memcmp(bytes, "%PDF-", 5) != 0)
        unreadable(e, name, "does not start with %PDF-");
    else if (!memmem(bytes + (length > 1024 ? length - 1024 : 0), length > 1024 ? 1024 : length,
                     "%%EOF", 5))
        unreadable(e, name, "does not end with %%EOF");
    return STATUS_OK;
}

static Status look_jpeg(PlanFacts *e, const char *name, const char *bytes, size_t length,
                        Fault *fault)
{
    (void)fault;
    if (length < 4 || memcmp(bytes, "\xff\xd8\xff", 3) != 0)
        unreadable(e, name, "does not start as a JPEG does");
    else if (memcmp(bytes + length - 2, "\xff\xd9", 2) != 0)
        unreadable(e, name, "does not end as a JPEG does");
    return STATUS_OK;
}

static Status look_html(PlanFacts *e, const char *name, const char *bytes, size_t length,
                        Fault *fault)
{
    (void)fault;
    if (length < 15 || strncasecmp(bytes, "<!doctype html>", 15) != 0)
        unreadable(e, name, "does not start with <!DOCTYPE html>");
    return STATUS_OK;
}

static Status look_json(PlanFacts *e, const char *name, const char *bytes, size_t length,
                        Fault *fault)
{
    json_t *root;
    const Status status = json_parse(&root, bytes, length, JSON_REJECT_DUPLICATES, NULL, fault);
    if (status) return status;
    if (!json_is_object(root)) unreadable(e, name, "not a JSON object");
    json_decref(root);
    return STATUS_OK;
}

typedef Status LookBytes(PlanFacts *e, const char *name, const char *bytes, size_t length,
                         Fault *fault);

static Status look_into(PlanFacts *e, const char *name, LookBytes *look, Fault *fault)
{
    char *bytes;
    size_t length;
    Status status = folder_read(e->folder, name, &bytes, &length, fault);
    if (status == STATUS_NO_INPUT) return STATUS_OK; /* said already */
    if (status) return status;
    status = look(e, name, bytes, length, fault);
    memory_free(bytes);
    return status;
}

Status content_jpeg(PlanFacts *e, const char *name, Fault *fault)
{
    return look_into(e, name, look_jpeg, fault);
}

Status content_pdf(PlanFacts *e, const char *name, Fault *fault)
{
    return look_into(e, name, look_pdf, fault);
}

Status content_html(PlanFacts *e, const char *name, Fault *fault)
{
    return look_into(e, name, look_html, fault);
}

Status content_gltf(PlanFacts *e, const char *name, Fault *fault)
{
    return look_into(e, name, look_gltf, fault);
}

Status content_json(PlanFacts *e, const char *name, Fault *fault)
{
    return look_into(e, name, look_json, fault);
}
