/* The parts joined: a host, and the board that it shows. */
#include "bench/bench.h"

#include "bench/bench_routes.h"
#include "serve/host.h"

#include <stdio.h>

static void hear_note(void *context, const char *text)
{
    const RowlockVoice *voice = context;
    if (voice->note) voice->note(voice->self, text);
}

static bool is_stopped(void *context)
{
    const RowlockVoice *voice = context;
    return voice->stopped && voice->stopped(voice->self);
}

/* Reads back and writes out, where that is asked for. */
static Status carry(const BenchOptions *options, Board *board, Fault *fault)
{
    Status status = STATUS_OK;
    if ((options->load || options->save) && board->plans != 1)
        return fault_set(fault, STATUS_USAGE,
                         "bench: --import and --export are of one plan; give one folder");
    if (options->load) status = tally_import(board->tally[0], options->load, fault);
    if (!status && options->save) status = tally_export(board->tally[0], options->save, fault);
    return status;
}

static Status serve(const BenchOptions *options, Board *board, const Voice *voice, Fault *fault)
{
    const Service service = bench_service(board);
    const HostOptions hosting = {.port = options->port,
                                 .listen = options->listen,
                                 .devices = PAIRING_DEVICES,
                                 .open = options->open};
    Host host;
    const Status status = host_open(&host, &service, &hosting, voice, fault);
    if (!status) host_run(&host);
    host_stop(&host);
    host_free(&host);
    return status;
}

RowlockStatus bench_run(const BenchOptions *options, const RowlockVoice *voice, RowlockFault *fault)
{
    static const RowlockVoice silence;
    const Voice inner = {
        .self = (void *)(voice ? voice : &silence), .note = hear_note, .stopped = is_stopped};
    static Board board;
    Fault own = {0};
    Status status = board_open(&board, options->folder, options->folders, &inner, &own);
    if (!status) status = carry(options, &board, &own);
    if (!status && !options->save) status = serve(options, &board, &inner, &own);
    board_close(&board);
    fault->status = (RowlockStatus)status;
    snprintf(fault->text, sizeof fault->text, "%s", status ? own.text : "");
    return fault->status;
}
