/* Area averaging in one pass: a box filter of exactly a cell's size, in linear light.
 *
 * Rows are pulled in blocks by whichever thread finds that nobody else is pulling;
 * full blocks are reduced by whichever thread is free: each row becomes, for each
 * column of cells, the sum over the pixels that it covers. Those row sums depend on
 * nothing but the row. They are then added into the cells block after block in the
 * order of the rows, one thread at a time, so that the order of all additions, and
 * with it every bit, is the same for any number of threads.
 *
 * The picture is averaged as it is stored; only the small grid of cells is turned
 * upright, when a finished row of cells is put in its place. */
#include "picture/sample.h"

#include "base/bands.h"
#include "base/memory.h"

#include <assert.h>
#include <math.h>
#include <pthread.h>
#include <string.h>

/* A block has at most so many bytes and rows, so that it stays in a processor's cache;
 * tests/bench/bench_sample measures it. */
enum { BLOCK_BYTES = 256 * 1024, BLOCK_ROWS = 64 };

/* One cell's reach along an axis: pixels first to last, the two ends in part. */
typedef struct CellSpan {
    int first, last;
    double head, tail; /* share of the first and the last pixel; tail is 0 if they are one */
    double length;     /* all shares together */
} CellSpan;

typedef struct Block {
    uint8_t *room;         /* for rows that are pulled */
    const uint8_t *stored; /* the rows */
    double *sums;          /* one for each row, column of cells and sample */
    int first, rows;
    enum { BLOCK_FREE, BLOCK_FULL, BLOCK_TAKEN } state;
} Block;

typedef struct SampleWork {
    Source *source;
    int columns, rows; /* of cells, as stored */
    CellSpan *across, *down;
    int samples;   /* a ready pixel's */
    int last_row;  /* the last pixel row that any cell needs */
    float *out;    /* upright, row 0 at the bottom */
    int out_width; /* upright columns */
    int lights;    /* numbers a cell: 3, or 1 for data */

    /* Only the thread whose turn it is touches these. */
    double *cell; /* running sums of the row of cells in hand */
    int row;      /* of cells, in hand */

    uint8_t **ready; /* a row for each worker, if rows are made ready at all */
    Block *block;
    int blocks, block_rows;
    pthread_mutex_t mutex;
    pthread_cond_t changed;
    bool pulling;
    int next_row;         /* first row that is not pulled yet */
    int take_first, turn; /* first row of the block to take, and to add */
    Status status;        /* the first thing that went wrong */
    const Voice *voice;
    Fault *fault;
    pthread_t owner; /* the thread that the user hears */
} SampleWork;

Crop crop_all(const Source *source)
{
    return (Crop){0.0, 0.0, (double)source_width(source), (double)source_height(source)};
}

Crop crop_central(Crop from, double aspect)
{
    const double width = fmin(from.width, from.height * aspect);
    const double height = fmin(from.height, from.width / aspect);
    return (Crop){from.x + (from.width - width) / 2.0, from.y + (from.height - height) / 2.0, width,
                  height};
}

/* Divides [begin, begin + length) evenly; pixels beyond `size` do not exist. */
static void spans_fill(CellSpan *span, int count, double begin, double length, long size)
{
    for (int i = 0; i < count; i++) {
        const double from = begin + length * i / count;
        const double to = i + 1 == count ? begin + length : begin + length * (i + 1) / count;
        double first = floor(from), last = ceil(to) - 1.0;
        if (last > (double)size - 1.0) last = (double)size - 1.0;
        if (first > last) first = last;
        CellSpan *s = &span[i];
        s->first = (int)first;
        s->last = (int)last;
        s->head = (first == last ? to : first + 1.0) - from;
        s->tail = first == last ? 0.0 : to - last;
        s->length = first == last ? s->head : s->head + (last - first - 1.0) + s->tail;
    }
}

/* Row sums. Called with constants for all but the row, so that each call becomes a loop
 * of its own kind with its sums in registers. */
#define INLINED static inline __attribute__((always_inline))

