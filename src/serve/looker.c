/* A thread lives as long as its task. While it does, the task is its own but for the two flags;
 * once it has been waited for, all is the caller's again. */
#include "serve/looker.h"

#include "base/memory.h"
#include "base/system.h"
#include "base/thread.h"

#include <stdio.h>
#include <string.h>

struct Looker {
    void (*wake)(void *self);
    void *self;
    pthread_t thread;
    LookTask *task; /* NULL: none is at work */
    atomic_bool over;
};

/* ---- in the thread ---- */

static bool task_stopped(void *self) { return atomic_load(&((LookTask *)self)->stopped); }

/* Puts the name in the place of the path, which is no shorter. */
static void rename_in(char *text, LookName file)
{
    const size_t from = file.path ? strlen(file.path) : 0, to = from ? strlen(file.name) : 0;
    char *at = from >= to && from ? strstr(text, file.path) : NULL;
    if (!at) return;
    memcpy(at, file.name, to);
    memmove(at + to, at + from, strlen(at + from) + 1);
}

/* Incoming files have no names that their sender would know. */
static void name_files(const LookTask *task, char *text)
{
    rename_in(text, (LookName){task->photo, "the photograph"});
    rename_in(text, task->other);
}

static void hear_of_task(void *self, const char *text)
{
    LookTask *task = self;
    char line[ROWLOCK_FAULT_TEXT];
    snprintf(line, sizeof line, "%s", text);
    name_files(task, line);
    json_append(&task->making, json_object_get(task->told, "notes"), json_text(line));
}

static void *look(void *self)
{
    Looker *l = self;
    LookTask *task = l->task;
    const RowlockVoice voice = {.self = task, .note = hear_of_task, .stopped = task_stopped};
    system_give_way();
    task->run(task, &voice, &task->fault);
    name_files(task, task->fault.text);
    atomic_store(&l->over, true);
    if (l->wake) l->wake(l->self);
    return NULL;
}

/* ---- outside ---- */

Status looker_create(Looker **looker_out, Fault *fault)
{
    *looker_out = memory_create(1, sizeof **looker_out);
    return *looker_out ? STATUS_OK : memory_fault(fault, 1, sizeof **looker_out);
}

void looker_free(Looker *l)
{
    if (l) looker_stop(l);
    memory_free(l);
}

void looker_set_wake(Looker *l, void (*wake)(void *self), void *self)
{
    l->wake = wake;
    l->self = self;
}

bool looker_is_busy(const Looker *l) { return l->task != NULL; }

static void let_go(LookTask *task)
{
    if (!task) return;
    json_decref(task->told);
    if (task->release)
        task->release(task);
    else
        memory_free(task);
}

static Status begin(Looker *l, LookTask *task, const Ask *ask, Fault *fault)
{
    snprintf(task->photo, sizeof task->photo, "%s", ask->upload->path);
    task->told = json_object();
    json_set(&task->making, task->told, "notes", json_array());
    if (task->making.failed) return memory_fault(fault, 1, sizeof *task);
    atomic_store(&l->over, false);
    l->task = task;
    if (!thread_begin(&l->thread, look, l)) return STATUS_OK;
    l->task = NULL;
    return fault_set(fault, STATUS_NO_RESOURCE,
                     "photograph: no thread to look at it with; close something");
}

/* Waits for the thread; the task is the caller's. */
static LookTask *end(Looker *l)
{
    LookTask *task = l->task;
    pthread_join(l->thread, NULL);
    l->task = NULL;
    return task;
}

static Answer tell(LookTask *task)
{
    const RowlockStatus status = task->fault.status;
    Answer answer;
    if (status != ROWLOCK_OK && status != ROWLOCK_UNHELD)
        answer = answer_fault((Status)status, task->fault.text);
    else
        answer = answer_json(200, task->making.failed ? NULL : json_incref(task->told));
    let_go(task);
    return answer;
}

Answer looker_answer(Looker *l, const Ask *ask,
                     LookTask *(*make)(void *self, const Ask *ask, Fault *fault), void *self)
{
    Fault fault = {0};
    if (*ask->held) {
        if (!atomic_load(&l->over)) return (Answer){.status = ANSWER_LATER};
        *ask->held = NULL;
        return tell(end(l));
    }
    if (l->task) return (Answer){.status = ANSWER_LATER};
    if (!ask->upload || fflush(ask->upload->file))
        return answer_fault(STATUS_DATA, "the photograph: nothing came in; send it again");
    LookTask *task = make(self, ask, &fault);
    if (!task || begin(l, task, ask, &fault)) {
        let_go(task);
        return answer_fault(fault.status, fault.text);
    }
    *ask->held = l;
    return (Answer){.status = ANSWER_LATER};
}

void looker_stop(Looker *l)
{
    if (!l->task) return;
    atomic_store(&l->task->stopped, true);
    let_go(end(l));
}
