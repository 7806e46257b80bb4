/* The parts joined: a host, the commission that it shows, and the voice of whoever runs it. The
 * host is first, so that an address or a port that cannot be had leaves nothing on the disk. */
#include "desk/desk.h"

#include "base/memory.h"
#include "desk/commission.h"
#include "desk/routes.h"
#include "serve/host.h"

#include <stdio.h>

RowlockStatus desk_run(const DeskOptions *options, const RowlockVoice *voice, RowlockFault *fault)
{
    const Voice inner = host_voice(voice);
    const HostOptions hosting = {
        .port = options->port, .listen = options->listen, .open = options->open};
    Commission commission = {.trail = NULL};
    const Service service = desk_service(&commission);
    Fault own = {0};
    Host host;
    memory_keep_freed();
    Status status = host_open(&host, &service, &hosting, &inner, &own);
    if (!status) status = commission_open(&commission, options->operand, host_wake, &host, &own);
    if (!status) {
        voice_note(&inner, "%.400s: %s", commission.folder.path,
                   trail_count(commission.trail) > 1 ? "the work goes on as it was left"
                                                     : "the work is kept here");
        host_run(&host);
    }
    /* Those who wake end before what they wake. */
    host_stop(&host);
    commission_close(&commission);
    host_free(&host);
    fault->status = (RowlockStatus)status;
    snprintf(fault->text, sizeof fault->text, "%s", status ? own.text : "");
    return fault->status;
}
