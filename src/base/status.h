/* Status and fault: how every fallible function of the library reports.
 *
 * A function that can fail returns a Status and fills a Fault that its caller
 * owns. The library never prints and never exits; a broken contract between
 * modules is an assert. Status values are the exit codes of sysexits.h. */
#ifndef ROWLOCK_BASE_STATUS_H
#define ROWLOCK_BASE_STATUS_H

typedef enum Status {
    STATUS_OK = 0,
    STATUS_UNHELD = 1,       /* done, but some promise of the wall does not hold */
    STATUS_USAGE = 64,       /* options that make no sense */
    STATUS_DATA = 65,        /* input that is there but wrong */
    STATUS_NO_INPUT = 66,    /* input that is not there */
    STATUS_NO_RESOURCE = 69, /* memory, a missing library or font */
    STATUS_INTERNAL = 70,    /* a defect of the program */
    STATUS_NO_CREATE = 73,   /* output that cannot be created */
    STATUS_IO = 74,          /* reading or writing broke off */
    STATUS_INTERRUPTED = 75  /* stopped from outside, nothing half-written */
} Status;

typedef struct Fault {
    Status status;
    char text[600]; /* one line, "WHERE: WHAT; HOW TO MEND IT", no line end */
} Fault;

/* Fills *fault (which may be NULL) and returns status, so that a caller can
 * write `return fault_set(fault, STATUS_DATA, "%s:%d: ...; ...", ...)`.
 * Control characters that come in through names or data become '?', and of a text that
 * is too long the middle is left out. */
Status fault_set(Fault *fault, Status status, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

#endif
