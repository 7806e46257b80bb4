/* What is offered comes from the tables of commands and settings; ids are those of the palette that
 * the line names, else of the palette of a plan without one. Words of a shell may still have a ~ in
 * front.
 *
 * Source: bash(1), Programmable Completion; zshcompsys(1); fish's complete(1). */
#include "command/completion.h"

#include "command/commands.h"

#include <stdlib.h>
#include <string.h>

/* ---- scripts ---- */

/* bash takes --dither=none for three words, and replaces what stands after the sign. */
static const char bash_script[] =
    "_rowlock() {\n"
    "    local IFS=$'\\n' i word glued= words=() line offered\n"
    "    for ((i = 1; i <= COMP_CWORD; i++)); do\n"
    "        word=${COMP_WORDS[i]//[\\\\\\\"\\']/}\n"
    "        if [[ $word == = || $glued ]] && ((${#words[@]})); then\n"
    "            words[${#words[@]} - 1]+=$word\n"
    "        else\n"
    "            words+=(\"$word\")\n"
    "        fi\n"
    "        if [[ $word == = ]]; then glued=1; else glued=; fi\n"
    "    done\n"
    "    word=${words[${#words[@]} - 1]}\n"
    "    offered=$(\"${COMP_WORDS[0]}\" --complete \"${words[@]}\" 2>/dev/null)\n"
    "    COMPREPLY=()\n"
    "    for line in $offered; do\n"
    "        line=${line%%$'\\t'*}\n"
    "        case $line in\n"
    "        :files) compopt -o default ;;\n"
    "        :folders) compopt -o dirnames ;;\n"
    "        \"$word\"*)\n"
    "            if [[ $word == --*=* ]]; then line=${line#*=}; fi\n"
    "            COMPREPLY+=(\"$line\") ;;\n"
    "        esac\n"
    "    done\n"
    "}\n"
    "complete -F _rowlock rowlock\n";

static const char zsh_script[] =
    "#compdef rowlock\n"
    "_rowlock() {\n"
    "    local line kind=\n"
    "    local -a offered plain\n"
    "    for line in ${(f)\"$($words[1] --complete \"${(@Q)words[2,CURRENT]}\" 2>/dev/null)\"}; "
    "do\n"
    "        case $line in\n"
    "        :*) kind=$line ;;\n"
    "        *) plain+=(\"${line%%$'\\t'*}\")\n"
    "           offered+=(\"${plain[-1]//:/\\\\:}:${line#*$'\\t'}\") ;;\n"
    "        esac\n"
    "    done\n"
    "    case $kind in\n"
    "    :files) compset -P '--*='; _files ;;\n"
    "    :folders) compset -P '--*='; _files -/ ;;\n"
    "    *) _describe rowlock offered plain ;;\n"
    "    esac\n"
    "}\n"
    "if [[ $funcstack[1] = _rowlock ]]; then _rowlock \"$@\"; else compdef _rowlock rowlock; fi\n";

/* fish names files itself where a command is asked of that it does not know. */
static const char fish_script[] =
    "function __rowlock_complete\n"
    "    set -l words (commandline -opc)\n"
    "    set -l raw (commandline -ct)\n"
    "    set -l word (string unescape -- $raw)\n"
    "    set -l offered ($words[1] --complete $words[2..-1] \"$word\" 2>/dev/null)\n"
    "    set -l option (string match -r '^--[^=]*=' -- $raw)\n"
    "    set -l name (string replace -r '^--[^=]*=' '' -- $raw)\n"
    "    switch \"$offered[1]\"\n"
    "        case :files\n"
    "            complete -C \"'' $name\" | string replace -r '^' -- \"$option\"\n"
    "        case :folders\n"
    "            complete -C \"'' $name\" | string match -r '^[^\\t]*/(?:\\t.*)?$' |\n"
    "                string replace -r '^' -- \"$option\"\n"
    "        case '*'\n"
    "            string join \\n -- $offered\n"
    "    end\n"
    "end\n"
    "complete -c rowlock -f -a '(__rowlock_complete)'\n";

static const struct {
    const char *name, *script;
} shells[] = {{"bash", bash_script}, {"zsh", zsh_script}, {"fish", fish_script}};

RowlockStatus completion_script(const char *shell, FILE *file, RowlockFault *fault)
{
    for (size_t i = 0; i < sizeof shells / sizeof *shells; i++)
        if (!strcmp(shells[i].name, shell)) {
            fputs(shells[i].script, file);
            return ROWLOCK_OK;
        }
    snprintf(fault->text, sizeof fault->text,
             "--completion: '%.40s' is not a shell that is known; give bash, zsh or fish", shell);
    return fault->status = ROWLOCK_USAGE;
}

