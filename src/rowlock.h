/* rowlock: plans murals of rectangular bricks.
 *
 *     RowlockJob *job = NULL;
 *     RowlockFault fault;
 *     RowlockStatus status = rowlock_job_create(&job, &fault);
 *     if (!status) status = rowlock_job_set(job, "reference", "harbour.png", NULL, &fault);
 *     if (!status) status = rowlock_job_set(job, "width", "1.6m", NULL, &fault);
 *     if (!status) status = rowlock_job_set(job, "out", "harbour", NULL, &fault);
 *     if (!status) status = rowlock_plan(job, NULL, &fault);
 *     if (status) fprintf(stderr, "%s\n", fault.text);
 *     rowlock_job_free(job);
 *
 * Build it with `pkg-config --cflags --static --libs rowlock`.
 *
 * What holds for every function:
 *
 * - A function that can fail returns a status, 0 where all went well, and says why in a fault
 *   that its caller owns; a NULL fault is allowed. Arguments are borrowed for the length of the
 *   call. Unless a comment says otherwise they must not be NULL.
 * - Texts are UTF-8 and end with a 0. Paths are bytes as the system takes them.
 * - Nothing is printed and nothing exits; the caller hears of the work through a voice. Files are
 *   written to the job's `out` alone; a run that fails or is stopped leaves what was there.
 * - The same job gives the same bytes for any number of threads, locale, time zone and clock.
 * - Pages are drawn in child processes (fork), which have ended when the call returns; a caller
 * that waits for any child may see theirs, and no thread of the caller may use cairo meanwhile.
 * - Two jobs may run in two threads at once. One job may be run in several too, as long as none
 *   changes it. Job files are read by one thread at a time. */
#ifndef ROWLOCK_H
#define ROWLOCK_H

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The functions below are all that the library shows. */
#if defined(__GNUC__)
#define ROWLOCK_API __attribute__((visibility("default")))
#else
#define ROWLOCK_API
#endif

/* The version of this header; what the library says of itself may differ. */
#define ROWLOCK_VERSION "0.1.0"
#define ROWLOCK_DATE "2026-11-30" /* the day of this version */

/* The version of the library, such as "0.1.0"; static. */
ROWLOCK_API const char *rowlock_version(void);

/* What a part of the library is. */
typedef enum RowlockPartKind {
    ROWLOCK_LIBRARY, /* one that it rests on */
    ROWLOCK_FEATURE, /* what depends on how it was built, and where it runs */
    ROWLOCK_FORMAT   /* of its own files; it reads those of earlier versions too */
} RowlockPartKind;

typedef struct RowlockPart {
    RowlockPartKind kind;
    const char *name; /* "libpng", "plan.json"; static */
    char version[96]; /* of a feature what there is of it; empty where it tells none */
} RowlockPart;

/* Describes the part of this index, from 0; false beyond the last, and *part_out is as it was. */
ROWLOCK_API bool rowlock_part_at(size_t index, RowlockPart *part_out);

/* ---- status and fault ---- */

/* How a call went. The values are exit codes of a command too, from 64 on those of sysexits.h. */
typedef enum RowlockStatus {
    ROWLOCK_OK = 0,
    ROWLOCK_UNHELD = 1,       /* done, but some promise of the wall does not hold */
    ROWLOCK_USAGE = 64,       /* a request that makes no sense */
    ROWLOCK_DATA = 65,        /* input that is there but wrong */
    ROWLOCK_NO_INPUT = 66,    /* input that is not there */
    ROWLOCK_NO_RESOURCE = 69, /* memory, a missing library or font */
    ROWLOCK_INTERNAL = 70,    /* a defect of the library */
    ROWLOCK_NO_CREATE = 73,   /* output that cannot be created */
    ROWLOCK_IO = 74,          /* reading or writing broke off */
    ROWLOCK_INTERRUPTED = 75  /* the voice asked to stop; nothing is half-written */
} RowlockStatus;

/* Bytes of the longest fault's text, its end included. */
enum { ROWLOCK_FAULT_TEXT = 600 };

