/* lcms2 decides whether the text is CGATS and what its header says. It gives no
 * lines, though, passes over much in silence, and respells what it takes for a
 * number (007 becomes 7, ten digits are kept, the decimal point is the locale's). So a
 * walk over the words comes first: it holds the same grammar, keeps each value as
 * spelled with its line and column, and says in plain words what is wrong. lcms2 then
 * gets the header as it stands and each value in quotes, which it does not
 * touch, and both must hold the same table.
 *
 * Only what the walk has let through reaches lcms2: the first table, no .INCLUDE,
 * counts that are small (2.14 computes the size of its table in 32 bits). Its reader
 * goes on after a failed allocation and crashes, so its memory is drawn from a
 * Room, which leaves over lcms2's head instead. */
#include "base/cgats.h"

#include "base/memory.h"
#include "base/text.h"

#include <lcms2.h>
#include <lcms2_plugin.h>
#include <setjmp.h>
#include <stdalign.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    FIELDS_MOST = 1024,      /* a spectrum at 1 nm has 401 */
    SETS_MOST = 8192,        /* printers' charts have some thousands */
    CELLS_MOST = 200000,     /* lcms2's own limit, later versions */
    HEADER_WORDS_MOST = 4096 /* lcms2 keeps them in a list and searches it for each */
};

/* ---- Words ---- */

typedef struct Word {
    const char *start; /* without its quotes; NULL at the end of the text */
    size_t length;
    int line, at;
    bool quoted;
} Word;

typedef struct Walk {
    const char *next, *end, *place;
    int line, at; /* of *next */
    Fault *fault;
} Walk;

static Status word_fault(const Walk *walk, const Word *word, const char *what)
{
    return fault_set(walk->fault, STATUS_DATA, "%s:%d:%d: %s", walk->place, word->line, word->at,
                     what);
}

static bool is_line_end(char c) { return c == '\n' || c == '\r'; }

static void walk_step(Walk *walk)
{
    const char c = *walk->next++;
    const bool pair = c == '\r' && walk->next < walk->end && *walk->next == '\n';
    if (is_line_end(c) && !pair) {
        walk->line++;
        walk->at = 1;
    } else if (((unsigned char)c & 0xc0) != 0x80) {
        walk->at++;
    }
}

/* Blanks, line ends, comments. */
static void skip_space(Walk *walk)
{
    bool comment = false;
    while (walk->next < walk->end) {
        const char c = *walk->next;
        comment = c == '#' || (comment && !is_line_end(c));
        if (!comment && c != ' ' && c != '\t' && !is_line_end(c)) return;
        walk_step(walk);
    }
}

static Status next_quoted(Walk *walk, Word *word)
{
    const char quote = *walk->next;
    walk_step(walk);
    word->start = walk->next;
    word->quoted = true;
    while (walk->next < walk->end && *walk->next != quote) {
        if (is_line_end(*walk->next)) break;
        walk_step(walk);
    }
    word->length = (size_t)(walk->next - word->start);
    if (walk->next == walk->end || *walk->next != quote)
        return word_fault(walk, word, "this quote is not closed on its line; close it");
    walk_step(walk);
    return STATUS_OK;
}

static bool is_bare(const Walk *walk)
{
    return walk->next < walk->end && !strchr(" \t\r\n#\"'", *walk->next);
}

static Status next_word(Walk *walk, Word *word)
{
    skip_space(walk);
    *word = (Word){.line = walk->line, .at = walk->at};
    if (walk->next == walk->end) return STATUS_OK;
    if (*walk->next == '"' || *walk->next == '\'') return next_quoted(walk, word);
    word->start = walk->next;
    for (; is_bare(walk); walk_step(walk)) {
        if ((unsigned char)*walk->next >= 0x80)
            return word_fault(walk, word, "letters beyond ASCII outside quotes; quote this text");
    }
    word->length = (size_t)(walk->next - word->start);
    return STATUS_OK;
}