/* ---- the line ---- */

/* An option, whichever table it is of. */
typedef struct Known {
    const char *name, *help;
    const char *value;      /* NULL: it takes none, or yes and no after a sign */
    RowlockSetting setting; /* without a name where it is none */
    bool given;             /* and may be given no more */
} Known;

enum { KNOWN_MOST = SETTINGS_MOST + OWN_MOST + 5, PATH_MOST = ROWLOCK_SETTING_TEXT };

/* What the words before the last one say. */
typedef struct Typed {
    Command command;
    Known known[KNOWN_MOST];
    int count, operands;
    const Known *open; /* its value is being typed */
    bool ended;        /* by --: options come no more */
    const char *palette, *job;
    FILE *file;
} Typed;

static Command command_of(const char *word)
{
    for (int c = 1; c < COMMANDS; c++)
        if (!strcmp(word, about[c].name)) return (Command)c;
    return COMMAND_NONE;
}

static void list_options(Typed *t)
{
    const About *a = &about[t->command];
    for (size_t i = 0; a->settings && i < known_settings_count; i++) {
        if (!command_takes(t->command, &known_settings[i])) continue;
        const RowlockSetting s = command_words(t->command, &known_settings[i]);
        t->known[t->count++] = (Known){.name = s.name,
                                       .help = s.help,
                                       .value = s.type == ROWLOCK_SWITCH ? NULL : s.value,
                                       .setting = s};
    }
    for (const OwnOption *own = a->own; own < a->own + OWN_MOST && own->name; own++)
        t->known[t->count++] = (Known){.name = own->name, .help = own->help, .value = own->value};
    if (command_takes_job(t->command))
        t->known[t->count++] =
            (Known){.name = "job", .help = "settings from an INI file", .value = "FILE"};
    t->known[t->count++] = (Known){.name = "help", .help = "what it does and takes"};
}

/* The option of a word such as --dither or --dither=none; *value_out is what stands after the sign,
 * or NULL. */
static Known *option_of(Typed *t, const char *word, const char **value_out)
{
    const size_t length = strcspn(word, "=");
    *value_out = word[length] ? word + length + 1 : NULL;
    for (int i = 0; i < t->count; i++)
        if (length == strlen(t->known[i].name) + 2 &&
            !strncmp(word + 2, t->known[i].name, length - 2))
            return &t->known[i];
    return NULL;
}

static void take_value(Typed *t, const Known *known, const char *value)
{
    if (!strcmp(known->name, "palette")) t->palette = value;
    if (!strcmp(known->name, "job")) t->job = value;
}

static void take_word(Typed *t, const char *word)
{
    const char *value;
    if (t->open) {
        take_value(t, t->open, word);
        t->open = NULL;
    } else if (!t->ended && !strcmp(word, "--")) {
        t->ended = true;
    } else if (!t->ended && !strncmp(word, "--", 2)) {
        Known *known = option_of(t, word, &value);
        if (!known) return;
        known->given = !known->setting.name || !command_repeats(t->command, &known->setting);
        if (value) take_value(t, known, value);
        if (!value && known->value) t->open = known;
    } else {
        t->operands++;
    }
}

/* ---- what is offered ---- */

/* Offers `before` and `word`, if that begins with what is typed. */
static void offer(const Typed *t, const char *before, const char *word, size_t length,
                  const char *typed, const char *what)
{
    if (strlen(typed) > length || strncmp(word, typed, strlen(typed)) != 0) return;
    fprintf(t->file, "%s%.*s\t%s\n", before, (int)length, word, what);
}

static void offer_words(const Typed *t, const char *before, const char *words, const char *typed)
{
    for (const char *w = words; w; w = strchr(w, '|') ? strchr(w, '|') + 1 : NULL)
        offer(t, before, w, strcspn(w, "|"), typed, "");
}

/* ~/ as shells have it. */
static void set_path(RowlockJob *job, const char *name, const char *path)
{
    char whole[PATH_MOST];
    const char *home = getenv("HOME");
    const bool from_home = !strncmp(path, "~/", 2) && home;
    snprintf(whole, sizeof whole, "%s%s", from_home ? home : "", path + from_home);
    if (strcmp(name, "job") != 0)
        rowlock_job_set(job, name, whole, NULL, NULL);
    else
        rowlock_job_read(job, whole, NULL);
}