/* What went wrong. Every call that takes one fills it, also where all went well. */
typedef struct RowlockFault {
    RowlockStatus status; /* as returned */
    /* "WHERE: WHAT; HOW TO MEND IT", one line without its end and without control characters;
     * empty where nothing went wrong, or where the voice's notes have said it already. */
    char text[ROWLOCK_FAULT_TEXT];
} RowlockFault;

/* ---- voice ---- */

/* How the library speaks while it works, and how it is told to stop: callbacks of the caller,
 * each given `self`. A NULL one is silence, or never stops; so is a NULL voice. Texts are the
 * library's and last for the call. Calls may come from any of the library's threads; all but
 * `stopped` come one at a time. A callback must not change the job that is being run. */
typedef struct RowlockVoice {
    void *self;
    /* One line that the user should read: an assumption, a column left out. */
    void (*note)(void *self, const char *text);
    /* A stage's name, such as "laying", and how much of it is done, 0 to 1. */
    void (*progress)(void *self, const char *stage, double done);
    /* rowlock_check, one line for a promise that does not hold; rowlock_inspect, for a brick. */
    void (*broken)(void *self, const char *line);
    /* True once the user wants out. Asked often, from several threads at once; must be quick. */
    bool (*stopped)(void *self);
} RowlockVoice;

/* ---- settings ---- */

/* What a setting's text may be. */
typedef enum RowlockSettingType {
    ROWLOCK_TEXT,
    ROWLOCK_FILE,   /* a path; "-" is standard input, or of `out` standard output */
    ROWLOCK_WHOLE,  /* a whole number in digits */
    ROWLOCK_NUMBER, /* digits, with a decimal point if need be, whatever the locale */
    ROWLOCK_LENGTH, /* a number and mm, cm, m or in */
    ROWLOCK_MASS,   /* a number and g, kg or lb */
    ROWLOCK_BYTES,  /* a number and MB, GB or TB, of memory */
    ROWLOCK_CHOICE, /* one of a few words */
    ROWLOCK_SWITCH  /* yes or no */
} RowlockSettingType;

/* What can be said of a setting. The texts are static. */
typedef struct RowlockSetting {
    const char *name; /* "brick-height": the key in job files too */
    RowlockSettingType type;
    const char *fallback; /* its value in a new job; "" and "0" are "not given" */
    const char *value;    /* how help shows the value, such as "LENGTH"; NULL for a switch */
    const char *choices;  /* of a choice "none|floyd-steinberg|..."; of a whole number the word that
                             leaves it to be found; else NULL */
    double least, most;   /* range of numbers, in millimetres, kilograms and MB */
    const char *group;    /* heading in help */
    const char *help;     /* one line */
    const char *rival;    /* a setting that says the same in another way, or NULL */
} RowlockSetting;

/* Describes the setting of this index, from 0, in the order of help; false beyond the last,
 * and *setting_out is as it was. */
ROWLOCK_API bool rowlock_setting_at(size_t index, RowlockSetting *setting_out);

/* ---- job ---- */

/* Everything that a plan is made from: a value for each setting. */
typedef struct RowlockJob RowlockJob;

/* A job with every setting at its fallback. The caller frees *job_out with rowlock_job_free.
 * Fault: no memory; *job_out is NULL then. */
ROWLOCK_API RowlockStatus rowlock_job_create(RowlockJob **job_out, RowlockFault *fault);

/* NULL allowed. */
ROWLOCK_API void rowlock_job_free(RowlockJob *job);

/* Sets one setting from text, as its type has it; its rival is unset. `where` names the place
 * in faults, such as "--pitch"; NULL: the setting's name. Faults, all ROWLOCK_USAGE: no such
 * setting, text that is not of its type, out of range, longer than the setting holds (1023 bytes
 * for a path). The setting may be unset then. */
ROWLOCK_API RowlockStatus rowlock_job_set(RowlockJob *job, const char *name, const char *text,
                                          const char *where, RowlockFault *fault);

/* Sets what a job file names: an INI file whose keys are settings and whose sections are the
 * user's own; relative paths are taken from its folder. "-" is standard input. It may name paths
 * anywhere, `out` too: whoever runs the files of others looks at it with rowlock_job_show before.
 * Faults: missing (ROWLOCK_NO_INPUT), a key that is no setting, or stands twice, or beside its
 * rival, a value that rowlock_job_set would refuse (ROWLOCK_DATA). What stands before the fault has
 * been set. */
