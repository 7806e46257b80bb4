/* A wait that is over leaves five tries again; a code that was right ends the doubling. The clock
 * is the caller's, so that tests need not wait. */
#include "serve/pairing.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* 2^64 is so many times 10^8 that no code is likelier than another by more than 10^-11. */
static Status draw_code(Pairing *p, Fault *fault)
{
    uint64_t bits;
    const Status status = random_bytes(&bits, sizeof bits, fault);
    if (!status) snprintf(p->code, sizeof p->code, "%08" PRIu64, bits % 100000000);
    return status;
}

Status pairing_init(Pairing *p, int most, Fault *fault)
{
    *p = (Pairing){.most = most, .wait = PAIRING_WAIT};
    return draw_code(p, fault);
}

bool pairing_knows(const Pairing *p, const char *token)
{
    bool known = false;
    for (int i = 0; i < p->most; i++) known |= secret_is(p->device[i], token);
    return known;
}

static void copy_digits(char to[PAIRING_CODE + 1], const char *from)
{
    size_t used = 0;
    for (; *from && used < PAIRING_CODE; from++)
        if (*from != ' ' && *from != '+') to[used++] = *from;
    to[used] = 0; /* one that is too long stays so */
}

static PairingResult refuse(Pairing *p, double now)
{
    if (++p->wrong < PAIRING_TRIES) return PAIRING_WRONG;
    p->until = now + p->wait;
    p->wait = fmin(2 * p->wait, PAIRING_WAIT_MOST);
    p->wrong = 0;
    return PAIRING_DEAF;
}

PairingResult pairing_try(Pairing *p, const char *code, double now, const char **token_out)
{
    char typed[PAIRING_CODE + 1];
    Fault fault;
    if (now < p->until) return PAIRING_DEAF;
    copy_digits(typed, code);
    if (!secret_is(p->code, typed)) return refuse(p, now);
    char *token = p->device[p->next];
    /* Without random bits there is no token, and the code serves no second time. */
    if (token_draw(token, &fault) || draw_code(p, &fault)) {
        *token = *p->code = 0;
        return PAIRING_DEAF;
    }
    p->next = (p->next + 1) % p->most;
    p->wrong = 0;
    p->wait = PAIRING_WAIT;
    *token_out = token;
    return PAIRING_MADE;
}