static bool is_listed(const char *list, size_t length, const char *id)
{
    for (size_t at = 0; at < length; at += strcspn(list + at, ",") + 1)
        if (strcspn(list + at, ",") == strlen(id) && !strncmp(list + at, id, strlen(id)))
            return true;
    return false;
}

/* The ids of the palette; in a list those that it has not yet. */
static void offer_ids(const Typed *t, const char *before, const char *typed, bool many)
{
    const char *comma = many ? strrchr(typed, ',') : NULL;
    const size_t listed = comma ? (size_t)(comma + 1 - typed) : 0;
    char front[2 * PATH_MOST];
    RowlockJob *job;
    RowlockColour *colour;
    size_t colours;
    if (strlen(typed) >= PATH_MOST || rowlock_job_create(&job, NULL)) return;
    if (t->job) set_path(job, "job", t->job);
    if (t->palette) set_path(job, "palette", t->palette);
    snprintf(front, sizeof front, "%s%.*s", before, (int)listed, typed);
    if (!rowlock_job_colours(job, &colour, &colours, NULL))
        for (size_t i = 0; i < colours; i++)
            if (!is_listed(typed, listed, colour[i].id))
                offer(t, front, colour[i].id, strlen(colour[i].id), typed + listed, colour[i].name);
    rowlock_colours_free(colour);
    rowlock_job_free(job);
}

static void offer_names(const Typed *t, bool folders)
{
    fputs(folders ? ":folders\n" : ":files\n", t->file);
}

static void offer_value(const Typed *t, const Known *known, const char *before, const char *typed)
{
    const RowlockSetting *s = &known->setting;
    const bool named =
        known->value && (!strcmp(known->value, "FILE") || !strcmp(known->value, "DIR"));
    if (s->name && s->type == ROWLOCK_SWITCH)
        offer_words(t, before, "yes|no", typed);
    else if (s->name && s->choices)
        offer_words(t, before, s->choices, typed);
    else if (named || (s->name && !strcmp(s->name, "built"))) /* which may be a list as well */
        offer_names(t, !strcmp(known->value, "DIR"));
    else if (s->name && (!strcmp(s->value, "ID") || !strcmp(s->value, "IDS")))
        offer_ids(t, before, typed, s->value[2] == 'S');
}

static void offer_options(const Typed *t, const char *typed)
{
    char word[64];
    for (int i = 0; i < t->count; i++) {
        const int length = snprintf(word, sizeof word, "--%s", t->known[i].name);
        if (!t->known[i].given) offer(t, "", word, (size_t)length, typed, t->known[i].help);
    }
}

static void offer_commands(const Typed *t, const char *typed, bool first)
{
    for (int c = 1; c < COMMANDS; c++)
        offer(t, "", about[c].name, strlen(about[c].name), typed, about[c].summary);
    if (first) offer(t, "", "help", 4, typed, "say more of a command");
}

static void offer_operand(const Typed *t)
{
    const Command c = t->command;
    const bool folder = c == COMMAND_CHECK || c == COMMAND_BENCH ||
                        ((c == COMMAND_REPLAN || c == COMMAND_INSPECT) && !t->operands);
    offer_names(t, folder);
}

void completion_offer(char *const *words, int count, FILE *file)
{
    static Typed t;
    t = (Typed){.file = file};
    if (!count) return;
    known_settings_list();
    const char *last = words[count - 1], *value;
    const bool help = count > 1 && !strcmp(words[0], "help");
    if (count > 1) t.command = command_of(words[0]);
    if (!t.command) {
        if (count == 1 && *last == '-')
            offer_words(&t, "", "--help|--version|--manual|--completion", last);
        else if (count == 1 || (help && count == 2))
            offer_commands(&t, last, !help);
        else if (count == 2 && !strcmp(words[0], "--completion"))
            offer_words(&t, "", "bash|zsh|fish", last);
        return;
    }
    list_options(&t);
    for (int i = 1; i < count - 1; i++) take_word(&t, words[i]);
    const bool option = !t.open && !t.ended && *last == '-';
    const Known *known = option && !strncmp(last, "--", 2) ? option_of(&t, last, &value) : t.open;
    if (t.open)
        offer_value(&t, known, "", last);
    else if (known && value) {
        char before[80];
        snprintf(before, sizeof before, "--%s=", known->name);
        offer_value(&t, known, before, value);
    } else if (option)
        offer_options(&t, last);
    else
        offer_operand(&t);
}