ROWLOCK_API RowlockStatus rowlock_job_read(RowlockJob *job, const char *path, RowlockFault *fault);

/* Sets what a finished plan was made with, for rowlock_replan. What may have changed since is left
 * open: reference, palette, stock and cells. Faults: no plan in the folder (ROWLOCK_NO_INPUT),
 * one that cannot be read (ROWLOCK_DATA). */
ROWLOCK_API RowlockStatus rowlock_job_read_plan(RowlockJob *job, const char *folder,
                                                RowlockFault *fault);

/* The most bytes of a setting's text, its end included. */
enum { ROWLOCK_SETTING_TEXT = 1024 };

/* The setting's value as text that rowlock_job_set reads back to the same value; "" or "0" where
 * it is not given. Fault: no such setting (ROWLOCK_USAGE); the text is empty then. */
ROWLOCK_API RowlockStatus rowlock_job_show(const RowlockJob *job, const char *name,
                                           char text_out[ROWLOCK_SETTING_TEXT],
                                           RowlockFault *fault);

/* A colour of the palette. */
typedef struct RowlockColour {
    char id[17], name[121]; /* UTF-8 */
    unsigned char srgb[3];
    double lab[3]; /* D50 */
    long cells;    /* of the face that are in it; 0 where there is no face */
    double within; /* of lab nine of ten such colours lie, CIEDE2000; 0: the file does not tell */
} RowlockColour;

/* The colours of the job's palette, in its order, or those of a plan without one. The caller frees
 * *colours_out with rowlock_colours_free; it is NULL after a fault. Faults: the palette is missing
 * (ROWLOCK_NO_INPUT) or cannot be read (ROWLOCK_DATA), no memory. */
ROWLOCK_API RowlockStatus rowlock_job_colours(const RowlockJob *job, RowlockColour **colours_out,
                                              size_t *count_out, RowlockFault *fault);
ROWLOCK_API void rowlock_colours_free(RowlockColour *colours); /* NULL allowed */

/* ---- runs ---- */

/* Settings that a run does not ask for count for nothing in it. Faults that all of them know: a
 * setting that the run cannot do without is not given, or settings that make no sense together
 * (ROWLOCK_USAGE); input that is missing (ROWLOCK_NO_INPUT) or wrong (ROWLOCK_DATA); `out` cannot
 * be written (ROWLOCK_NO_CREATE, ROWLOCK_IO); no memory (ROWLOCK_NO_RESOURCE); stopped
 * (ROWLOCK_INTERRUPTED). */

/* Plans a mural from the picture `reference` into the folder `out`, where an earlier plan is
 * replaced whole. Needs columns, rows, width or height, or cells. ROWLOCK_UNHELD: the plan is
 * written, but some brick cannot be made to hold; notes say which. */
ROWLOCK_API RowlockStatus rowlock_plan(const RowlockJob *job, const RowlockVoice *voice,
                                       RowlockFault *fault);

/* Plans a mural that is under way anew: what `built` names of the plan in `folder` stays as it
 * is, brick for brick, and the whole goes into `out`, which may be the same folder. The job
 * starts from rowlock_job_read_plan of that folder. Returns as rowlock_plan does. */
ROWLOCK_API RowlockStatus rowlock_replan(const RowlockJob *job, const char *folder,
                                         const RowlockVoice *voice, RowlockFault *fault);

/* Several values of one setting, to be tried one after another. */
typedef struct RowlockChoices {
    const char *setting; /* its name */
    size_t count;        /* of texts, 1 to ROWLOCK_CHOICES_MOST */
    const char *const *text;
} RowlockChoices;

enum {
    ROWLOCK_CHOICES_MOST = 64, /* texts of one setting */
    ROWLOCK_KINDS_MOST = 8,    /* settings that have several */
    ROWLOCK_COMPARED_MOST = 256
};

/* Plans every combination of the choices on top of the job, `kinds` of them, at most
 * ROWLOCK_COMPARED_MOST combinations, and puts compare.png, compare.pdf and compare.csv into the
 * folder `out`. The first kind varies slowest; choices may be NULL where kinds is 0. Needs what
 * rowlock_plan needs. */