INLINED double linear_sample(const void *row, size_t at, SampleDepth depth, const double *curve)
{
    return depth == DEPTH_8    ? curve[((const uint8_t *)row)[at]]
           : depth == DEPTH_16 ? curve[((const uint16_t *)row)[at]]
                               : (double)((const float *)row)[at];
}

INLINED double alpha_sample(const void *row, size_t at, SampleDepth depth)
{
    return depth == DEPTH_8    ? ((const uint8_t *)row)[at] / 255.0
           : depth == DEPTH_16 ? ((const uint16_t *)row)[at] / 65535.0
                               : (double)((const float *)row)[at];
}

typedef struct Sum {
    double a, b, c, alpha;
} Sum;

INLINED Sum pixel_added(Sum sum, double share, const void *row, size_t at,
                        const double *const curve[SOURCE_MOST_CHANNELS], SampleDepth depth,
                        int channels, bool alpha)
{
    if (alpha) {
        share *= alpha_sample(row, at + (size_t)channels, depth);
        sum.alpha += share;
    }
    sum.a += share * linear_sample(row, at, depth, curve[0]);
    if (channels == 1) return sum;
    sum.b += share * linear_sample(row, at + 1, depth, curve[1]);
    sum.c += share * linear_sample(row, at + 2, depth, curve[2]);
    return sum;
}

INLINED void sum_pixels(const SampleWork *work, const void *row, double *sums, SampleDepth depth,
                        int channels, bool alpha)
{
    const double *const curve[SOURCE_MOST_CHANNELS] = {
        work->source->curve[0], work->source->curve[1], work->source->curve[2]};
    const size_t samples = (size_t)channels + alpha;
    for (int i = 0; i < work->columns; i++) {
        const CellSpan *span = &work->across[i];
        const size_t first = (size_t)span->first * samples, last = (size_t)span->last * samples;
        Sum sum = {0};
        /* The loop that all the time goes into. */
        for (size_t at = first + samples; at < last; at += samples)
            sum = pixel_added(sum, 1.0, row, at, curve, depth, channels, alpha);
        sum = pixel_added(sum, span->head, row, first, curve, depth, channels, alpha);
        if (first != last)
            sum = pixel_added(sum, span->tail, row, last, curve, depth, channels, alpha);
        *sums++ = sum.a;
        if (channels == 3) *sums++ = sum.b;
        if (channels == 3) *sums++ = sum.c;
        if (alpha) *sums++ = sum.alpha;
    }
}

static void sum_row(const SampleWork *work, const void *row, double *sums)
{
    const Source *s = work->source;
    switch (s->depth * 4 + (s->channels == 3 ? 2 : 0) + s->alpha) {
    case DEPTH_8 * 4 + 0:
        sum_pixels(work, row, sums, DEPTH_8, 1, false);
        break;
    case DEPTH_8 * 4 + 1:
        sum_pixels(work, row, sums, DEPTH_8, 1, true);
        break;
    case DEPTH_8 * 4 + 2:
        sum_pixels(work, row, sums, DEPTH_8, 3, false);
        break;
    case DEPTH_8 * 4 + 3:
        sum_pixels(work, row, sums, DEPTH_8, 3, true);
        break;
    case DEPTH_16 * 4 + 0:
        sum_pixels(work, row, sums, DEPTH_16, 1, false);
        break;
    case DEPTH_16 * 4 + 1:
        sum_pixels(work, row, sums, DEPTH_16, 1, true);
        break;
    case DEPTH_16 * 4 + 2:
        sum_pixels(work, row, sums, DEPTH_16, 3, false);
        break;
    case DEPTH_16 * 4 + 3:
        sum_pixels(work, row, sums, DEPTH_16, 3, true);
        break;
    case DEPTH_FLOAT * 4 + 0:
        sum_pixels(work, row, sums, DEPTH_FLOAT, 1, false);
        break;
    case DEPTH_FLOAT * 4 + 1:
        sum_pixels(work, row, sums, DEPTH_FLOAT, 1, true);
        break;
    case DEPTH_FLOAT * 4 + 2:
        sum_pixels(work, row, sums, DEPTH_FLOAT, 3, false);
        break;
    default:
        sum_pixels(work, row, sums, DEPTH_FLOAT, 3, true);
        break;
    }
}

