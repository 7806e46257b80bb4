/* The photograph is made smaller, which takes its noise, and cut into pieces wherever light jumps
 * from a pixel to the next. A piece counts by its moments: a parallelogram, evenly filled, has the
 * area 12 times the root of the determinant of its covariance, however it is slanted; an ellipse
 * has 4 pi times, and what is ragged, hollow or bent much less
 *
 * Source: the covariance of a uniform distribution, side squared over 12. */
#include "camera/patch_blobs.h"

#include "base/memory.h"

#include <math.h>
#include <string.h>

/* The longer side of the small picture: a chart that fills a fifth of it has patches of 20. */
#define SMALL_SIDE 900.0

/* A jump of the logarithm of a channel's light, or of this much light where it is dark. */
#define JUMP 0.09
#define DARK 0.01

/* Pixels of a piece, and the part of the picture that it may take. */
#define AREA_LEAST 25
#define AREA_MOST 0.03

/* What a parallelogram's area may be of what its moments say. */
#define FILL_LEAST 0.88
#define FILL_MOST 1.08

/* The longer axis over the shorter: squares seen at 50 degrees have 1.6. */
#define SLANT_MOST 2.0

typedef struct Small {
    int width, height;
    double step;   /* pixels of the photograph a pixel */
    float *log;    /* height x width x 3 */
    uint8_t *edge; /* 1: light jumps here, or it is taken */
    int *stack;
} Small;

static Status small_init(Small *s, const Photo *photo, Fault *fault)
{
    const int longer = photo->width > photo->height ? photo->width : photo->height;
    *s = (Small){.step = fmax(1, longer / SMALL_SIDE)};
    s->width = (int)(photo->width / s->step);
    s->height = (int)(photo->height / s->step);
    if (s->width < 1) s->width = 1;
    if (s->height < 1) s->height = 1;
    const size_t pixels = (size_t)s->width * (size_t)s->height;
    s->log = memory_create(pixels, 3 * sizeof *s->log);
    s->edge = memory_create(pixels, sizeof *s->edge);
    s->stack = memory_create(pixels, sizeof *s->stack);
    return s->log && s->edge && s->stack ? STATUS_OK
                                         : memory_fault(fault, pixels, 3 * sizeof(float));
}

static void small_clear(Small *s)
{
    memory_free(s->log);
    memory_free(s->edge);
    memory_free(s->stack);
}

static int at_most(int value, int most) { return value < most ? value : most; }

static void make_small(Small *s, const Photo *photo)
{
    for (int y = 0; y < s->height; y++)
        for (int x = 0; x < s->width; x++) {
            const int x0 = (int)(x * s->step), x1 = at_most((int)((x + 1) * s->step), photo->width);
            const int y0 = (int)(y * s->step),
                      y1 = at_most((int)((y + 1) * s->step), photo->height);
            double sum[3] = {0};
            for (int j = y0; j < y1; j++)
                for (int i = x0; i < x1; i++)
                    for (int c = 0; c < 3; c++) sum[c] += photo_at(photo, i, j)[c];
            const double pixels = (double)(x1 - x0) * (y1 - y0);
            float *out = s->log + 3 * (y * s->width + x);
            for (int c = 0; c < 3; c++) out[c] = (float)log(sum[c] / pixels / PHOTO_FULL + DARK);
        }
}

static bool jumps(const Small *s, int a, int b)
{
    const float *one = s->log + 3 * a, *two = s->log + 3 * b;
    for (int c = 0; c < 3; c++)
        if (fabsf(one[c] - two[c]) > (float)JUMP) return true;
    return false;
}

/* Both sides of a jump belong to it, and so does the picture's rim. */
static void mark_edges(Small *s)
{
    for (int y = 0; y < s->height; y++)
        for (int x = 0; x < s->width; x++) {
            const int i = y * s->width + x;
            if (!x || !y || x == s->width - 1 || y == s->height - 1) s->edge[i] = 1;
            if (x && jumps(s, i, i - 1)) s->edge[i] = s->edge[i - 1] = 1;
            if (y && jumps(s, i, i - s->width)) s->edge[i] = s->edge[i - s->width] = 1;
        }
}

typedef struct Moments {
    double n, x, y, xx, xy, yy;
} Moments;

/* The piece about a pixel, which is taken. */
static Moments take_piece(Small *s, int start)
{
    Moments m = {0};
    int left = 0;
    s->stack[left++] = start;
    s->edge[start] = 1;
    while (left) {
        const int i = s->stack[--left];
        const double x = i % s->width, y = i / s->width;
        m.n++;
        m.x += x;
        m.y += y;
        m.xx += x * x;
        m.xy += x * y;
        m.yy += y * y;
        const int next[4] = {i - 1, i + 1, i - s->width, i + s->width};
        for (int k = 0; k < 4; k++) /* the rim is an edge */
            if (!s->edge[next[k]]) {
                s->edge[next[k]] = 1;
                s->stack[left++] = next[k];
            }
    }
    return m;
}

static bool is_patch(const Small *s, const Moments *m)
{
    if (m->n < AREA_LEAST || m->n > AREA_MOST * s->width * s->height) return false;
    /* A pixel is itself a square of variance 1/12. */
    const double xx = m->xx / m->n - m->x * m->x / (m->n * m->n) + 1 / 12.0;
    const double yy = m->yy / m->n - m->y * m->y / (m->n * m->n) + 1 / 12.0;
    const double xy = m->xy / m->n - m->x * m->y / (m->n * m->n);
    const double fill = m->n / (12 * sqrt(xx * yy - xy * xy));
    const double middle = (xx + yy) / 2, off = hypot((xx - yy) / 2, xy);
    return fill > FILL_LEAST && fill < FILL_MOST &&
           middle + off < SLANT_MOST * SLANT_MOST * (middle - off);
}

/* Where the list is full the smallest gives way to a larger one. */
static void add_blob(BlobList *list, const Blob *blob)
{
    int smallest = 0;
    if (list->count < BLOBS_MOST) {
        list->blob[list->count++] = *blob;
        return;
    }
    for (int i = 1; i < list->count; i++)
        if (list->blob[i].side < list->blob[smallest].side) smallest = i;
    if (blob->side > list->blob[smallest].side) list->blob[smallest] = *blob;
}

Status patch_blobs_find(BlobList *list, const Photo *photo, Fault *fault)
{
    Small s;
    list->count = 0;
    Status status = small_init(&s, photo, fault);
    if (!status) {
        make_small(&s, photo);
        mark_edges(&s);
        for (int i = 0; i < s.width * s.height; i++) {
            if (s.edge[i]) continue;
            const Moments m = take_piece(&s, i);
            if (!is_patch(&s, &m)) continue;
            add_blob(list, &(Blob){{(m.x / m.n + 0.5) * s.step, (m.y / m.n + 0.5) * s.step},
                                   sqrt(m.n) * s.step});
        }
    }
    small_clear(&s);
    return status;
}