ROWLOCK_API RowlockStatus rowlock_compare(const RowlockJob *job, const RowlockChoices *choices,
                                          size_t kinds, const RowlockVoice *voice,
                                          RowlockFault *fault);

/* Picks the colours of the palette, `colours` of them, that serve the pictures best, and writes
 * them to the file `out` as CGATS.17; beside it stand its stem with -curve.csv and -curve.png.
 * `references` are paths, `count` of them; with 0 of them (NULL allowed) the picture is the
 * job's. An `out` of "-" is standard output, the one case in which the library prints. */
ROWLOCK_API RowlockStatus rowlock_pick(const RowlockJob *job, const char *const *references,
                                       size_t count, const RowlockVoice *voice,
                                       RowlockFault *fault);

/* Measures bricks: reads from photographs, `count` of them, at most 64, in which a colour chart or
 * a grey card lies beside bricks, what colours these are, and writes them to the file `out` as
 * CGATS.17 with LAB_L, LAB_A, LAB_B (D50) and STDEV_DE, how sure each is. Needs patches; chart,
 * chart-values, chart-grid, grey, white and into count. Faults (ROWLOCK_DATA) where a photograph
 * cannot be trusted: clipped, shining, lit by two colours, missed by the fit; then nothing is
 * written. An `out` of "-" is standard output. */
ROWLOCK_API RowlockStatus rowlock_measure(const RowlockJob *job, const char *const *photos,
                                          size_t count, const RowlockVoice *voice,
                                          RowlockFault *fault);

/* Plans an exhibition into the folder `out`: the murals that the INI file `file` tells of, each an
 * ordinary plan in a folder of its name, and what they take together. Only those are planned that
 * are not there yet or were made from something else; a run that is stopped keeps those that were
 * done. Of the job `out`, `threads` and `memory` count. ROWLOCK_UNHELD: all is written, but some
 * brick of a mural cannot be made to hold. */
ROWLOCK_API RowlockStatus rowlock_exhibition(const RowlockJob *job, const char *file,
                                             const RowlockVoice *voice, RowlockFault *fault);

/* What a photograph tells of a brick. */
typedef enum RowlockVerdict {
    ROWLOCK_RIGHT,
    ROWLOCK_WRONG,   /* it shows another colour of the palette */
    ROWLOCK_MISSING, /* it shows what lies behind, or no colour of the palette */
    ROWLOCK_SHIFTED, /* it lies a cell off its place, or is too short */
    ROWLOCK_UNTOLD   /* the photograph does not tell */
} RowlockVerdict;

/* A brick that was looked for in a photograph. The texts are the library's and last for the call.
 */
typedef struct RowlockSeenBrick {
    size_t brick;    /* of the plan, from 0, in building order */
    int row, column; /* its lower left cell in the mural, from 1 */
    int rows, columns;
    const char *size, *colour; /* that it should have: a size's name, and a colour's id */
    RowlockVerdict verdict;
    const char *looks;    /* id of the colour that it looks like; NULL: no colour of the palette */
    int right, up;        /* cells that a shifted one is off by; 0, 0: some way */
    const char *obstacle; /* why the photograph does not tell; "": it does */
} RowlockSeenBrick;

/* A photograph of a panel that is to be held to its plan. */
typedef struct RowlockInspection {
    const char *folder, *photo; /* a plan's; a picture, "-" is standard input */
    const char *panel;          /* its name, such as "r2c3" */
    int to;                     /* the mural's row, from 1, up to which it is built; 0: the whole */
    /* Of what is built, in pixels from the upper left of the upright photograph, x and y: the upper
     * left, upper right, lower right, lower left corner. NULL: they are found by the pattern. */
    const double (*corner)[2];
    /* The colour of the sheet that the bricks lie on, where it is like one of theirs: an id of the
     * palette, or "#rrggbb". NULL: not told. */
    const char *sheet;
    /* Are told where the panel was found, the corners as above, and then of each brick that shows
     * on its face, right ones too; both with the voice's `self`. NULL: not told. */
    void (*found)(void *self, const double corner[4][2]);
    void (*seen)(void *self, const RowlockSeenBrick *brick);
} RowlockInspection;

