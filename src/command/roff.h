/* Roff: pages in the man macros. What is handed over is plain text. */
#ifndef ROWLOCK_COMMAND_ROFF_H
#define ROWLOCK_COMMAND_ROFF_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* Has a page written and cuts it into lines. False: no memory. */
bool roff_page(void (*write)(FILE *file), FILE *file);

/* Text within a page, in which a minus is a minus. */
void roff_text(const char *text, FILE *file);

/* The head of a paragraph: a name, and its value or NULL. */
void roff_name(const char *name, const char *value, FILE *file);

/* A heading and a text. */
void roff_section(const char *heading, const char *text, FILE *file);

/* Pairs of a name and what it is. */
void roff_keys(const char *const (*key)[2], size_t keys, FILE *file);

#endif
