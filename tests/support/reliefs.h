/* The reliefs of tests/data/reliefs: colours and steps of small walls, and the least bricks that
 * their courses need each by itself, proven by an integer program (least.py there). */
#ifndef ROWLOCK_TESTS_RELIEFS_H
#define ROWLOCK_TESTS_RELIEFS_H

#include "model/grid.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { RELIEFS = 10, RELIEF_THICKEST = 3, RELIEF_LINE = 64 };

static const char *const RELIEF_NAMES[RELIEFS] = {
    "astronaut-1", "astronaut-2", "astronaut-3", "astronaut-4", "astronaut-5",
    "coffee-6",    "coffee-7",    "coffee-8",    "coffee-9",    "astronaut-10"};

static inline FILE *relief_open(const char *name)
{
    char path[128];
    snprintf(path, sizeof path, "tests/data/reliefs/%s.txt", name);
    FILE *file = fopen(path, "r");
    if (!file) abort();
    return file;
}

/* A digit, or a letter for what is above 9. */
static inline uint8_t relief_value(char c)
{
    static const char digits[] = "0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
    const char *at = strchr(digits, c);
    if (!at || !c) abort();
    return (uint8_t)(at - digits);
}

/* The grid is the caller's to clear. */
static inline Grid relief_read(const char *name)
{
    FILE *file = relief_open(name);
    Grid grid;
    int columns, rows;
    char line[RELIEF_LINE];
    if (fscanf(file, "%d %d", &columns, &rows) != 2) abort();
    if (grid_init(&grid, columns, rows, true, NULL)) abort();
    for (int map = 0; map < 2; map++)
        for (int y = rows - 1; y >= 0; y--) {
            if (fscanf(file, "%63s", line) != 1 || strlen(line) != (size_t)columns) abort();
            for (int x = 0; x < columns; x++)
                (map ? grid.steps : grid.colour)[y * columns + x] = relief_value(line[x]);
        }
    fclose(file);
    return grid;
}

/* The least bricks of all its courses, thickness 1 to RELIEF_THICKEST. */
static inline int relief_least(const char *name, int thickness)
{
    FILE *file = relief_open("least");
    char other[RELIEF_LINE];
    int thick, least, found = 0;
    while (fscanf(file, "%63s %d %d", other, &thick, &least) == 3)
        if (thick == thickness && strcmp(other, name) == 0) found = least;
    fclose(file);
    if (!found) abort();
    return found;
}

#endif