/* The word as a string, for comparing and for messages. */
static const char *word_text(char out[128], const Word *word)
{
    const size_t length = word->length < 127 ? word->length : 127;
    memcpy(out, word->start, length);
    out[length] = '\0';
    return out;
}

static bool word_is(const Word *word, const char *keyword)
{
    char text[128];
    return word->start && !word->quoted && word->length < 127 &&
           text_same(word_text(text, word), keyword);
}

/* ---- The table, word by word ---- */

typedef struct Format {
    Csv *table;
    long fields, sets; /* as counted */
    int header_words;
    Word said_fields, said_sets;
    int data_line;    /* of BEGIN_DATA */
    const char *data; /* behind BEGIN_DATA */
} Format;

/* The value of NUMBER_OF_...: digits, and few of them. */
static Status read_count(Walk *walk, Word *said, long most)
{
    char text[128];
    if (said->start) return word_fault(walk, said, "this count is given twice; give it once");
    Status status = next_word(walk, said);
    if (status) return status;
    if (!said->start || said->length == 0 || said->length > 6 ||
        strspn(word_text(text, said), "0123456789") != said->length || atol(text) > most)
        return fault_set(walk->fault, STATUS_DATA,
                         "%s:%d:%d: a count is not a whole number up to %ld; correct it",
                         walk->place, said->line, said->at, most);
    return STATUS_OK;
}

static long count_of(const Word *said)
{
    char text[128];
    return said->start ? atol(word_text(text, said)) : -1;
}

/* A word of the header; of a count, the value, too. */
static Status header_word(Walk *walk, Format *format, Word *word)
{
    Status status = next_word(walk, word);
    if (status) return status;
    if (format->header_words++ > HEADER_WORDS_MOST)
        return word_fault(walk, word, "the header is too long; check that it is the right file");
    if (word_is(word, "NUMBER_OF_FIELDS"))
        return read_count(walk, &format->said_fields, FIELDS_MOST);
    if (word_is(word, "NUMBER_OF_SETS")) return read_count(walk, &format->said_sets, SETS_MOST);
    return STATUS_OK;
}

static Status read_header(Walk *walk, Format *format)
{
    for (;;) {
        Word word;
        Status status = header_word(walk, format, &word);
        if (status) return status;
        if (word_is(&word, "BEGIN_DATA_FORMAT")) return STATUS_OK;
        if (!word.start || word_is(&word, "BEGIN_DATA"))
            return word_fault(walk, &word,
                              "there is no BEGIN_DATA_FORMAT before the data; list the columns "
                              "there: SAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B");
    }
}

static Status read_fields(Walk *walk, Format *format)
{
    for (;;) {
        Word word;
        Status status = next_word(walk, &word);
        if (status) return status;
        if (word_is(&word, "END_DATA_FORMAT")) break;
        if (!word.start || word_is(&word, "BEGIN_DATA"))
            return word_fault(walk, &word, "END_DATA_FORMAT is missing; end the list of columns");
        if (format->fields == FIELDS_MOST)
            return word_fault(walk, &word, "too many columns; check that it is the right file");
        status =
            csv_append(format->table, word.start, word.length, word.line, word.at, walk->fault);
        if (status) return status;
        format->fields++;
    }
    const long said = count_of(&format->said_fields);
    if (said == format->fields && said > 0) return STATUS_OK;
    if (said < 0)
        return fault_set(walk->fault, STATUS_DATA,
                         "%s:%d: NUMBER_OF_FIELDS is missing; write NUMBER_OF_FIELDS %ld above the "
                         "data format",
                         walk->place, walk->line, format->fields);
    return fault_set(walk->fault, STATUS_DATA,
                     "%s:%d:%d: NUMBER_OF_FIELDS is %ld, but the data format lists %ld columns; "
                     "correct one of them",
                     walk->place, format->said_fields.line, format->said_fields.at, said,
                     format->fields);
}

