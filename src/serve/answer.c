/* Bodies are JSON with a few members; anything else is answered with a fault of one line.
 *
 * Source: RFC 9110 for the status codes. */
#include "serve/answer.h"

#include "base/csv.h"
#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

extern const char serve_pair[]; /* pair.html, ended by a 0; see pair_page.S */

/* ---- answers ---- */

Answer answer_fixed(const char *type, const char *text)
{
    return (Answer){.status = 200, .type = type, .fixed = text, .length = strlen(text)};
}

Answer answer_page(const Ask *ask, const char *html)
{
    if (!*ask_text(ask, "token")) return answer_fixed("text/html; charset=utf-8", html);
    Answer answer = answer_onward("/");
    answer.cookie = ask->entry->token;
    return answer;
}

Answer answer_json(unsigned status, json_t *value)
{
    char *text = value ? json_dumps(value, JSON_COMPACT | JSON_REAL_PRECISION(12)) : NULL;
    json_decref(value);
    if (!text) return answer_refusal(503);
    return (Answer){.status = status,
                    .type = "application/json",
                    .bytes = text,
                    .release = free,
                    .length = strlen(text)};
}

static unsigned status_of(Status status)
{
    if (status == STATUS_USAGE || status == STATUS_DATA) return 422;
    if (status == STATUS_NO_INPUT) return 404;
    return 503;
}

Answer answer_fault(Status status, const char *text)
{
    return answer_json(status_of(status), json_pack("{s:s}", "fault", text));
}

Answer answer_fault_page(const Fault *fault)
{
    const size_t length = strlen(fault->text);
    Answer answer = {.status = status_of(fault->status),
                     .type = "text/plain; charset=utf-8",
                     .bytes = memory_create(length + 1, 1),
                     .length = length};
    if (!answer.bytes) return answer_refusal(503);
    memcpy(answer.bytes, fault->text, length);
    return answer;
}

Answer answer_done(Status status, const Fault *fault)
{
    return status ? answer_fault(status, fault->text) : answer_json(200, json_object());
}

Answer answer_file(const char *type, const char *path)
{
    Answer answer = {.status = 200, .type = type, .path = memory_create(strlen(path) + 1, 1)};
    if (!answer.path) return answer_refusal(503);
    strcpy(answer.path, path);
    return answer;
}

Answer answer_refusal(unsigned status) { return (Answer){.status = status}; }

Answer answer_onward(const char *path) { return (Answer){.status = 303, .onward = path}; }

/* ---- what a request says ---- */

const char *ask_text(const Ask *ask, const char *name)
{
    for (int i = 0; i < ask->fields; i++)
        if (!strcmp(ask->field[i][0], name)) return ask->field[i][1] ? ask->field[i][1] : "";
    return "";
}

double ask_number(const Ask *ask, const char *name)
{
    double value = 0;
    number_parse(ask_text(ask, name), &value); /* leaves it where there is none */
    return value;
}

static Status read_object(json_t **object_out, const char *text, size_t length, Fault *fault)
{
    json_error_t error;
    *object_out = json_loadb(text, length, JSON_REJECT_DUPLICATES, &error);
    if (json_is_object(*object_out)) return STATUS_OK;
    json_decref(*object_out);
    *object_out = NULL;
    return fault_set(fault, STATUS_USAGE, "request:%d:%d: is no JSON object; load the page again",
                     error.line, error.column);
}

Status ask_object(json_t **object_out, const Ask *ask, Fault *fault)
{
    return read_object(object_out, ask->body ? ask->body : "", ask->length, fault);
}

Status ask_field_object(json_t **object_out, const Ask *ask, const char *name, Fault *fault)
{
    const char *text = ask_text(ask, name);
    if (!*text) text = "{}";
    return read_object(object_out, text, strlen(text), fault);
}

/* ---- pairing ---- */

Answer give_pairing(void *self, const Ask *ask)
{
    (void)self;
    if (!ask->entry->pairing) return answer_refusal(404);
    Answer answer = answer_fixed("text/html; charset=utf-8", serve_pair);
    answer.rules = RULES_FORM;
    return answer;
}

Answer take_pairing(void *self, const Ask *ask)
{
    static const char field[] = "code=";
    const char *code = ask->body ? ask->body : "", *token = NULL;
    char typed[PAIRING_BODY + 1];
    (void)self;
    if (!ask->entry->pairing) return answer_refusal(404);
    snprintf(typed, sizeof typed, "%.*s", (int)ask->length, code);
    const bool named = !strncmp(typed, field, sizeof field - 1);
    switch (
        pairing_try(ask->entry->pairing, named ? typed + sizeof field - 1 : "", ask->now, &token)) {
    case PAIRING_WRONG:
        return answer_onward("/pair#wrong");
    case PAIRING_DEAF:
        return answer_onward("/pair#wait");
    case PAIRING_MADE:
        break;
    }
    Answer answer = answer_onward("/");
    answer.cookie = token;
    return answer;
}

json_t *tell_pairing(const Entry *entry)
{
    if (!entry || !entry->pairing) return json_null();
    return json_pack("{s:s, s:i, s:s}", "host", entry->host, "port", (int)entry->port, "code",
                     entry->pairing->code);
}
