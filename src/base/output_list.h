/* Output list: every file that the program writes, what it is and when it is written. One table for
 * the writers, the checks, the manual and README's list of files, which a test holds to it. */
#ifndef ROWLOCK_BASE_OUTPUT_LIST_H
#define ROWLOCK_BASE_OUTPUT_LIST_H

#include <stdbool.h>

typedef enum OutputWhen {
    OUTPUT_ALWAYS, /* with every plan */
    OUTPUT_IN_RELIEF,
    OUTPUT_TOUCHED,
    OUTPUT_LAYERED,
    OUTPUT_REGIONAL,
    OUTPUT_PINNED,
    OUTPUT_REPLANNED,
    OUTPUT_WITH_QUOTE,
    OUTPUT_WITH_BOOK,
    OUTPUT_WITH_PANEL_BOOKS,
    OUTPUT_WITH_KIT,
    OUTPUT_COMPARED, /* these five are no part of a plan's folder */
    OUTPUT_PICKED,
    OUTPUT_MEASURED,
    OUTPUT_EXHIBITED,
    OUTPUT_INSPECTED,
    OUTPUT_WHENS
} OutputWhen;

/* Those of a plan's folder come first. Of them plan.json, which lists the others, is the first,
 * and the others are in the order of its list. */
typedef enum OutputId {
    OUTPUT_PLAN_JSON,
    OUTPUT_CELLS_PNG,
    OUTPUT_STEPS_PNG,
    OUTPUT_LAYERS_PNG,
    OUTPUT_OUTLINES_PNG,
    OUTPUT_DEPTH_PNG,
    OUTPUT_REGIONS_PNG,
    OUTPUT_PINS_PNG,
    OUTPUT_BRICKS_CSV,
    OUTPUT_ROWS_CSV,
    OUTPUT_PARTS_CSV,
    OUTPUT_ORDER_CSV,
    OUTPUT_LEFT_CSV,
    OUTPUT_DIFFERENCE_CSV,
    OUTPUT_PANELS_CSV,
    OUTPUT_PREVIEW_PNG,
    OUTPUT_PROOF_JPG,
    OUTPUT_DISTANCE_PNG,
    OUTPUT_RELIEF_PNG,
    OUTPUT_RELIEF_GLB,
    OUTPUT_HOLDS_PNG,
    OUTPUT_QUOTE_JSON,
    OUTPUT_QUOTE_PDF,
    OUTPUT_OFFER_PDF,
    OUTPUT_BOOK_PDF,
    OUTPUT_PANEL_BOOKS, /* a folder */
    OUTPUT_BOOK_HTML,
    OUTPUT_KIT_PDF,
    OUTPUTS_OF_PLAN,
    OUTPUT_COMPARE_CSV = OUTPUTS_OF_PLAN,
    OUTPUT_COMPARE_PNG,
    OUTPUT_COMPARE_PDF,
    OUTPUT_COMPARE_OFFER,
    OUTPUT_PICK_PALETTE,
    OUTPUT_PICK_CURVE_CSV,
    OUTPUT_PICK_CURVE_PNG,
    OUTPUT_MEASURE_PALETTE,
    OUTPUT_SHOW_INDEX,
    OUTPUT_SHOW_PDF,
    OUTPUT_SHOW_PALETTE,
    OUTPUT_SHOW_PARTS,
    OUTPUT_SHOW_ORDER,
    OUTPUT_SHOW_LEFT,
    OUTPUT_SHOW_CRATES,
    OUTPUT_SHOW_CALENDAR,
    OUTPUT_SHOW_DIFFERENCE,
    OUTPUT_SHOW_JSON,
    OUTPUT_INSPECT_CSV,
    OUTPUT_INSPECT_PNG,
    OUTPUT_INSPECT_JSON,
    OUTPUT_INSPECT_FACE,
    OUTPUT_INSPECT_PHOTO,
    OUTPUTS
} OutputId;

typedef struct OutputFile {
    const char *name; /* of pick's: FILE is what the user names, as MEASURED of measure's, STEM that
                         without its ending; of an exhibition's own: "DIR/" before it */
    OutputWhen when;
    const char *what; /* one line */
} OutputFile;

extern const OutputFile output_list[OUTPUTS];

/* When, in words: "of a relief". */
extern const char *const output_when_text[OUTPUT_WHENS];

/* The output of a plan's folder that has this name; OUTPUTS_OF_PLAN: none has. */
OutputId output_of_plan(const char *name);

/* "book/NAME.pdf", as the pages of the panel of this name are called. */
enum { OUTPUT_PANEL_NAME = 40 };
void output_panel_book(const char *panel, char name_out[OUTPUT_PANEL_NAME]);
/* Whether a name has that form. */
bool output_is_panel_book(const char *name);

/* The name of an exhibition's own file within its folder: "show.json". */
const char *output_show_name(OutputId id);

#endif