/* Between END_DATA_FORMAT and BEGIN_DATA; meters give NUMBER_OF_SETS here or above. */
static Status read_between(Walk *walk, Format *format)
{
    for (;;) {
        Word word;
        Status status = header_word(walk, format, &word);
        if (status) return status;
        if (word_is(&word, "BEGIN_DATA")) {
            format->data_line = word.line;
            format->data = walk->next;
            return STATUS_OK;
        }
        if (!word.start)
            return word_fault(walk, &word, "there is no BEGIN_DATA; the file may be cut short");
        if (word_is(&word, "NUMBER_OF_FIELDS") || word_is(&word, "BEGIN_DATA_FORMAT"))
            return word_fault(walk, &word, "out of place; it belongs before the data format");
    }
}

/* The row that is being read. */
typedef struct Row {
    int line;      /* where it starts */
    int last_line; /* where its last value stands */
    long values, on_first_line;
} Row;

/* A row must start on a line of its own: a value too many or too few would else shift
 * all that follow. `row` is the one that has just ended. */
static Status check_row_start(Walk *walk, const Format *format, const Row *row, const Word *word)
{
    if (word->line != row->last_line) return STATUS_OK;
    if (row->line != row->last_line)
        return fault_set(walk->fault, STATUS_DATA,
                         "%s:%d: %ld values, where the data format lists %ld columns; complete the "
                         "line",
                         walk->place, row->line, row->on_first_line, format->fields);
    return fault_set(walk->fault, STATUS_DATA,
                     "%s:%d:%d: more values than the data format has columns (%ld); put names with "
                     "blanks in quotes, write decimals with a point",
                     walk->place, word->line, word->at, format->fields);
}

static Status read_value(Walk *walk, Format *format, Row *row, const Word *word)
{
    if (!word->start) return word_fault(walk, word, "END_DATA is missing; the file is cut short");
    if (row->values == format->fields || format->sets == 0) {
        Status status = check_row_start(walk, format, row, word);
        if (status) return status;
        *row = (Row){.line = word->line};
        format->sets++;
    }
    if (format->sets > SETS_MOST || format->sets * format->fields > CELLS_MOST)
        return word_fault(walk, word, "too much data; check that it is the right file");
    row->values++;
    row->on_first_line += word->line == row->line;
    row->last_line = word->line;
    return csv_append(format->table, word->start, word->length, word->line, word->at, walk->fault);
}

static Status check_sets(const Walk *walk, const Format *format)
{
    const long said = count_of(&format->said_sets);
    if (format->sets == 0)
        return fault_set(walk->fault, STATUS_DATA, "%s:%d: there is no data; give a row a colour",
                         walk->place, format->data_line);
    if (said < 0)
        return fault_set(
            walk->fault, STATUS_DATA,
            "%s:%d: NUMBER_OF_SETS is missing; write NUMBER_OF_SETS %ld above this line",
            walk->place, format->data_line, format->sets);
    if (said == format->sets) return STATUS_OK;
    return fault_set(walk->fault, STATUS_DATA,
                     "%s:%d:%d: NUMBER_OF_SETS is %ld, but there are %ld rows of data; correct one "
                     "of them",
                     walk->place, format->said_sets.line, format->said_sets.at, said, format->sets);
}

static Status read_data(Walk *walk, Format *format)
{
    Row row = {.last_line = format->data_line};
    for (;;) {
        Word word;
        Status status = next_word(walk, &word);
        if (status) return status;
        if (word_is(&word, "END_DATA")) break;
        status = read_value(walk, format, &row, &word);
        if (status) return status;
    }
    if (format->sets == 0 || row.values == format->fields) return check_sets(walk, format);
    return fault_set(walk->fault, STATUS_DATA,
                     "%s:%d: the last row has %ld values, where the data format lists %ld columns; "
                     "complete it",
                     walk->place, row.line, row.values, format->fields);
}

/* lcms2 may read a directive where the walk sees something else, so none may stand
 * anywhere. */
