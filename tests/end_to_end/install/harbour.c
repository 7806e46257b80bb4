/* A program of ten lines on the installed library: plans argv[1] into argv[2]. */
#include <rowlock.h>
#include <stdio.h>

int main(int argc, char **argv)
{
    RowlockJob *job = NULL;
    RowlockFault fault = {ROWLOCK_USAGE, "give a picture and a folder"};
    RowlockStatus status = argc == 3 ? rowlock_job_create(&job, &fault) : ROWLOCK_USAGE;
    if (!status) status = rowlock_job_set(job, "reference", argv[1], NULL, &fault);
    if (!status) status = rowlock_job_set(job, "out", argv[2], NULL, &fault);
    if (!status) status = rowlock_job_set(job, "columns", "24", NULL, &fault);
    if (!status) status = rowlock_plan(job, NULL, &fault);
    if (status) fprintf(stderr, "%s\n", fault.text);
    rowlock_job_free(job);
    return (int)status;
}
