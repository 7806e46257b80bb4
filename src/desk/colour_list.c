/* The members of a colour, one by one. */
#include "desk/colour_list.h"

#include "base/json_file.h"

#include <stdio.h>

json_t *colour_list_tell(const RowlockColour *colour, size_t count)
{
    Making m = {0};
    json_t *list = json_array();
    for (const RowlockColour *k = colour; k < colour + count; k++) {
        char hex[8];
        snprintf(hex, sizeof hex, "#%02x%02x%02x", k->srgb[0], k->srgb[1], k->srgb[2]);
        json_append(&m, list,
                    json_pack("{s:o, s:o, s:s, s:[f, f, f], s:f, s:I}", "id", json_text(k->id),
                              "name", json_text(k->name), "hex", hex, "lab", k->lab[0], k->lab[1],
                              k->lab[2], "within", k->within, "cells", (json_int_t)k->cells));
    }
    if (!m.failed) return list;
    json_decref(list);
    return NULL;
}