static Status refuse_directives(Walk *walk)
{
    static const char *const refused[] = {".INCLUDE", "$INCLUDE"};
    Walk scan = *walk;
    for (; scan.next < scan.end; walk_step(&scan)) {
        for (int i = 0; i < 2; i++) {
            char text[9] = "";
            if (scan.end - scan.next < 8 || (*scan.next != '.' && *scan.next != '$')) continue;
            memcpy(text, scan.next, 8);
            if (!text_same(text, refused[i])) continue;
            const Word word = {.line = scan.line, .at = scan.at};
            return word_fault(walk, &word,
                              "a directive that would open another file; put all into one file");
        }
    }
    return STATUS_OK;
}

static Status read_words(Walk *walk, Format *format)
{
    Status status = refuse_directives(walk);
    if (!status) status = read_header(walk, format);
    if (!status) status = read_fields(walk, format);
    if (!status) status = read_between(walk, format);
    if (!status) status = read_data(walk, format);
    return status;
}

static Status refuse_doubles(Walk *walk, const Csv *table)
{
    for (int i = 0; i < csv_columns(table); i++) {
        char clip[TEXT_CLIP];
        if (csv_column(table, csv_name(table, i)) == i) continue;
        return fault_set(walk->fault, STATUS_DATA,
                         "%s:%d: the data format lists %s twice; list each column once",
                         walk->place, csv_header_line(table), text_clip(clip, csv_name(table, i)));
    }
    return STATUS_OK;
}

/* ---- lcms2's memory and messages ---- */

/* Stands before the bytes that lcms2 gets. */
typedef struct Block {
    alignas(max_align_t) struct Block *before;
    struct Block *after;
    size_t size;
} Block;

typedef struct Room {
    Block ring; /* of all blocks that lcms2 holds */
    bool armed; /* a failed allocation leaves by `out` */
    jmp_buf out;
    char said[256]; /* lcms2's first message */
    cmsContext context;
    cmsHANDLE sheet;
} Room;

static void *room_give(cmsContext context, cmsUInt32Number size)
{
    Room *room = cmsGetContextUserData(context);
    Block *block = memory_create(1, sizeof(Block) + size);
    if (!block && room && room->armed) longjmp(room->out, 1);
    if (!block) return NULL;
    block->size = size;
    block->before = block->after = block;
    if (room) {
        block->before = &room->ring;
        block->after = room->ring.after;
        block->after->before = room->ring.after = block;
    }
    return block + 1;
}

static void room_take(cmsContext context, void *bytes)
{
    (void)context;
    if (!bytes) return;
    Block *block = (Block *)bytes - 1;
    block->before->after = block->after;
    block->after->before = block->before;
    memory_free(block);
}

static void *room_change(cmsContext context, void *bytes, cmsUInt32Number size)
{
    char *wider = room_give(context, size);
    if (!wider || !bytes) return wider;
    const Block *block = (const Block *)bytes - 1;
    memcpy(wider, bytes, block->size < size ? block->size : size);
    room_take(context, bytes);
    return wider;
}

static void room_hear(cmsContext context, cmsUInt32Number code, const char *text)
{
    (void)code;
    Room *room = cmsGetContextUserData(context);
    if (room && !room->said[0]) snprintf(room->said, sizeof room->said, "%s", text);
}

static Status room_open(Room *room, Fault *fault)
{
    cmsPluginMemHandler memory = {
        .base = {.Magic = cmsPluginMagicNumber,
                 .ExpectedVersion = 2000,
                 .Type = cmsPluginMemHandlerSig},
        .MallocPtr = room_give,
        .FreePtr = room_take,
        .ReallocPtr = room_change,
    };
    *room = (Room){0};
    room->ring.before = room->ring.after = &room->ring;
    room->context = cmsCreateContext(&memory, room);
    if (!room->context) return memory_fault(fault, 1, sizeof(Room));
    cmsSetLogErrorHandlerTHR(room->context, room_hear);
    return STATUS_OK;
}

static void room_close(Room *room)
{
    room->armed = false;
    if (room->sheet) cmsIT8Free(room->sheet);
    if (room->context) cmsDeleteContext(room->context);
    /* What lcms2 held when it was left. */
    while (room->ring.after != &room->ring) room_take(NULL, room->ring.after + 1);
}