/* Judges each brick of the panel by the photograph, and tells the voice's `broken` a line for each
 * that is not seen to be right; a note has the sums. Of the job threads, memory and out count; with
 * an out the folder gets the files that rowlock_output_at lists. ROWLOCK_UNHELD: some brick is
 * wrong, missing or shifted, or the photograph does not tell. Faults: no such plan or panel, a
 * photograph in which the panel is not found, is too small or too light (ROWLOCK_DATA). */
ROWLOCK_API RowlockStatus rowlock_inspect(const RowlockJob *job, const RowlockInspection *what,
                                          const RowlockVoice *voice, RowlockFault *fault);

/* Derives the promises of the plan or the exhibition in the folder anew, from its files alone, and
 * tells the voice's `broken` of each that does not hold; after the first few of a kind only their
 * number. ROWLOCK_UNHELD: some promise does not hold. Faults: no plan there (ROWLOCK_NO_INPUT), a
 * file that cannot be read at all (ROWLOCK_DATA); what was found until then has been told. */
ROWLOCK_API RowlockStatus rowlock_check(const char *folder, const RowlockVoice *voice,
                                        RowlockFault *fault);

/* ---- a plan that stays open ---- */

/* A plan whose settings change while somebody looks at it. What does not depend on what changed is
 * kept; what is to be seen is what rowlock_plan makes of the same job, cell for cell and brick for
 * brick. One thread updates at a time; others may look at it meanwhile, and see it as the last
 * update that went well left it. */
typedef struct RowlockLive RowlockLive;

/* Empty: there is nothing to be seen before the first update. The caller frees *live_out with
 * rowlock_live_free. Fault: no memory; *live_out is NULL then. */
ROWLOCK_API RowlockStatus rowlock_live_create(RowlockLive **live_out, RowlockFault *fault);

/* NULL allowed. Nobody updates it or looks at it then. */
ROWLOCK_API void rowlock_live_free(RowlockLive *live);

/* How far an update goes; each goes as far as those before it, but for the sketch, which nothing
 * else needs. */
typedef enum RowlockReach {
    ROWLOCK_TO_PICTURE, /* the reference as an image of cells, and what there is to build with */
    ROWLOCK_TO_SKETCH,  /* a first face, soon there: to be looked at while the face is chosen */
    ROWLOCK_TO_FACE,    /* the colour of each cell */
    ROWLOCK_TO_RELIEF,  /* the steps of each cell, as they are asked for */
    ROWLOCK_TO_FIGURES  /* the bricks, and all that is measured and reckoned of them */
} RowlockReach;

/* Brings the plan up to date with the job, as far as asked; what else is still as it would be made
 * for this job stays to be seen, the rest is gone. A reference of "-" is refused. Files that
 * the job names are looked at anew each time. Notes are those of rowlock_plan, as far as the
 * update goes. Faults as of rowlock_plan; after one the plan is to be seen as it was. Stopped by
 * the voice, stages that were done are not lost to the next update. */
ROWLOCK_API RowlockStatus rowlock_live_update(RowlockLive *live, const RowlockJob *job,
                                              RowlockReach reach, const RowlockVoice *voice,
                                              RowlockFault *fault);

/* Whether the plan, as it is to be seen, reaches so far. */
ROWLOCK_API bool rowlock_live_reaches(RowlockLive *live, RowlockReach reach);

/* Brings it up to date in all and writes it into the job's `out`: the files of rowlock_plan, to
 * the byte, and its notes and statuses. */
ROWLOCK_API RowlockStatus rowlock_live_write(RowlockLive *live, const RowlockJob *job,
                                             const RowlockVoice *voice, RowlockFault *fault);

/* ---- what is to be seen of it ---- */

/* These look at the plan as it is; with nothing there that serves they fault with ROWLOCK_USAGE. */

/* What the mural shows of the reference. */
typedef struct RowlockFrame {
    long picture_width, picture_height; /* pixels, upright */
    double left, top, width, height;    /* the part that is shown; pixels from the upper left */
    int columns, rows;                  /* cells that it is divided into */
    double width_mm, height_mm;         /* of the mural */
} RowlockFrame;

