/* Give way: threads of work that takes long, beside the one that answers. */
#ifndef ROWLOCK_SERVE_GIVE_WAY_H
#define ROWLOCK_SERVE_GIVE_WAY_H

/* The thread that calls this, and those that it starts, let others of the program go first. */
void give_way(void);

#endif
