/* Commands: what each is called, what there is to say of it, and which settings it takes. */
#ifndef ROWLOCK_COMMAND_COMMANDS_H
#define ROWLOCK_COMMAND_COMMANDS_H

#include "rowlock.h"

typedef enum Command {
    COMMAND_NONE,
    COMMAND_PLAN,
    COMMAND_COMPARE,
    COMMAND_PICK,
    COMMAND_MEASURE,
    COMMAND_REPLAN,
    COMMAND_CHECK,
    COMMAND_INSPECT,
    COMMAND_EXHIBITION,
    COMMAND_DESK,
    COMMAND_BENCH,
    COMMANDS
} Command;

enum { EXAMPLES_MOST = 4 };

typedef struct Example {
    const char *line, *what;
} Example;

/* An option that is a command's own and no setting. */
typedef struct OwnOption {
    const char *name, *value, *help; /* value: how help shows it; NULL for a switch */
} OwnOption;

enum { OWN_MOST = 5 };

typedef struct About {
    const char *name, *operands, *summary, *more;
    bool settings;     /* takes the settings table */
    bool photographed; /* help says how photographs are taken */
    Example example[EXAMPLES_MOST];
    OwnOption own[OWN_MOST];
} About;

extern const About about[COMMANDS]; /* COMMAND_NONE is empty */

/* The library's settings, so that they are told apart by address. */
enum { SETTINGS_MOST = 128 };
extern RowlockSetting known_settings[SETTINGS_MOST];
extern size_t known_settings_count;

/* Lists them; before anything else here is asked. */
void known_settings_list(void);

/* Whether a command takes a setting; COMMAND_NONE stands for options before a command: all of them
 * are known then. */
bool command_takes(Command command, const RowlockSetting *setting);

/* Whether it takes a job file. */
bool command_takes_job(Command command);

/* Whether it takes several values of it. */
bool command_repeats(Command command, const RowlockSetting *setting);

/* The setting in a command's own words: what --out is differs. The same where the table's words are
 * its own. */
RowlockSetting command_words(Command command, const RowlockSetting *setting);

/* What a mural that is under way cannot change any more: known, so that it can be said. */
bool command_fixes(Command command, const RowlockSetting *setting);

#endif
