/* A table of our own, so that a page is the same bytes on every machine: what a system knows of
 * locales depends on what is installed. A blank between thousands is one at which no line breaks.
 * A currency's code, of letters, stands after the number everywhere, as ISO 4217's codes mostly do;
 * a sign where the country has it.
 *
 * Source: Unicode CLDR, numbers and currencyFormats, from memory; the test holds the separators
 * against the system's own locales where they are installed. */
#include "base/number_style.h"

#include "base/text.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#define BLANK "\u00a0"

static const NumberStyle styles[] = {
    {",", ".", true},      /* en */
    {".", ",", false},     /* de */
    {"\u2019", ".", true}, /* de-CH */
    {BLANK, ",", false},   /* fr */
    {".", ",", false},     /* es */
    {".", ",", false},     /* it */
    {".", ",", true},      /* nl */
    {BLANK, ",", false},   /* pt */
    {".", ",", true},      /* pt-BR */
    {BLANK, ",", false},   /* pl */
    {BLANK, ",", false},   /* cs */
    {BLANK, ",", false},   /* sv */
    {BLANK, ",", false},   /* nb */
    {".", ",", false},     /* da */
    {BLANK, ",", false},   /* fi */
    {",", ".", true},      /* ja */
    {",", ".", true},      /* zh */
};

const NumberStyle *number_style(int index) { return &styles[index]; }

void number_styled(char *text, size_t size, const NumberStyle *style, double value, int decimals)
{
    char plain[64];
    size_t used = 0;
    number_text(plain, sizeof plain, value, decimals);
    if (size) *text = '\0';
    for (const char *s = plain; *s; s++) {
        const char one[2] = {*s, '\0'};
        const char *put = *s == ',' ? style->group : *s == '.' ? style->point : one;
        const size_t length = strlen(put);
        if (used + length >= size) return;
        memcpy(text + used, put, length + 1);
        used += length;
    }
}

void money_styled(char *text, size_t size, const NumberStyle *style, double value,
                  const char *currency)
{
    char number[80];
    number_styled(number, sizeof number, style, value, 2);
    if (!*currency)
        snprintf(text, size, "%s", number);
    else if (style->before && !isalpha((unsigned char)*currency))
        snprintf(text, size, "%s%s", currency, number);
    else
        snprintf(text, size, "%s" BLANK "%s", number, currency);
}
