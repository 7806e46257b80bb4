/* The words of a PDF's pages and where they stand, as pdftotext -bbox (poppler) tells them: points
 * from the page's upper left corner. */
#ifndef PDF_WORDS_H
#define PDF_WORDS_H

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

typedef struct Word {
    double left, right, top, low;
    char text[48];
} Word;

/* Reads the words of the next page, at most `most`; NULL: there is none, or it has more. */
static inline const char *pdf_words(const char *at, Word *word, int most, int *words_out)
{
    if (!(at = strstr(at, "<page "))) return NULL;
    const char *end = strstr(at, "</page>");
    *words_out = 0;
    while (end && (at = strstr(at, "<word ")) && at < end) {
        Word *w = &word[(*words_out)++];
        if (*words_out > most ||
            sscanf(at, "<word xMin=\"%lf\" yMin=\"%lf\" xMax=\"%lf\" yMax=\"%lf\">%47[^<]",
                   &w->left, &w->top, &w->right, &w->low, w->text) != 5)
            return NULL;
        at++;
    }
    return end ? end + 1 : NULL;
}

/* Whether a page of a build book has charts of a panel, by its head. */
static inline bool pdf_words_charted(const Word *word, int words)
{
    bool panel = false, chart = false;
    for (int i = 0; i < 8 && i < words; i++) {
        panel |= !strcmp(word[i].text, "Panel");
        chart |= !strncmp(word[i].text, "chart", 5);
    }
    return panel && chart;
}

#endif
