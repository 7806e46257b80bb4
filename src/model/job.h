/* Job: everything a plan is made from, and the one table of settings behind the
 * options, the job file, the help, the manual and the echo in plan.json. */
#ifndef ROWLOCK_MODEL_JOB_H
#define ROWLOCK_MODEL_JOB_H

#include "base/status.h"
#include "base/voice.h"
#include "model/grid.h"
#include "model/mounting.h"

#include <stdbool.h>
#include <stddef.h>

enum { JOB_TEXT = 1024 };

typedef enum Dither {
    DITHER_DISTANCE,
    DITHER_NONE,
    DITHER_FLOYD_STEINBERG,
    DITHER_BLUE_NOISE
} Dither;
typedef enum Favour { FAVOUR_BRICKS, FAVOUR_COST, FAVOUR_BOND } Favour;
typedef enum Tone { TONE_KEEP, TONE_FIT } Tone;
typedef enum ReliefFrom { RELIEF_NONE, RELIEF_LUMINANCE, RELIEF_MAP } ReliefFrom;
typedef enum Toward { TOWARD_LIGHT, TOWARD_DARK } Toward;
typedef enum CompareSort {
    SORT_GIVEN,
    SORT_LOOK,
    SORT_UNREST,
    SORT_PRICE,
    SORT_BRICKS,
    SORT_COLOURS,
    SORT_MASS,
    SORT_HOURS
} CompareSort;
typedef enum Paper { PAPER_A4, PAPER_LETTER } Paper;
/* BOOK_PANELS: each panel's pages are a file, and the book has what is of the whole. */
typedef enum Book { BOOK_NONE, BOOK_WHOLE, BOOK_PANELS } Book;

/* One member a setting. Lengths in millimetres, masses in kilograms; 0 or "" is
 * "not given" where the default in the table says so. */
