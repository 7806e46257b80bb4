/* The kernel says what programs can have before it swaps; groups of processes, such as containers
 * are, may be held to less. What a group has in files that may be dropped counts as free.
 *
 * Source: Linux, Documentation/filesystems/proc.rst (MemAvailable),
 * Documentation/admin-guide/cgroup-v2.rst (memory.max, memory.current, memory.stat) and
 * cgroup-v1/memory.rst. */
#include "base/memory_available.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { GROUP_PATH = 4096 };

/* The number after a word that begins a line; `none` where there is no such line. */
static double number_in(const char *path, const char *word, double none)
{
    char line[256];
    double number = none;
    FILE *file = fopen(path, "re");
    if (!file) return none;
    while (fgets(line, sizeof line, file))
        if (!strncmp(line, word, strlen(word)) && sscanf(line + strlen(word), "%lf", &number) == 1)
            break;
    fclose(file);
    return number;
}

static double number_of_group(const char *group, const char *name, const char *word, double none)
{
    char path[GROUP_PATH + 64];
    snprintf(path, sizeof path, "/sys/fs/cgroup%s/%s", group, name);
    return number_in(path, word, none);
}

/* What is left of one group. */
static double left_of(const char *group)
{
    const double most = number_of_group(group, "memory.max", "", INFINITY),
                 taken = number_of_group(group, "memory.current", "", 0),
                 files = number_of_group(group, "memory.stat", "inactive_file ", 0);
    return fmax(0, most - fmax(0, taken - files));
}

/* Groups of the first kind: the one that is shown as the root. */
static double left_of_old_group(void)
{
    static const char most[] = "/sys/fs/cgroup/memory/memory.limit_in_bytes",
                      taken[] = "/sys/fs/cgroup/memory/memory.usage_in_bytes",
                      files[] = "/sys/fs/cgroup/memory/memory.stat";
    return fmax(0,
                number_in(most, "", INFINITY) -
                    fmax(0, number_in(taken, "", 0) - number_in(files, "total_inactive_file ", 0)));
}

/* The least that is left of the process's group and of those around it. */
static double left_of_groups(void)
{
    char line[GROUP_PATH] = "";
    double least = left_of_old_group();
    FILE *file = fopen("/proc/self/cgroup", "re");
    if (!file) return least;
    while (fgets(line, sizeof line, file) && strncmp(line, "0::", 3) != 0) *line = '\0';
    fclose(file);
    if (!*line) return least;
    char *group = line + 3;
    group[strcspn(group, "\n")] = '\0';
    for (char *end = group + strlen(group); end; end = strrchr(group, '/')) {
        *end = '\0';
        least = fmin(least, left_of(group));
    }
    return least;
}

double memory_available(void)
{
    return fmin(1024 * number_in("/proc/meminfo", "MemAvailable:", INFINITY), left_of_groups());
}
