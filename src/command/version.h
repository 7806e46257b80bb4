/* Version: the program's, of what it is made of, and of the formats that it writes. */
#ifndef ROWLOCK_COMMAND_VERSION_H
#define ROWLOCK_COMMAND_VERSION_H

#include <stdio.h>

/* "rowlock 1.2.3" on a line of its own, then lines that tell the rest. */
void version_print(FILE *file);

#endif