/* Where a cell goes once the picture is upright. */
static float *cell_place(const SampleWork *work, int column, int row)
{
    const Source *source = work->source;
    const bool turned = source_transposed(source);
    const int wide = turned ? work->rows : work->columns;
    const int high = turned ? work->columns : work->rows;
    int u = turned ? row : column, v = turned ? column : row;
    if (source_mirrored(source)) u = wide - 1 - u;
    if (source_upended(source)) v = high - 1 - v;
    const size_t at = (size_t)(high - 1 - v) * (size_t)work->out_width + (size_t)u;
    return work->out + at * (size_t)work->lights;
}

/* A row of cells has all its pixels: from sums to light. */
static void finish_cells(SampleWork *work)
{
    const Source *source = work->source;
    const double height = work->down[work->row].length;
    for (int i = 0; i < work->columns; i++) {
        const double *sum = work->cell + (size_t)i * (size_t)work->samples;
        const double area = height * work->across[i].length;
        const double bare = source->alpha ? 1.0 - sum[source->channels] / area : 0.0;
        float *out = cell_place(work, i, work->row);
        for (int k = 0; k < work->lights; k++) {
            double light = bare * source->ground[k];
            for (int c = 0; c < source->channels; c++)
                light += source->matrix[k][c] * (sum[c] / area);
            out[k] = (float)light;
        }
    }
    memset(work->cell, 0, (size_t)work->columns * (size_t)work->samples * sizeof *work->cell);
    work->row++;
}

static void add_row_sums(SampleWork *work, int y, const double *sums)
{
    const size_t count = (size_t)work->columns * (size_t)work->samples;
    while (work->row < work->rows && work->down[work->row].first <= y) {
        const CellSpan *span = &work->down[work->row];
        const double share = y == span->first ? span->head : y == span->last ? span->tail : 1.0;
        for (size_t i = 0; i < count; i++) work->cell[i] += share * sums[i];
        if (span->last > y) return;
        finish_cells(work);
    }
}

static void reduce_block(SampleWork *work, const Block *block, int worker)
{
    Source *source = work->source;
    const size_t count = (size_t)work->columns * (size_t)work->samples;
    for (int i = 0; i < block->rows; i++) {
        if (block->first + i < work->down[0].first) continue;
        const void *row = block->stored + (size_t)i * source->stored_bytes;
        if (source->ready) {
            source->ready(source->self, row, work->ready[worker]);
            row = work->ready[worker];
        }
        sum_row(work, row, block->sums + (size_t)i * count);
    }
}

static void add_block(SampleWork *work, const Block *block)
{
    const size_t count = (size_t)work->columns * (size_t)work->samples;
    for (int i = 0; i < block->rows; i++)
        if (block->first + i >= work->down[0].first)
            add_row_sums(work, block->first + i, block->sums + (size_t)i * count);
    if (pthread_equal(work->owner, pthread_self()))
        voice_progress(work->voice, "reading",
                       (double)(block->first + block->rows) / (work->last_row + 1.0));
}

static Block *block_find(SampleWork *work, bool full)
{
    for (int i = 0; i < work->blocks; i++) {
        Block *block = &work->block[i];
        if (full ? block->state == BLOCK_FULL && block->first == work->take_first
                 : block->state == BLOCK_FREE)
            return block;
    }
    return NULL;
}

static Status get_rows(Source *source, Block *block, Fault *fault)
{
    block->stored =
        source->stored ? source->stored + (size_t)block->first * source->stored_bytes : block->room;
    return source->stored ? STATUS_OK : source->pull(source->self, block->rows, block->room, fault);
}

/* Mutex held on entry and on return, as in the next function. */
static void pull_block(SampleWork *work, Block *block)
{
    block->first = work->next_row;
    const int left = work->last_row + 1 - block->first;
    block->rows = left < work->block_rows ? left : work->block_rows;
    block->state = BLOCK_TAKEN;
    work->pulling = true;
    pthread_mutex_unlock(&work->mutex);

    Source *source = work->source;
    const Status status =
        voice_stopped(work->voice)
            ? fault_set(work->fault, STATUS_INTERRUPTED, "%s: stopped; run it again", source->name)
            : get_rows(source, block, work->fault);

    pthread_mutex_lock(&work->mutex);
    work->pulling = false;
    if (status) work->status = status;
    work->next_row += block->rows;
    block->state = BLOCK_FULL;
    pthread_cond_broadcast(&work->changed);
}

