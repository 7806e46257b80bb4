/* The parts joined: a host, and the board that it shows. */
#include "bench/bench.h"

#include "bench/bench_routes.h"
#include "bench/laid_table.h"
#include "bench/record.h"
#include "serve/host.h"

#include <stdio.h>
#include <unistd.h>

/* Reads back and writes out, where that is asked for. */
static Status carry(const BenchOptions *options, Board *board, Fault *fault)
{
    Status status = STATUS_OK;
    if ((options->load || options->save) && board->plans != 1)
        return fault_set(fault, STATUS_USAGE,
                         "bench: --import and --export are of one plan; give one folder");
    if (options->load) status = record_read(board->tally[0], &board->plan[0], options->load, fault);
    if (!status && options->save)
        status = record_write(board->tally[0], &board->plan[0], options->save, fault);
    return status;
}

/* Where no port is asked for, that of the last time if it is free: what a device has not told yet
 * is kept by its browser under the bench's address, and labels have that printed on them. */
static Status open_host(Host *host, const Service *service, HostOptions *hosting, unsigned known,
                        const Voice *voice, Fault *fault)
{
    const bool asked = hosting->port != 0;
    if (!asked) hosting->port = known;
    const Status status = host_open(host, service, hosting, voice, fault);
    if (status != STATUS_NO_RESOURCE || asked || !known) return status;
    host_stop(host);
    host_free(host);
    hosting->port = 0;
    voice_note(voice, "port %u, which devices know this bench by, is taken; another is used",
               known);
    return host_open(host, service, hosting, voice, fault);
}

static Status serve(const BenchOptions *options, Board *board, const Voice *voice, Fault *fault)
{
    const Service service = bench_service(board);
    HostOptions hosting = {.port = options->port,
                           .listen = options->listen,
                           .open = options->open,
                           .told = options->told,
                           .self = options->self};
    Tally *first = board->tally[0];
    Host host;
    Status status = open_host(&host, &service, &hosting, tally_port(first), voice, fault);
    if (!status) status = tally_keep_port(first, server_port(host.server), fault);
    looker_set_wake(board->looker, host_wake, &host);
    if (!status) host_run(&host);
    host_stop(&host);
    looker_stop(board->looker); /* before what it would wake is gone */
    host_free(&host);
    return status;
}

/* What came of it, for those outside. */
static RowlockStatus hand_out(RowlockFault *fault, const Fault *own, Status status)
{
    fault->status = (RowlockStatus)status;
    snprintf(fault->text, sizeof fault->text, "%s", status ? own->text : "");
    return fault->status;
}

static Status need_bench(const WorkPlan *plan, Fault *fault)
{
    char path[WORK_PATH];
    const Status status = work_plan_path(plan, TALLY_FILE, path, fault);
    if (status || !access(path, F_OK)) return status;
    return fault_set(fault, STATUS_NO_INPUT,
                     "%.400s: is not there; nothing was built with 'rowlock bench'", path);
}

RowlockStatus bench_tell_laid(const char *folder, char path_out[BENCH_PATH], RowlockFault *fault)
{
    WorkPlan plan;
    Tally *tally = NULL;
    Fault own = {0};
    char kept[64];
    Status status = work_plan_read(&plan, folder, &own);
    if (!status) status = need_bench(&plan, &own);
    if (!status) status = tally_open(&tally, &plan, kept, &own);
    if (!status && *kept)
        status = fault_set(&own, STATUS_DATA,
                           "%.400s: its bench was of the plan that was here before, and is kept in "
                           "%s; nothing was built of this one",
                           plan.folder, kept);
    if (!status) status = laid_table_write(tally_state(tally), &own);
    if (!status) status = work_plan_path(&plan, LAID_TABLE_FILE, path_out, &own);
    tally_close(tally);
    work_plan_clear(&plan);
    return hand_out(fault, &own, status);
}

RowlockStatus bench_run(const BenchOptions *options, const RowlockVoice *voice, RowlockFault *fault)
{
    const Voice inner = host_voice(voice);
    static Board board; /* large for a stack */
    Fault own = {0};
    Status status = board_open(&board, options->folder, options->folders, &inner, &own);
    if (!status) status = carry(options, &board, &own);
    if (!status && !options->save) status = serve(options, &board, &inner, &own);
    board_close(&board);
    return hand_out(fault, &own, status);
}
