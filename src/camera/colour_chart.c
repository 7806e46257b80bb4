/* The values of the default chart are part of the program, as a palette's file. */
#include "camera/colour_chart.h"

#include <stdio.h>

Status colour_chart_default(ColourChart *chart, Fault *fault)
{
    static const char bytes[] = {
#include "patches24.inc" /* made from charts/patches-24.cgats by the Makefile */
    };
    chart->columns = 6;
    chart->rows = 4;
    return palette_parse(&chart->patches, bytes, sizeof bytes, "built-in chart", NULL, fault);
}

Status colour_chart_read(ColourChart *chart, const char *path, const char *grid, const Voice *voice,
                         Fault *fault)
{
    char rest;
    if (sscanf(grid, "%3dx%3d%c", &chart->columns, &chart->rows, &rest) != 2 ||
        chart->columns < 2 || chart->rows < 2)
        return fault_set(fault, STATUS_USAGE,
                         "--chart-grid: '%.40s' is no grid of patches; give columns and rows, such "
                         "as 6x4",
                         grid);
    const Status status = palette_read(&chart->patches, path, voice, fault);
    if (status || chart->patches.count == chart->columns * chart->rows) return status;
    return fault_set(fault, STATUS_DATA,
                     "%s: %d patches, but --chart-grid has %d x %d; make them agree", path,
                     chart->patches.count, chart->columns, chart->rows);
}