static void use_block(SampleWork *work, Block *block, int worker)
{
    block->state = BLOCK_TAKEN;
    work->take_first += block->rows;
    pthread_mutex_unlock(&work->mutex);
    reduce_block(work, block, worker);
    pthread_mutex_lock(&work->mutex);
    while (work->turn != block->first && !work->status)
        pthread_cond_wait(&work->changed, &work->mutex);
    if (work->status) return;
    pthread_mutex_unlock(&work->mutex);
    add_block(work, block);
    pthread_mutex_lock(&work->mutex);
    work->turn += block->rows;
    block->state = BLOCK_FREE;
    pthread_cond_broadcast(&work->changed);
}

static void work_on_blocks(void *context, int begin, int end, int worker)
{
    (void)begin;
    (void)end;
    SampleWork *work = context;
    pthread_mutex_lock(&work->mutex);
    while (!work->status && work->take_first <= work->last_row) {
        Block *block = NULL;
        if (!work->pulling && work->next_row <= work->last_row && (block = block_find(work, false)))
            pull_block(work, block);
        else if ((block = block_find(work, true)))
            use_block(work, block, worker);
        else
            pthread_cond_wait(&work->changed, &work->mutex);
    }
    pthread_mutex_unlock(&work->mutex);
}

static Status work_clear(SampleWork *work, int threads, Status status)
{
    for (int i = 0; work->block && i < work->blocks; i++) {
        memory_free(work->block[i].room);
        memory_free(work->block[i].sums);
    }
    for (int i = 0; work->ready && i < threads; i++) memory_free(work->ready[i]);
    memory_free(work->block);
    memory_free(work->ready);
    memory_free(work->across);
    memory_free(work->down);
    memory_free(work->cell);
    return status;
}

static Status blocks_init(SampleWork *work, int threads, Fault *fault)
{
    const Source *source = work->source;
    const size_t columns = (size_t)work->columns, samples = (size_t)work->samples;
    const size_t sums = columns * samples * sizeof(double);
    const size_t row_bytes = source->stored_bytes > sums ? source->stored_bytes : sums;
    const size_t fit = BLOCK_BYTES / row_bytes;
    work->block_rows = fit < 1 ? 1 : fit > BLOCK_ROWS ? BLOCK_ROWS : (int)fit;
    work->blocks = threads == 1 ? 1 : threads + 2;
    work->block = memory_create((size_t)work->blocks, sizeof *work->block);
    if (!work->block) return memory_fault(fault, (size_t)work->blocks, sizeof *work->block);
    for (int i = 0; i < work->blocks; i++) {
        Block *block = &work->block[i];
        const size_t pulled = source->stored ? 0 : source->stored_bytes;
        block->room = memory_create((size_t)work->block_rows, pulled);
        block->sums = memory_create((size_t)work->block_rows, sums);
        if (!block->room || !block->sums)
            return memory_fault(fault, (size_t)work->block_rows, row_bytes);
    }
    if (!source->ready) return STATUS_OK;
    work->ready = memory_create((size_t)threads, sizeof *work->ready);
    if (!work->ready) return memory_fault(fault, (size_t)threads, sizeof *work->ready);
    for (int i = 0; i < threads; i++) {
        work->ready[i] = memory_create((size_t)source->width, samples * sizeof(float));
        if (!work->ready[i])
            return memory_fault(fault, (size_t)source->width, samples * sizeof(float));
    }
    return STATUS_OK;
}