/* ---- Reading ---- */

/* lcms2 takes a first line for the sheet's name only in some shapes and refuses
 * others without a word: it is given one, so its lines are one ahead of the file's. */
static const char sheet_line[] = "CGATS.17\n";

static char *put_text(char *next, const char *text, size_t length)
{
    memcpy(next, text, length);
    return next + length;
}

/* The text down to BEGIN_DATA as it stands, then each value in quotes of the kind
 * that it does not hold. */
static char *text_for_lcms2(const char *start, const Format *format, size_t *length_out)
{
    const Csv *table = format->table;
    const size_t head = (size_t)(format->data - start);
    size_t room = strlen(sheet_line) + head + strlen("\nEND_DATA\n") + 1;
    for (size_t row = 0; row < csv_rows(table); row++)
        for (int i = 0; i < csv_columns(table); i++) room += strlen(csv_field(table, row, i)) + 3;
    char *text = memory_create(room, 1);
    if (!text) return NULL;
    char *next = put_text(text, sheet_line, strlen(sheet_line));
    next = put_text(next, start, head);
    for (size_t row = 0; row < csv_rows(table); row++)
        for (int i = 0; i < csv_columns(table); i++) {
            const char *field = csv_field(table, row, i);
            const char quote = strchr(field, '"') ? '\'' : '"';
            *next++ = i ? ' ' : '\n';
            *next++ = quote;
            next = put_text(next, field, strlen(field));
            *next++ = quote;
        }
    next = put_text(next, "\nEND_DATA\n", strlen("\nEND_DATA\n"));
    *length_out = (size_t)(next - text);
    return text;
}

/* "...: Line 7, what" becomes "place:6: what". */
static Status fault_heard(const Room *room, const char *place, Fault *fault)
{
    const char *line = strstr(room->said, "Line "), *what = line ? strchr(line, ',') : NULL;
    if (!what)
        return fault_set(fault, STATUS_DATA, "%s: not a CGATS.17 table (%s); export it anew", place,
                         room->said[0] ? room->said : "no reason is known");
    const long number = atol(line + 5) - 1;
    what += 1 + strspn(what + 1, " ");
    return fault_set(fault, STATUS_DATA, "%s:%ld: not CGATS.17: %.*s; correct this line", place,
                     number > 0 ? number : 1, (int)strcspn(what, "\n"), what);
}

static Status load(Room *room, const char *text, size_t length, Fault *fault)
{
    if (setjmp(room->out)) {
        room->sheet = NULL; /* half-made; its blocks are in the ring */
        return memory_fault(fault, 1, length);
    }
    room->armed = true;
    room->sheet = cmsIT8LoadFromMem(room->context, text, (cmsUInt32Number)length);
    room->armed = false;
    return STATUS_OK;
}

/* For an empty text, lcms2 2.14 gives the one before. */
static bool is_same_table(const Room *room, const Csv *table)
{
    const int fields = csv_columns(table), rows = (int)csv_rows(table);
    if (cmsIT8EnumDataFormat(room->sheet, NULL) != fields) return false;
    for (int i = 0; i < rows * fields; i++) {
        const char *mine = csv_field(table, (size_t)(i / fields), i % fields);
        const char *theirs = cmsIT8GetDataRowCol(room->sheet, i / fields, i % fields);
        if (!theirs || (*mine && strcmp(mine, theirs))) return false;
    }
    return cmsIT8GetDataRowCol(room->sheet, rows, 0) == NULL;
}

static void note_viewing(const Room *room, const char *place, const Voice *voice)
{
    const char *key = "WEIGHTING_FUNCTION";
    const char *white = cmsIT8GetPropertyMulti(room->sheet, key, "ILLUMINANT");
    const char *observer = cmsIT8GetPropertyMulti(room->sheet, key, "OBSERVER");
    char clip[TEXT_CLIP];
    if (white && !text_same(white, "D50"))
        voice_note(voice, "%s: measured for illuminant %s; its Lab is taken as D50", place,
                   text_clip(clip, white));
    if (observer && strncmp(observer, "2", 1) != 0)
        voice_note(voice, "%s: measured for the %s observer; its Lab is taken as 2 degree", place,
                   text_clip(clip, observer));
}

