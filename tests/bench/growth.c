/* How the cost of a plan grows with its cells and with the palette: a table for 50x50 to 4000x3000
 * cells, and one for 4 to 254 colours. The picture is by formula, one pixel a cell, broad soft
 * shapes with grain on all their edges, so that a large mural is as hard in each of its parts as a
 * small one. Whole processes are measured by their processors' time, which a busy machine disturbs
 * least, and by their peak memory. `growth` is the time a cell against the row before: 1 is linear.
 *
 *   growth [CELLS]   the most cells that are tried; 12 million if nothing is said */
#include "support/chance.h"
#include "support/patches.h"
#include "support/scratch.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

typedef struct Cost {
    double seconds; /* of all processors */
    double mib;
} Cost;

static char room[SCRATCH_MOST], program[4096];

static const char *in_room(const char *name)
{
    static char path[2][SCRATCH_MOST + 32];
    static int turn;
    char *p = path[turn++ % 2];
    snprintf(p, sizeof *path, "%s/%s", room, name);
    return p;
}

static void paint(int columns, int rows)
{
    FILE *file = fopen(in_room("picture.ppm"), "wb");
    uint32_t seed = 1;
    if (!file) exit(73);
    fprintf(file, "P6 %d %d 255\n", columns, rows);
    for (int y = 0; y < rows; y++)
        for (int x = 0; x < columns; x++) {
            const double wave = sin(x * 0.05 + y * 0.012) + sin(y * 0.075 - x * 0.009);
            const double disc = hypot(x % 120 - 60, y % 104 - 52) < 32 ? 45 : 0;
            const double grain = chance_unit(&seed) * 20 - 10;
            for (int c = 0; c < 3; c++) {
                const double v = 110 + 40 * wave * (1 - 0.3 * c) + disc * (c - 0.7) + grain;
                putc((int)fmin(255, fmax(0, v)), file);
            }
        }
    if (fclose(file)) exit(74);
}

static void write_palette(int colours)
{
    static Palette palette;
    FILE *file = fopen(in_room("palette.csv"), "w");
    if (!file) exit(73);
    palette_of_draws(&palette, colours, 7);
    fputs("id,name,L,a,b\n", file);
    for (int i = 0; i < colours; i++) {
        const Lab c = palette.colour[i].lab;
        fprintf(file, "C%d,colour %d,%.3f,%.3f,%.3f\n", i, i, c.L, c.a, c.b);
    }
    if (fclose(file)) exit(74);
}

static Cost run(char *const argument[])
{
    fflush(stdout);
    const pid_t child = fork();
    if (child == 0) {
        if (!freopen("/dev/null", "w", stdout) || !freopen("/dev/null", "w", stderr)) _exit(74);
        execv(argument[0], argument);
        _exit(69);
    }
    int code;
    struct rusage use;
    wait4(child, &code, 0, &use);
    if (!WIFEXITED(code) || WEXITSTATUS(code)) {
        fprintf(stderr, "%s failed\n", argument[0]);
        exit(70);
    }
    const double seconds = (double)(use.ru_utime.tv_sec + use.ru_stime.tv_sec) +
                           1e-6 * (double)(use.ru_utime.tv_usec + use.ru_stime.tv_usec);
    return (Cost){seconds, (double)use.ru_maxrss / 1024};
}

static Cost plan(int columns, const char *dither)
{
    char across[16], picture[SCRATCH_MOST + 32], palette[SCRATCH_MOST + 32], out[SCRATCH_MOST + 32];
    snprintf(across, sizeof across, "%d", columns);
    snprintf(picture, sizeof picture, "%s", in_room("picture.ppm"));
    snprintf(palette, sizeof palette, "%s", in_room("palette.csv"));
    snprintf(out, sizeof out, "%s", in_room("out"));
    return run((char *[]){program, "plan", picture, "--columns", across, "--palette", palette,
                          "--dither", (char *)dither, "--limit", "1000", "--book", "no", "--out",
                          out, NULL});
}

static const char *const dithers[] = {"none", "distance"};
enum { DITHERS = sizeof dithers / sizeof *dithers };

static void say(double unit[DITHERS], const double before[DITHERS], const Cost cost[DITHERS])
{
    for (int d = 0; d < DITHERS; d++) {
        printf(" %9.2f s %7.2f us", cost[d].seconds, 1e6 * unit[d]);
        if (before[d] > 0)
            printf(" %5.2f", unit[d] / before[d]);
        else
            printf("     -");
        printf(" %6.0f MiB", cost[d].mib);
    }
    printf("\n");
}

static void heading(const char *what)
{
    printf("%-11s", what);
    for (int d = 0; d < DITHERS; d++) printf("   %-8s each cell growth  memory", dithers[d]);
    printf("\n");
}

static void grow_cells(double most)
{
    static const int size[][2] = {{50, 50},   {100, 75},    {200, 150},  {400, 300},
                                  {800, 600}, {2000, 1500}, {4000, 3000}};
    double before[DITHERS] = {0};
    write_palette(48);
    heading("cells");
    for (size_t i = 0; i < sizeof size / sizeof *size; i++) {
        const double cells = (double)size[i][0] * size[i][1];
        if (cells > most) break;
        Cost cost[DITHERS];
        double unit[DITHERS];
        paint(size[i][0], size[i][1]);
        for (int d = 0; d < DITHERS; d++) {
            cost[d] = plan(size[i][0], dithers[d]);
            unit[d] = cost[d].seconds / cells;
        }
        printf("%5dx%-5d", size[i][0], size[i][1]);
        say(unit, before, cost);
        memcpy(before, unit, sizeof before);
    }
}

/* Growth is of the time of the whole plan here, against the row before. */
static void grow_colours(void)
{
    static const int colours[] = {4, 8, 16, 32, 64, 128, 254};
    enum { COLUMNS = 300, ROWS = 225 };
    double before[DITHERS] = {0};
    paint(COLUMNS, ROWS);
    heading("colours");
    for (size_t i = 0; i < sizeof colours / sizeof *colours; i++) {
        Cost cost[DITHERS];
        double unit[DITHERS];
        write_palette(colours[i]);
        for (int d = 0; d < DITHERS; d++) {
            cost[d] = plan(COLUMNS, dithers[d]);
            unit[d] = cost[d].seconds / (COLUMNS * ROWS);
        }
        printf("%11d", colours[i]);
        say(unit, before, cost);
        memcpy(before, unit, sizeof before);
    }
}

int main(int count, char **argument)
{
    const char *build = getenv("B");
    if (!scratch_folder(room)) return 73;
    snprintf(program, sizeof program, "%s/rowlock", build ? build : "build/release");
    grow_cells(count > 1 ? atof(argument[1]) : 12e6);
    grow_colours();
    return scratch_clear(room) != 0;
}
