/* Pages are put together in memory and then cut into lines: a sentence a line, and none longer than
 * readers of the macros wish. Lines that stand as they are, between .nf and .fi, are broken by a
 * backslash, which joins them again.
 *
 * Source: man(7); what mandoc -T lint holds to be good style. */
#include "command/roff.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_MOST = 78 };

void roff_text(const char *text, FILE *file)
{
    for (const char *c = text; *c; c++) {
        if ((c == text || c[-1] == '\n') && (*c == '.' || *c == '\'')) fputs("\\&", file);
        if (*c == '-') putc('\\', file);
        if (*c == '\\')
            fputs("\\e", file);
        else
            putc(*c, file);
    }
}

void roff_name(const char *name, const char *value, FILE *file)
{
    fputs(".TP\n\\fB", file);
    roff_text(name, file);
    fputs("\\fR", file);
    if (value) {
        fputs(" \\fI", file);
        roff_text(value, file);
        fputs("\\fR", file);
    }
    putc('\n', file);
}

void roff_section(const char *heading, const char *text, FILE *file)
{
    fprintf(file, ".SH %s\n", heading);
    roff_text(text, file);
    putc('\n', file);
}

void roff_keys(const char *const (*key)[2], size_t keys, FILE *file)
{
    for (size_t i = 0; i < keys; i++) {
        roff_name(key[i][0], NULL, file);
        roff_text(key[i][1], file);
        putc('\n', file);
    }
}

/* ---- lines ---- */

static bool ends_sentence(const char *word, size_t length)
{
    while (length && strchr(")'\"", word[length - 1])) length--;
    return length && strchr(".?!", word[length - 1]);
}

/* A line of text, of words with blanks between. */
static void put_text(const char *line, size_t length, bool literal, FILE *file)
{
    size_t column = 0;
    bool ended = false;
    for (size_t at = 0; at < length;) {
        while (!literal && at < length && line[at] == ' ') at++;
        size_t word = at;
        while (word < length && line[word] == ' ') word++;
        while (word < length && line[word] != ' ') word++;
        if (column && (ended || column + 1 + word - at > LINE_MOST)) {
            fputs(literal ? "\\\n" : "\n", file);
            column = 0;
        } else if (column && !literal) {
            putc(' ', file);
            column++;
        }
        if (!column && (line[at] == '.' || line[at] == '\'')) fputs("\\&", file);
        fwrite(line + at, 1, word - at, file);
        column += word - at;
        ended = !literal && ends_sentence(line + at, word - at);
        at = word;
    }
    putc('\n', file);
}

static void put_lines(const char *page, FILE *file)
{
    bool literal = false, name = false; /* name: of a paragraph, which is one line */
    for (const char *line = page; *line;) {
        const size_t length = strcspn(line, "\n");
        if (*line == '.' && isalpha((unsigned char)line[1])) {
            literal = !strncmp(line, ".nf", 3) || (literal && strncmp(line, ".fi", 3) != 0);
            name = !strncmp(line, ".TP", 3);
            fprintf(file, "%.*s\n", (int)length, line);
        } else {
            put_text(line, length, literal || name, file);
            name = false;
        }
        line += length + (line[length] == '\n');
    }
}

bool roff_page(void (*write)(FILE *file), FILE *file)
{
    char *page = NULL;
    size_t length;
    FILE *memory = open_memstream(&page, &length);
    if (!memory) return false;
    write(memory);
    const bool whole = !ferror(memory) && !fclose(memory) && page;
    if (whole) put_lines(page, file);
    free(page);
    return whole;
}
