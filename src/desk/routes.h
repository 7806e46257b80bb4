/* Routes: what may be asked of the desk, and what is answered. */
#ifndef ROWLOCK_DESK_ROUTES_H
#define ROWLOCK_DESK_ROUTES_H

#include "desk/commission.h"
#include "serve/answer.h"

/* The desk as it is served; the commission is borrowed. */
Service desk_service(Commission *commission);

#endif
