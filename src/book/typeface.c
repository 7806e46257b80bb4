/* Both weights are asked, since a text may be set in either. A fallback to what is installed would
 * give the same plan other bytes on another machine; so what lacks is said, not found.
 *
 * Source: FreeType's manual. */
#include "book/typeface.h"

#include "base/text.h"

#include <ft2build.h>
#include FT_FREETYPE_H

#include <string.h>

extern const unsigned char font_regular[], font_regular_end[], font_bold[], font_bold_end[];

static bool face_lacks(FT_Face face, const char *text, Sign *sign)
{
    for (int bytes; *text; text += bytes) {
        bytes = text_point(text, strlen(text), &sign->point);
        if (!bytes) return false;
        if (FT_Get_Char_Index(face, sign->point)) continue;
        memcpy(sign->text, text, (size_t)bytes);
        sign->text[bytes] = '\0';
        return true;
    }
    return false;
}

bool typeface_lacks(const char *text, Sign *sign_out)
{
    const unsigned char *const begin[2] = {font_regular, font_bold};
    const unsigned char *const end[2] = {font_regular_end, font_bold_end};
    FT_Library library;
    bool lacks = false;
    if (FT_Init_FreeType(&library)) return false;
    for (int i = 0; i < 2 && !lacks; i++) {
        FT_Face face;
        if (FT_New_Memory_Face(library, begin[i], (FT_Long)(end[i] - begin[i]), 0, &face)) continue;
        lacks = face_lacks(face, text, sign_out);
        FT_Done_Face(face);
    }
    FT_Done_FreeType(library);
    return lacks;
}