typedef struct Job {
    char reference[JOB_TEXT]; /* path, or "-" */
    char out[JOB_TEXT];
    char palette[JOB_TEXT]; /* "": the built-in 48 */
    char bricks[JOB_TEXT];  /* "": the built-in set */
    char stock[JOB_TEXT];
    char cells[JOB_TEXT]; /* an edited cells.png */
    int build;            /* Build */
    int columns, rows;    /* cells; 0: from width, height or the aspect */
    double width, height; /* mm */
    char crop[64];        /* "WxH+X+Y", pixels of the upright picture; "": central */
    double pitch, brick_height;
    int thickness;          /* THICKNESS_SOUGHT: to be found */
    int dither;             /* Dither */
    double thrift;          /* 0 the look alone, to 1 the fewest bricks */
    double detail;          /* weight of what is seen close by, 0 to 1 */
    double calm;            /* weight of contrast and chroma that the picture has not, 0 to 1 */
    int tone;               /* Tone */
    int turn;               /* of the picture, quarters to the right */
    int mirror;             /* 1: left and right are swapped, after the turn */
    double distance;        /* mm, where the viewer stands */
    char care[JOB_TEXT];    /* a grey map: how much errors count */
    char regions[JOB_TEXT]; /* what is asked of regions */
    char region_strokes[JOB_TEXT], region_labels[JOB_TEXT]; /* where they are */
    char pins[JOB_TEXT];                                    /* cells whose colours stay */
    char ground[16]; /* colour under transparent pixels, "#rrggbb" */
    int relief;      /* ReliefFrom */
    char depth_map[JOB_TEXT], mask[JOB_TEXT];
    char steps_map[JOB_TEXT]; /* an edited steps.png */
    char strokes[JOB_TEXT], labels[JOB_TEXT], layers[JOB_TEXT];
    int label_snap; /* cells; 0: labels are taken as they are drawn */
    int toward;     /* Toward */
    int steps;      /* of the tallest point; 0: from depth, or the default */
    double depth;   /* mm, of the tallest point beyond the base */
    double relief_curve;
    int relief_smooth, relief_islands, relief_jump;
    double light_angle, light_height; /* degrees: where relief.png's lamp stands */
    char backing[16];                 /* a colour's id; "": the cheapest, or the first */
    int hollow;                       /* units of shell around an empty core; 0: solid */
    char clutch[32];     /* "A,B": N that a knob holds under a brick one unit wide, and a wider */
    double hold_safety;  /* what is held may take one over so much of that */
    double crate_g;      /* what a packed panel is shaken with */
    double touch;        /* N that what stands out is to hold; 0: not looked at */
    double hold;         /* N: what stands out is changed until it holds so much; 0: as it is */
    char load_cases[96]; /* names with commas between; "": those of the build */
    int stock_only;      /* 1: no more of a colour is used than there is */
    double recolour;     /* per cent that colour differences may grow to use its sizes */
    double spare;        /* per cent */
    char panel[32];      /* "WxH" cells; "": what passes the door */
    double panel_mass;   /* of a whole panel; 0: what one person lifts */
    double door;         /* mm, clear width of the narrowest on the way */
    double sheet_mass, sheet_depth; /* kg a square metre, mm: base sheets */
    double board, board_density;    /* mm, kg a cubic metre: what they are on */
    double frame_mass, frame_depth; /* kg a metre, mm: behind a panel's edges */
    int fixings;                    /* a panel */
    double fixing_mass;             /* kg each */
    char kit[32];                   /* "WxH" cells of a card; "": no kit */
    int kit_even;                   /* 1: cards of other sizes that ask alike */
    int favour;                     /* Favour */
    double effort;                  /* of laying, 0 quick to 1 thorough */
    double pace;                    /* bricks an hour, of one builder */
    int builders;                   /* at work at once */
    double day;                     /* working hours */
    double rate;                    /* money for an hour of one builder; 0: not priced */
    double budget;                  /* money that the whole may cost; 0: not said */
    char currency[16];
    double sheet_price;                        /* of a panel's base sheet */
    double packing;                            /* mm around a packed panel, on each side */
    int crate_panels;                          /* the most in a crate */
    double crate_mass;                         /* the most of a packed crate */
    int hanging;                               /* panels hung in a day */
    int quote;                                 /* 1: the quote and the offer are written */
    char studio[200], client[200], title[200]; /* as the offer names them; title "": the picture */
    char date[60];                             /* of the offer; "": a line to fill in */
    int validity;                              /* days */
    double price;                              /* of the mural, net; 0: from costs and margin */
    double margin, tax, deposit;               /* per cent */
    double crate_price, freight, site_rate; /* costs: of a crate, of all ways, of a day on site */
    char delivery[200];                     /* "": from the days that it takes */
    char not_included[JOB_TEXT];
    int locale;                             /* index among NUMBER_STYLES */
    int paper;                              /* Paper */
    int book;                               /* Book */
    int lists;                              /* 1: rows of a plaque stand in it as lists, too */
    char built[JOB_TEXT];                   /* panels and rows that stand; see built_part.h */
    int sort;                               /* CompareSort */
    int colours;                            /* to pick */
    char keep[JOB_TEXT], without[JOB_TEXT]; /* ids with commas between */
    double price_weight;                    /* CIEDE2000 that one unit of money a cell is worth */
    char patches[JOB_TEXT];                 /* where bricks lie in photographs */
    char chart[JOB_TEXT];                   /* corners of the chart in each; "": to be found */
    char chart_values[JOB_TEXT];            /* what its patches are; "": the built-in ones */
    char chart_grid[16];                    /* "CxR" patches */
    double grey;                            /* L* of a grey card; 0: there is a chart */
    char white[JOB_TEXT];                   /* a photograph of white paper */
    char into[JOB_TEXT];                    /* a palette that measured colours are put into */
    double limit;                           /* megapixels that a reference may claim */
    double memory;                          /* MB that the run may take; 0: by what is free */
    int threads;                            /* 0: one a processor */
    int quiet;
} Job;

/* N a knob: what is beyond is a slip. */
#define CLUTCH_LEAST_N 0.01
#define CLUTCH_MOST_N 1000.0

enum { THICKNESS_SOUGHT = 0 };

enum { HOLLOW_MOST = 100 }; /* units of shell */

