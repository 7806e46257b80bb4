/* Names are noted in a list, which the thread takes as a whole: the folder first, so that all of
 * them stand, then file by file in the order in which they were noted. Whoever writes what speaks
 * of other files notes it after those, and so the disk has them before it.
 *
 * Source: fsync of POSIX.1-2017. */
#include "desk/settler.h"

#include "base/memory.h"
#include "base/thread.h"

#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { NOTED_MOST = 16 }; /* names; whoever notes more waits for the disk */

typedef struct NameList {
    char name[NOTED_MOST][SETTLER_NAME];
    int count;
} NameList;

struct Settler {
    const char *folder;
    pthread_t thread;
    pthread_mutex_t mutex;
    pthread_cond_t noted, taken;
    NameList list;
    bool ending;
    Fault fault; /* of what was settled last */
    unsigned long turns;
};

/* A file that has another name by now was noted under that, too. Returns errno, or 0. */
static int settle(int folder, const char *name, int flags)
{
    const int descriptor = openat(folder, name, O_RDONLY | O_NOFOLLOW | O_CLOEXEC | flags);
    if (descriptor < 0) return errno == ENOENT ? 0 : errno;
    const int why = fsync(descriptor) && errno != EINVAL ? errno : 0;
    close(descriptor);
    return why;
}

static Status settle_list(const Settler *s, const NameList *list, Fault *fault)
{
    const int folder = open(s->folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    const char *name = ".";
    int why = folder < 0 ? errno : settle(folder, name, O_DIRECTORY);
    for (int i = 0; !why && i < list->count; i++) {
        name = list->name[i];
        why = settle(folder, name, 0);
    }
    if (folder >= 0) close(folder);
    if (!why) return STATUS_OK;
    return fault_set(fault, STATUS_IO,
                     "%s/%s: does not reach the disk (%s); what was done last may be lost with the "
                     "power, free some space",
                     s->folder, name, strerror(why));
}

/* With the mutex held, which is let go while the disk is at work. */
static void settle_noted(Settler *s)
{
    const NameList list = s->list;
    Fault fault = {0};
    s->list.count = 0;
    pthread_cond_broadcast(&s->taken);
    pthread_mutex_unlock(&s->mutex);
    settle_list(s, &list, &fault);
    pthread_mutex_lock(&s->mutex);
    s->turns += strcmp(s->fault.text, fault.text) != 0;
    s->fault = fault;
}

static void *settle_all(void *context)
{
    Settler *s = context;
    pthread_mutex_lock(&s->mutex);
    while (s->list.count || !s->ending) {
        if (s->list.count)
            settle_noted(s);
        else
            pthread_cond_wait(&s->noted, &s->mutex);
    }
    pthread_mutex_unlock(&s->mutex);
    return NULL;
}

Status settler_create(Settler **settler_out, const char *folder, Fault *fault)
{
    Settler *s = *settler_out = memory_create(1, sizeof *s);
    if (!s) return memory_fault(fault, 1, sizeof *s);
    s->folder = folder;
    pthread_mutex_init(&s->mutex, NULL);
    pthread_cond_init(&s->noted, NULL);
    pthread_cond_init(&s->taken, NULL);
    if (!thread_begin(&s->thread, settle_all, s)) return STATUS_OK;
    memory_free(s);
    *settler_out = NULL;
    return fault_set(fault, STATUS_NO_RESOURCE, "desk: no thread to write with; close something");
}

void settler_free(Settler *s)
{
    if (!s) return;
    pthread_mutex_lock(&s->mutex);
    s->ending = true;
    pthread_cond_signal(&s->noted);
    pthread_mutex_unlock(&s->mutex);
    pthread_join(s->thread, NULL);
    pthread_cond_destroy(&s->taken);
    pthread_cond_destroy(&s->noted);
    pthread_mutex_destroy(&s->mutex);
    memory_free(s);
}

static bool is_noted(const NameList *list, const char *name)
{
    for (int i = 0; i < list->count; i++)
        if (!strcmp(list->name[i], name)) return true;
    return false;
}

void settler_note(Settler *s, const char *name)
{
    pthread_mutex_lock(&s->mutex);
    while (s->list.count == NOTED_MOST) pthread_cond_wait(&s->taken, &s->mutex);
    if (!is_noted(&s->list, name))
        snprintf(s->list.name[s->list.count++], SETTLER_NAME, "%s", name);
    pthread_cond_signal(&s->noted);
    pthread_mutex_unlock(&s->mutex);
}

Status settler_state(Settler *s, unsigned long *turns_out, Fault *fault)
{
    pthread_mutex_lock(&s->mutex);
    *fault = s->fault;
    *turns_out = s->turns;
    pthread_mutex_unlock(&s->mutex);
    return fault->status;
}