static Status ask_lcms2(const char *start, const Format *format, const char *place,
                        const Voice *voice, Fault *fault)
{
    size_t length = 0;
    char *text = text_for_lcms2(start, format, &length);
    if (!text) return memory_fault(fault, csv_rows(format->table), sizeof(char *));
    Room room;
    Status status = room_open(&room, fault);
    if (!status) {
        status = load(&room, text, length, fault);
        if (!status && (!room.sheet || room.said[0])) status = fault_heard(&room, place, fault);
        if (!status && !is_same_table(&room, format->table))
            status = fault_set(fault, STATUS_DATA,
                               "%s: the table can be read in two ways; export it with plain names",
                               place);
        if (!status) note_viewing(&room, place, voice);
        room_close(&room);
    }
    memory_free(text);
    return status;
}

static void note_further(Walk *walk, const Voice *voice)
{
    Word word = {0};
    walk->fault = NULL;
    if (next_word(walk, &word) == STATUS_OK && word.start)
        voice_note(voice, "%s:%d: only the first table is read; what follows is left out",
                   walk->place, word.line);
}

Status cgats_parse(Csv **table_out, const char *bytes, size_t length, const char *place,
                   const Voice *voice, Fault *fault)
{
    if (length > TEXT_MOST)
        return fault_set(fault, STATUS_DATA,
                         "%s: more than %d MiB; check that it is the right file", place,
                         TEXT_MOST >> 20);
    Status status = text_check(bytes, length, place, fault);
    if (status) return status;
    const char *start = bytes + text_mark(bytes, length);
    Walk walk = {start, bytes + length, place, 1, 1, fault};
    Format format = {0};
    status = csv_create(&format.table, place, fault);
    if (status) return status;
    status = read_words(&walk, &format);
    if (!status) {
        csv_close(format.table, (int)format.fields);
        status = refuse_doubles(&walk, format.table);
    }
    if (!status) status = ask_lcms2(start, &format, place, voice, fault);
    if (status) {
        csv_free(format.table);
        return status;
    }
    note_further(&walk, voice);
    *table_out = format.table;
    return STATUS_OK;
}

int cgats_recognise(const char *bytes, size_t length)
{
    static const char *const first[] = {"CGATS", "IT8", "ISO28178"};
    static const char *const keyword[] = {"NUMBER_OF_FIELDS", "NUMBER_OF_SETS", "BEGIN_DATA_FORMAT",
                                          "END_DATA_FORMAT", "BEGIN_DATA"};
    const size_t mark = text_mark(bytes, length);
    Walk walk = {bytes + mark, bytes + length, "", 1, 1, NULL};
    skip_space(&walk);
    const size_t left = (size_t)(walk.end - walk.next);
    for (size_t i = 0; i < sizeof first / sizeof *first; i++) {
        const size_t size = strlen(first[i]);
        if (left >= size && memcmp(walk.next, first[i], size) == 0) return 1;
    }
    while (walk.next < walk.end) {
        Word word = {.start = walk.next};
        while (is_bare(&walk)) walk.next++;
        word.length = (size_t)(walk.next - word.start);
        for (size_t i = 0; i < sizeof keyword / sizeof *keyword; i++)
            if (word_is(&word, keyword[i])) return 1;
        while (walk.next < walk.end && !is_line_end(*walk.next)) walk.next++;
        skip_space(&walk);
    }
    return 0;
}

/* ---- Writing ---- */

/* lcms2 quotes a text that holds a blank and no other, and escapes nothing. So a text
 * without blanks brings its own quotes, of the kind that it does not hold; where
 * that cannot be, double quotes within become single ones. */