static Status work_init(SampleWork *work, const Crop *crop, int threads, Fault *fault)
{
    const Source *source = work->source;
    const size_t columns = (size_t)work->columns, rows = (size_t)work->rows;
    work->samples = source->channels + source->alpha;
    work->across = memory_create(columns, sizeof *work->across);
    work->down = memory_create(rows, sizeof *work->down);
    work->cell = memory_create(columns * (size_t)work->samples, sizeof *work->cell);
    if (!work->across || !work->down || !work->cell)
        return memory_fault(fault, columns + rows, sizeof *work->across);
    spans_fill(work->across, work->columns, crop->x, crop->width, source->width);
    spans_fill(work->down, work->rows, crop->y, crop->height, source->height);
    work->last_row = work->down[work->rows - 1].last;
    if (source->stored) work->next_row = work->take_first = work->turn = work->down[0].first;
    return blocks_init(work, threads, fault);
}

/* From the upright picture to the stored one; rounding beyond an edge is cut off. */
static Status crop_stored(const Source *source, const Crop *crop, Crop *stored_out, Fault *fault)
{
    const double wide = (double)source_width(source), high = (double)source_height(source);
    const double slack = 1e-6;
    double left = crop->x, top = crop->y;
    double right = left + crop->width, bottom = top + crop->height;
    if (!(left >= -slack && top >= -slack && right <= wide + slack && bottom <= high + slack &&
          crop->width >= 1e-3 && crop->height >= 1e-3))
        return fault_set(fault, STATUS_USAGE,
                         "%s: the crop %g,%g,%gx%g does not lie within its %gx%g pixels; "
                         "give a crop inside the picture",
                         source->name, crop->x, crop->y, crop->width, crop->height, wide, high);
    left = fmax(left, 0.0);
    top = fmax(top, 0.0);
    right = fmin(right, wide);
    bottom = fmin(bottom, high);
    const double x = source_mirrored(source) ? wide - right : left;
    const double y = source_upended(source) ? high - bottom : top;
    const Crop upright = {x, y, right - left, bottom - top};
    *stored_out = source_transposed(source)
                      ? (Crop){upright.y, upright.x, upright.height, upright.width}
                      : upright;
    return STATUS_OK;
}

/* `lights` numbers a cell into out. */
static Status average_cells(Source *source, const Sampling *sampling, int lights, float *out,
                            const Voice *voice, Fault *fault)
{
    Crop stored = {0};
    const int columns = sampling->columns, rows = sampling->rows;
    const int threads = bands_threads(sampling->threads);
    Status status = crop_stored(source, &sampling->crop, &stored, fault);
    if (status) return status;
    const bool turned = source_transposed(source);
    SampleWork work = {.source = source,
                       .columns = turned ? rows : columns,
                       .rows = turned ? columns : rows,
                       .out = out,
                       .out_width = columns,
                       .lights = lights,
                       .voice = voice,
                       .fault = fault,
                       .owner = pthread_self()};
    status = work_init(&work, &stored, threads, fault);
    if (status) return work_clear(&work, threads, status);
    pthread_mutex_init(&work.mutex, NULL);
    pthread_cond_init(&work.changed, NULL);
    bands_run(threads, threads, 1, work_on_blocks, &work);
    pthread_cond_destroy(&work.changed);
    pthread_mutex_destroy(&work.mutex);
    return work_clear(&work, threads, work.status);
}

Status sample_image(Source *source, const Sampling *sampling, Image *image_out, const Voice *voice,
                    Fault *fault)
{
    assert(!source->data);
    Status status = image_init(image_out, sampling->columns, sampling->rows, fault);
    if (status) return status;
    status = average_cells(source, sampling, 3, image_out->xyz, voice, fault);
    if (status) image_clear(image_out);
    return status;
}

Status sample_data(Source *source, const Sampling *sampling, float **cells_out, const Voice *voice,
                   Fault *fault)
{
    const int columns = sampling->columns, rows = sampling->rows;
    assert(source->data);
    assert(columns > 0 && columns <= GRID_MOST && rows > 0 && rows <= GRID_MOST);
    const size_t cells = (size_t)columns * (size_t)rows;
    *cells_out = memory_create(cells, sizeof **cells_out);
    if (!*cells_out) return memory_fault(fault, cells, sizeof **cells_out);
    const Status status = average_cells(source, sampling, 1, *cells_out, voice, fault);
    if (!status) return STATUS_OK;
    memory_free(*cells_out);
    *cells_out = NULL;
    return status;
}
