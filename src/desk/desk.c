/* The parts joined: a server, the commission that it shows, a link to it. The server is first, so
 * that an address or a port that cannot be had leaves nothing on the disk.
 *
 * Source: xdg-open of freedesktop.org opens a link with the user's browser. */
#include "desk/desk.h"

#include "desk/commission.h"
#include "desk/server.h"
#include "desk/setting_list.h"

#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

typedef struct Desk {
    Commission commission;
    Server *server;
    Pairing pairing;
    char said[PAIRING_CODE]; /* the code that was told last */
    const DeskOptions *options;
    const RowlockVoice *voice;
} Desk;

/* In a process of a process, so that nobody has to wait for the browser's end. What it says goes
 * nowhere. */
static void open_browser(const char *link)
{
    const pid_t child = fork();
    if (child > 0) waitpid(child, NULL, 0);
    if (child) return;
    if (!fork() && setsid() > 0 && freopen("/dev/null", "w", stdout) &&
        freopen("/dev/null", "w", stderr))
        execlp("xdg-open", "xdg-open", link, (char *)NULL);
    _exit(0);
}

static void say(const Desk *desk, const char *text)
{
    if (desk->voice && desk->voice->note) desk->voice->note(desk->voice->self, text);
}

/* Each code serves one device; a new one is told as soon as there is one. */
static void say_code(Desk *desk)
{
    char text[ROWLOCK_FAULT_TEXT], link[SERVER_LINK];
    if (!desk->options->listen || !strcmp(desk->said, desk->pairing.code)) return;
    strcpy(desk->said, desk->pairing.code);
    server_open_link(desk->server, link);
    snprintf(text, sizeof text, "to pair another device: open %s there, and type %.4s %s", link,
             desk->said, desk->said + 4);
    say(desk, text);
}

static bool runs_on(void *context)
{
    Desk *desk = context;
    say_code(desk);
    return desk->voice && desk->voice->stopped && desk->voice->stopped(desk->voice->self);
}

static Status open_to_devices(Desk *desk, Fault *fault)
{
    const char *address = desk->options->listen;
    if (!address) return STATUS_OK;
    const Status status = pairing_init(&desk->pairing, 1, fault);
    return status ? status : server_open(desk->server, address, &desk->pairing, fault);
}

static void say_begun(const Desk *desk)
{
    char text[ROWLOCK_FAULT_TEXT];
    if (desk->options->listen)
        say(desk, "this listens to the network: whoever is on it may read along; do so only in one "
                  "that you trust, or behind a proxy with TLS");
    const bool begun = trail_count(desk->commission.trail) > 1;
    snprintf(text, sizeof text, "%.400s: %s", desk->commission.folder.path,
             begun ? "the work goes on as it was left" : "the work is kept here");
    say(desk, text);
}

RowlockStatus desk_run(const DeskOptions *options, const RowlockVoice *voice, RowlockFault *fault)
{
    Desk desk = {.server = NULL, .options = options, .voice = voice};
    Fault own = {0};
    char link[SERVER_LINK];
    Commission *commission = &desk.commission;
    Status status = server_create(&desk.server, commission, options->port, &own);
    if (!status) status = open_to_devices(&desk, &own);
    if (!status)
        status = commission_open(commission, options->operand, server_wake, desk.server, &own);
    if (!status) {
        server_link(desk.server, link);
        say_begun(&desk);
        printf("%s\n", link);
        fflush(stdout);
        if (options->open) open_browser(link);
        server_run(desk.server, runs_on, &desk);
    }
    /* Those who wake end before what they wake. */
    server_stop(desk.server);
    commission_close(commission);
    server_free(desk.server);
    fault->status = (RowlockStatus)status;
    snprintf(fault->text, sizeof fault->text, "%s", status ? own.text : "");
    return fault->status;
}