/* Cells of a card each way: a chart must fit half a sheet and be read on it. */
enum { KIT_LEAST = 2, KIT_MOST = 20 };

typedef enum SettingType {
    SETTING_TEXT,   /* char[] in the job */
    SETTING_FILE,   /* the same, a path: relative to the job file where it stands in one */
    SETTING_WHOLE,  /* int */
    SETTING_NUMBER, /* double */
    SETTING_LENGTH, /* double, mm; text takes mm, cm, m, in */
    SETTING_MASS,   /* double, kg; text takes g, kg, lb */
    SETTING_BYTES,  /* double, MB; text takes MB, GB, TB */
    SETTING_CHOICE, /* int, index into choices */
    SETTING_SWITCH  /* int, 0 or 1; an option without a value */
} SettingType;

typedef struct Setting {
    const char *name; /* "brick-height": --brick-height, and the job file's key */
    SettingType type;
    size_t offset, size;  /* of the member of Job */
    const char *fallback; /* default as text, parsed like any value; "" is not given */
    const char *value;    /* how help shows the value: "LENGTH" */
    const char *choices;  /* "none|floyd-steinberg", for SETTING_CHOICE; of a SETTING_WHOLE the word
                             for 0, which leaves it to be found */
    double least, most;   /* range of numbers, in the unit of the member */
    const char *group;    /* heading in help and manual */
    const char *help;     /* one line */
    const char *rival;    /* a setting that says the same thing in another way, or NULL */
    bool echoed;          /* part of plan.json's settings */
} Setting;

/* A setting that was given several values, to be tried one after another. */
enum { CHOICES_MOST = 64 };
typedef struct Choices {
    const Setting *setting;
    int count;
    const char *text[CHOICES_MOST]; /* borrowed */
} Choices;

extern const Setting settings[];
extern const size_t settings_count;

void job_init(Job *job); /* every setting at its default */

const Setting *setting_find(const char *name);

/* Fault of that status, which `where` opens: no setting has the name; says which is meant. */
Status setting_unknown(const char *name, const char *where, Status status, Fault *fault);

/* Sets one setting from text; `where` names the place in messages ("--pitch" or
 * "mural.ini:12"); base_folder, or NULL, is put before relative paths. A rival that
 * was set is unset: the later word wins. */
Status job_set(Job *job, const Setting *setting, const char *text, const char *where,
               const char *base_folder, Fault *fault);

/* Reads an INI job file; sections are the user's own. A key that is no setting, or
 * stands twice, or beside its rival, is a fault. */
Status job_read(Job *job, const char *path, Fault *fault);

/* The setting's value as text that job_set reads back to the same value. */
void job_show(const Job *job, const Setting *setting, char *text, size_t size);

/* Notes each setting that is not at its default but counts for nothing beside the others,
 * so that nothing is passed over in silence. */
void job_note_idle(const Job *job, const Voice *voice);

/* A number with mm, cm, m or in, as settings take it; whether it is one. */
bool length_parse(const char *text, double *mm_out);

/* Whether layers tell the steps, and whether they are found from strokes. */
bool job_layered(const Job *job);
bool job_stroked(const Job *job);

/* Bytes of memory that the run may take: as it says, or three quarters of what the system has to
 * give. */
double job_memory(const Job *job);

/* What a panel carries behind its bricks. A kit's cards are put on a board of the whole mural, so
 * that they have their sheets alone; a wall has no sheets. */
Mounting job_mounting(const Job *job);

/* Settings whose text has a shape of its own. */
/* Both 0 where it does not say. */
Status job_panel(const Job *job, int *columns_out, int *rows_out, Fault *fault);
Status job_clutch(const Job *job, double *narrow_out, double *wide_out, Fault *fault);
/* Both 0 when no kit is asked for. */
Status job_kit(const Job *job, int *columns_out, int *rows_out, Fault *fault);
/* left, top, width, height in pixels; all 0 when no crop is given. */
Status job_crop(const Job *job, long crop_out[4], Fault *fault);
Status job_ground(const Job *job, unsigned char rgb_out[3], Fault *fault);

#endif
