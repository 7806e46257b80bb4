/* Number style: how numbers and money are written in a country, whatever the environment says. */
#ifndef ROWLOCK_BASE_NUMBER_STYLE_H
#define ROWLOCK_BASE_NUMBER_STYLE_H

#include <stdbool.h>
#include <stddef.h>

typedef struct NumberStyle {
    const char *group, *point; /* between thousands, before decimals; UTF-8 */
    bool before;               /* a currency's sign stands before the number */
} NumberStyle;

/* The names of all styles with bars between, in the order of their indices. */
#define NUMBER_STYLES "en|de|de-CH|fr|es|it|nl|pt|pt-BR|pl|cs|sv|nb|da|fi|ja|zh"

/* The style of an index among NUMBER_STYLES. */
const NumberStyle *number_style(int index);

/* 1234.5 with one decimal, up to 9e15. */
void number_styled(char *text, size_t size, const NumberStyle *style, double value, int decimals);

/* The same as money, two decimals, with the name of the currency, or its sign; "": no name. */
void money_styled(char *text, size_t size, const NumberStyle *style, double value,
                  const char *currency);

#endif