static char *quoted(const char *text)
{
    const size_t length = strlen(text);
    const bool blank = strchr(text, ' ');
    const bool single = !blank && strchr(text, '"') && !strchr(text, '\'');
    char *out = memory_create(length + 3, 1);
    if (!out) return NULL;
    char *next = out;
    if (!blank) *next++ = single ? '\'' : '"';
    for (size_t i = 0; i < length; i++) *next++ = text[i] == '"' && !single ? '\'' : text[i];
    if (!blank) *next++ = single ? '\'' : '"';
    return out;
}

static Status fill_cells(Room *room, const CgatsTable *table)
{
    for (int i = 0; i < table->rows * table->fields; i++) {
        double value;
        const char *text = table->cell[i];
        const int row = i / table->fields, field = i % table->fields;
        const bool plain = number_parse(text, &value) && field > 0;
        char *own = plain ? NULL : quoted(text);
        if (!plain && !own) return STATUS_NO_RESOURCE;
        /* Not through lcms2's pointers: a jump out of it must not lose `own`. */
        char cell[512];
        snprintf(cell, sizeof cell, "%s", plain ? text : own);
        memory_free(own);
        if (!cmsIT8SetDataRowCol(room->sheet, row, field, cell)) return STATUS_INTERNAL;
    }
    return STATUS_OK;
}

/* lcms2 puts a header's text in double quotes. */
static void set_descriptor(Room *room, const char *text)
{
    char plain[240];
    snprintf(plain, sizeof plain, "%s", text);
    for (char *c = plain; *c; c++)
        if (*c == '"' || (unsigned char)*c < 0x20) *c = '\'';
    cmsIT8SetPropertyStr(room->sheet, "DESCRIPTOR", plain);
}

static Status fill_sheet(Room *room, const CgatsTable *table)
{
    room->sheet = cmsIT8Alloc(room->context);
    if (!room->sheet) return STATUS_NO_RESOURCE;
    cmsIT8SetSheetType(room->sheet, "CGATS.17");
    cmsIT8SetPropertyStr(room->sheet, "ORIGINATOR", "rowlock");
    set_descriptor(room, table->descriptor);
    cmsIT8SetPropertyMulti(room->sheet, "WEIGHTING_FUNCTION", "ILLUMINANT", "D50");
    cmsIT8SetPropertyMulti(room->sheet, "WEIGHTING_FUNCTION", "OBSERVER", "2 degree");
    cmsIT8SetPropertyDbl(room->sheet, "NUMBER_OF_FIELDS", table->fields);
    cmsIT8SetPropertyDbl(room->sheet, "NUMBER_OF_SETS", table->rows);
    for (int i = 0; i < table->fields; i++) {
        if (!cmsIT8SetDataFormat(room->sheet, i, table->field[i])) return STATUS_INTERNAL;
    }
    return fill_cells(room, table);
}

static Status save(Room *room, char **bytes_out, size_t *length_out, const CgatsTable *table)
{
    if (setjmp(room->out)) {
        room->sheet = NULL;
        return STATUS_NO_RESOURCE;
    }
    room->armed = true;
    Status status = fill_sheet(room, table);
    room->armed = false;
    cmsUInt32Number size = 0;
    if (status || !cmsIT8SaveToMem(room->sheet, NULL, &size))
        return status ? status : STATUS_INTERNAL;
    char *bytes = memory_create((size_t)size + 1, 1);
    if (!bytes) return STATUS_NO_RESOURCE;
    cmsIT8SaveToMem(room->sheet, bytes, &size);
    *bytes_out = bytes;
    *length_out = strlen(bytes);
    return STATUS_OK;
}

Status cgats_write(char **bytes_out, size_t *length_out, const CgatsTable *table, Fault *fault)
{
    Room room;
    Status status = room_open(&room, fault);
    if (status) return status;
    status = save(&room, bytes_out, length_out, table);
    room_close(&room);
    if (status == STATUS_NO_RESOURCE)
        return memory_fault(fault, (size_t)table->rows, (size_t)table->fields);
    if (status)
        return fault_set(fault, status,
                         "palette: cannot be written as CGATS.17 (%s); shorten names", room.said);
    return STATUS_OK;
}
