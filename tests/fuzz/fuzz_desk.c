/* Fuzz entry for the desk's handlers: any query and any body get an answer, and none of them writes
 * but in the desk's folders. An input is requests, one after another:
 *
 *     POST /change?a=b\n{"settings": …}RECORD GET /view?view=bricks
 *
 * They come to one of two desks: a mural of a few cells that is planned all the while, and one that
 * is told no picture, to which whatever names a size comes, so that nothing large is planned. */
#include "base/memory.h"
#include "desk/routes.h"
#include "support/scratch.h"

#include <dirent.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

enum { RECORD = 0x1e }; /* between two requests; the record separator of ASCII */

static struct Table {
    const char *folder, *operand;
    Commission commission;
} tables[] = {{.folder = "mural.desk"}, {.folder = "dots.desk", .operand = "dots.ini"}};
enum { TABLES = sizeof tables / sizeof *tables };
#define PICTURE "dots.ppm"

static Entry entry;
static Pairing pairing;
static char room[SCRATCH_MOST];

static void remove_room(void)
{
    if (!chdir("/")) scratch_clear(room);
}

static void wake(void *self) { (void)self; }

static void close_tables(void)
{
    for (int i = 0; i < TABLES; i++) commission_close(&tables[i].commission);
}

static void write_text(const char *name, const char *text)
{
    FILE *file = fopen(name, "wb");
    if (!file || fputs(text, file) < 0 || fclose(file)) abort();
}

static void open_tables(void)
{
    Fault fault;
    for (int i = 0; i < TABLES; i++)
        if (commission_open(&tables[i].commission, tables[i].operand, wake, NULL, &fault)) abort();
}

static void open_once(void)
{
    Fault fault;
    if (*room) return;
    if (!scratch_folder(room) || chdir(room)) abort();
    atexit(remove_room);
    write_text(PICTURE, "P3 4 3 9\n0 0 0 9 9 9 9 0 0 0 9 0 0 0 9 9 9 0 5 5 5 2 2 2 7 1 3 1 7 3 3 1 "
                        "7 4 4 4\n");
    write_text("dots.ini", "[Run]\nreference = " PICTURE "\nlimit = 0.01\nthreads = 1\n"
                           "[Size]\ncolumns = 12\n[Quote]\nbook = no\nquote = no\n");
    open_tables();
    if (entry_init(&entry, 4711, &fault) || pairing_init(&pairing, 1, &fault)) abort();
    entry.pairing = &pairing;
}

/* Nothing is in the room but what was put there, and the desks' folders. */
static void look_through_the_room(void)
{
    static const char *const ours[] = {".", "..", PICTURE, "dots.ini", "mural.desk", "dots.desk"};
    DIR *dir = opendir(room);
    if (!dir) abort();
    for (struct dirent *e; (e = readdir(dir));) {
        bool known = false;
        for (size_t i = 0; i < sizeof ours / sizeof *ours; i++)
            known |= !strcmp(e->d_name, ours[i]);
        if (!known) abort();
    }
    closedir(dir);
}

/* New desks in the place of those that have many versions. */
static void clear_tables(void)
{
    enum { VERSIONS = 200 };
    int most = 0;
    for (int i = 0; i < TABLES; i++) {
        const int count = trail_count(tables[i].commission.trail);
        if (count > most) most = count;
    }
    if (most < VERSIONS) return;
    look_through_the_room();
    close_tables();
    for (int i = 0; i < TABLES; i++) scratch_clear(tables[i].folder);
    open_tables();
}

/* ---- a request ---- */

/* "a=b&c" as MHD hands it on, without its percent signs. */
static void split_query(Ask *ask, char *query)
{
    char *end = NULL;
    for (char *part = strtok_r(query, "&", &end); part && ask->fields < ASK_FIELDS;
         part = strtok_r(NULL, "&", &end)) {
        char *equals = strchr(part, '=');
        if (equals) *equals++ = 0;
        /* Large pictures take long under sanitizers and are drawn alike. */
        if (equals && !strcmp(part, "pixels") && strlen(equals) > 3) equals[3] = 0;
        ask->field[ask->fields][0] = part;
        ask->field[ask->fields++][1] = equals;
    }
}

/* The route that a request line names, its method and path ended there; NULL: none. */
static const Route *route_of(char *line, char **query_out)
{
    char *path = strchr(line, ' ');
    if (!path) return NULL;
    *path++ = 0;
    *query_out = path + strcspn(path, "?");
    if (**query_out) *(*query_out)++ = 0;
    const Head head = {.method = line,
                       .path = path,
                       .host = "127.0.0.1:4711",
                       .type = "application/json",
                       .cookie = entry.token};
    int at = -1;
    const Service service = desk_service(NULL);
    Door doors[ROUTES_MOST];
    for (int i = 0; i < service.routes; i++) {
        doors[i] = service.route[i].door;
        if (doors[i].type) doors[i].type = "*";
    }
    return entry_check(&entry, doors, service.routes, &head, &at) == 200 ? &service.route[at]
                                                                         : NULL;
}

/* Files that are sent lie in the desk's folder, or are the picture that the command line named. */
static void check_path(const struct Table *table, const char *path)
{
    const size_t length = strlen(table->folder);
    if (!path || !strcmp(path, "dots.desk/../" PICTURE)) return;
    if (strncmp(path, table->folder, length) != 0 || path[length] != '/' || strstr(path, ".."))
        abort();
}

static void answer(struct Table *table, const Route *route, Ask *ask)
{
    Commission *c = &table->commission;
    void *held = NULL;
    Answer given;
    ask->held = &held;
    commission_refresh(c);
    while ((given = route->answer(c, ask)).status == ANSWER_LATER) usleep(50);
    check_path(table, given.path);
    (given.release ? given.release : memory_free)(given.bytes);
    memory_free(given.path);
    viewer_drop(c->viewer, held);
}

static void request(struct Table *table, char *text, size_t length)
{
    Fault fault;
    Incoming upload = {0};
    Ask ask = {.waited = NEWS_WAIT, .entry = &entry};
    char *query = NULL, *body = memchr(text, '\n', length);
    if (body) *body++ = 0;
    const Route *route = route_of(text, &query);
    if (!route) return;
    split_query(&ask, query);
    if (body) {
        ask.body = body;
        ask.length = (size_t)(text + length - body);
    }
    if (body && route->upload && !incoming_begin(&upload, table->commission.folder.path, &fault)) {
        incoming_add(&upload, body, ask.length, &fault);
        ask.upload = &upload;
    }
    answer(table, route, &ask);
    incoming_drop(&upload);
}

static bool names_a_size(const char *text, size_t length)
{
    static const char *const names[] = {"columns", "rows",   "width",     "height",   "pitch",
                                        "panel",   "pieces", "thickness", "reference"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (memmem(text, length, names[i], strlen(names[i]))) return true;
    return false;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    enum { MOST = 4096 };
    char text[MOST + 1];
    if (length < 1 || length > MOST) return 0;
    open_once();
    clear_tables();
    memcpy(text, bytes, length);
    struct Table *table = &tables[!names_a_size(text, length)];
    for (char *from = text, *end = text + length, *next; from < end; from = next + 1) {
        next = memchr(from, RECORD, (size_t)(end - from));
        if (!next) next = end;
        *next = 0;
        request(table, from, (size_t)(next - from));
    }
    return 0;
}