/* Needs ROWLOCK_TO_PICTURE. */
ROWLOCK_API RowlockStatus rowlock_live_frame(RowlockLive *live, RowlockFrame *frame_out,
                                             RowlockFault *fault);

/* The cells of the face, or of the sketch where no face is there. */
typedef struct RowlockFace {
    int columns, rows;
    double cell_width_mm, cell_height_mm, step_mm;
    bool sketch;
    size_t colours;
    RowlockColour *colour; /* those of the palette, in its order */
    unsigned char *index;  /* rows x columns places in it, the top row first, as in cells.png */
    unsigned char *steps;  /* the same for steps as they are asked for; NULL: none, or not known */
    unsigned char *region; /* the same for regions, by their indices; 0 is in none; NULL: none */
} RowlockFace;

/* The caller frees *face_out with rowlock_face_free. Faults: no face, no memory. */
ROWLOCK_API RowlockStatus rowlock_live_face(RowlockLive *live, RowlockFace **face_out,
                                            RowlockFault *fault);
ROWLOCK_API void rowlock_face_free(RowlockFace *face); /* NULL allowed */

/* Bytes that the caller frees with rowlock_bytes_free. */
typedef struct RowlockBytes {
    unsigned char *byte;
    size_t length;
} RowlockBytes;

ROWLOCK_API void rowlock_bytes_free(RowlockBytes *bytes); /* leaves it empty */

/* What a picture shows. */
typedef enum RowlockView {
    ROWLOCK_VIEW_WHOLE,          /* the reference whole and upright, to choose a crop on */
    ROWLOCK_VIEW_REFERENCE,      /* the image of cells */
    ROWLOCK_VIEW_REFERENCE_SEEN, /* the same as the eye sees it from a distance */
    ROWLOCK_VIEW_FITTED,         /* the image within what the palette can show; with FIGURES, or
                                    where the job fits tones */
    ROWLOCK_VIEW_CELLS,          /* the face, or the sketch; indexed, one pixel a cell */
    ROWLOCK_VIEW_FACE_SEEN,      /* the same as the eye sees it from a distance */
    ROWLOCK_VIEW_BRICKS,         /* the bricks with their joints; before FIGURES each cell is one */
    ROWLOCK_VIEW_RELIEF,         /* the same in the light of a lamp, with RELIEF */
    ROWLOCK_VIEW_STEPS,          /* the steps of a relief; indexed, one pixel a cell */
    ROWLOCK_VIEW_LAYERS,         /* the outlines of layers over the image, with RELIEF */
    ROWLOCK_VIEWS
} RowlockView;

typedef struct RowlockViewing {
    RowlockView view;
    int pixels;         /* the most across; 0: one a cell, or as the plan's own picture has it */
    double distance_mm; /* of what is seen by the eye; 0 is close by */
    /* Of the lamp, degrees: clockwise from above, and off the wall, above 0 to 90. With a height of
     * 0 both are the job's. */
    double light_angle, light_height;
} RowlockViewing;

/* A PNG of the view. A cell is as many whole pixels wide as there is room for, and one where there
 * is none. *png_out is the caller's to free, also after a fault. */
ROWLOCK_API RowlockStatus rowlock_live_view(RowlockLive *live, const RowlockViewing *viewing,
                                            RowlockBytes *png_out, RowlockFault *fault);

/* What is measured and reckoned, as a JSON object: `plan` is plan.json without its files, `quote`
 * is quote.json. Needs ROWLOCK_TO_FIGURES. *json_out is the caller's to free, also after a
 * fault. */
ROWLOCK_API RowlockStatus rowlock_live_figures(RowlockLive *live, RowlockBytes *json_out,
                                               RowlockFault *fault);

/* ---- what is written ---- */

/* What can be said of a file that runs write. The texts are static. */
typedef struct RowlockOutput {
    const char *name; /* of the file, or its end: "book.pdf" */
    const char *when; /* it is written, such as "with --kit" */
    const char *what; /* is in it, one line */
} RowlockOutput;

/* Describes the file of this index, from 0; false beyond the last, and *output_out is as it
 * was. */
ROWLOCK_API bool rowlock_output_at(size_t index, RowlockOutput *output_out);

#ifdef __cplusplus
}
#endif

#endif
