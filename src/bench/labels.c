/* Codes are drawn as one path of runs of dark modules, with the four light ones around that readers
 * need.
 *
 * Source: ISO/IEC 18004 (QR Code; quiet zone of four modules), by libqrencode. */
#include "bench/labels.h"

#include "base/memory.h"

#include <qrencode.h>

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { QUIET = 4, LINK_ROOM = 160 };

static void put_text(FILE *file, const char *text)
{
    for (; *text; text++) {
        const char *escape = *text == '&' ? "&amp;" : *text == '<' ? "&lt;" : NULL;
        if (escape)
            fputs(escape, file);
        else
            fputc(*text, file);
    }
}

static void put_code(FILE *file, const QRcode *code, const char *link)
{
    const int side = code->width + 2 * QUIET;
    fprintf(file, "<svg viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"", side, side);
    put_text(file, link);
    fputs("\" shape-rendering=\"crispEdges\"><path d=\"", file);
    for (int y = 0; y < code->width; y++)
        for (int x = 0, run; x < code->width; x += run) {
            const unsigned char *row = code->data + y * code->width;
            for (run = 1; x + run < code->width && (row[x + run] & 1) == (row[x] & 1);) run++;
            if (row[x] & 1) fprintf(file, "M%d %dh%dv1h-%dz", x + QUIET, y + QUIET, run, run);
        }
    fputs("\"/></svg>", file);
}

static Status put_label(FILE *file, const WorkPlan *work, int plan, const WorkPanel *panel,
                        const char *host, Fault *fault)
{
    char link[LINK_ROOM];
    snprintf(link, sizeof link, "http://%s/book?plan=%d&panel=%s", host, plan, panel->name);
    QRcode *code = QRcode_encodeString8bit(link, 0, QR_ECLEVEL_M);
    if (!code) return memory_fault(fault, sizeof link, 1);
    fputs("<li>", file);
    put_code(file, code, link);
    fprintf(file, "<p><b>%s</b> ", panel->name);
    put_text(file, work->name);
    fprintf(file, "<br>%d bricks</p></li>\n", panel->bricks);
    QRcode_free(code);
    return STATUS_OK;
}

Status labels_write(char **html, size_t *length, const WorkPlan *work, int plan, const char *host,
                    int copies, Fault *fault)
{
    *html = NULL;
    FILE *file = open_memstream(html, length);
    Status status = file ? STATUS_OK : memory_fault(fault, 1, 1);
    if (status) return status;
    fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>Labels: ",
          file);
    put_text(file, work->name);
    fputs("</title>\n<link rel=\"stylesheet\" href=\"/style.css\">\n<link rel=\"icon\" "
          "href=\"data:,\">\n</head>\n<body>\n<main class=\"sheet\">\n<h1>Labels for panels and "
          "their bags</h1>\n<p>Print this page, and stick them where the camera of a tablet finds "
          "them: each opens its panel on the bench.</p>\n<ul class=\"labels\">\n",
          file);
    for (int i = 0; i < work->panels && !status; i++)
        for (int k = 0; k < copies && !status; k++)
            status = put_label(file, work, plan, &work->panel[i], host, fault);
    fputs("</ul>\n</main>\n</body>\n</html>\n", file);
    const bool whole = !ferror(file);
    if (fclose(file) || !whole) status = memory_fault(fault, *length, 1);
    if (!status) return STATUS_OK;
    free(*html);
    *html = NULL;
    return status;
}
