/* The codes of pairing are told through the voice, as each serves one device.
 *
 * Source: xdg-open of freedesktop.org opens a link with the user's browser. */
#include "serve/host.h"

#include "base/system.h"

#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

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

Voice host_voice(const RowlockVoice *voice)
{
    static const RowlockVoice silence;
    return (Voice){
        .self = (void *)(voice ? voice : &silence), .note = hear_note, .stopped = is_stopped};
}

/* In a process of a process, so that nobody has to wait for the browser's end. What it says goes
 * nowhere. */
static void open_browser(const char *link)
{
    const pid_t child = fork();
    if (child > 0) waitpid(child, NULL, 0);
    if (child) return;
    if (!fork() && setsid() > 0 && freopen("/dev/null", "w", stdout) &&
        freopen("/dev/null", "w", stderr))
        execlp(system_opener, system_opener, link, (char *)NULL);
    _exit(0);
}

/* Each code serves one device; a new one is told as soon as there is one. */
static void say_code(Host *host)
{
    char link[SERVER_LINK];
    if (!host->options->listen || !strcmp(host->said, host->pairing.code)) return;
    strcpy(host->said, host->pairing.code);
    server_open_link(host->server, link);
    voice_note(host->voice, "to pair another device: open %s there, and type %.4s %s", link,
               host->said, host->said + 4);
}

static bool has_ended(void *context)
{
    Host *host = context;
    say_code(host);
    return voice_stopped(host->voice);
}

Status host_open(Host *host, const Service *service, const HostOptions *options, const Voice *voice,
                 Fault *fault)
{
    *host = (Host){.options = options, .voice = voice};
    Status status = server_create(&host->server, service, options->port, fault);
    if (status || !options->listen) return status;
    status = pairing_init(&host->pairing, service->devices, fault);
    return status ? status : server_open(host->server, options->listen, &host->pairing, fault);
}

void host_run(Host *host)
{
    char link[SERVER_LINK];
    if (host->options->listen)
        voice_note(host->voice,
                   "this listens to the network: whoever is on it may read along; do so only in "
                   "one that you trust, or behind a proxy with TLS");
    server_link(host->server, link);
    if (host->options->told)
        host->options->told(host->options->self, link, host->server);
    else {
        printf("%s\n", link);
        fflush(stdout);
    }
    if (host->options->open) open_browser(link);
    server_run(host->server, has_ended, host);
}

void host_stop(Host *host) { server_stop(host->server); }

void host_wake(void *context)
{
    const Host *host = context;
    if (host->server) server_wake(host->server);
}

void host_free(Host *host) { server_free(host->server); }
