/* Data alone, in the ground room, so that what checks a plan can know its files without knowing
 * what writes them. Writers stand in plan/outputs.c, study/compare.c and study/pick.c, checks in
 * check/file_checks.c, each in a table by OutputId. */
#include "base/output_list.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

const OutputFile output_list[OUTPUTS] = {
    [OUTPUT_PLAN_JSON] = {"plan.json", OUTPUT_ALWAYS,
                          "the plan's account of itself: sizes, settings, colours, measures, "
                          "panels, checksums"},
    [OUTPUT_CELLS_PNG] = {"cells.png", OUTPUT_ALWAYS,
                          "one pixel a cell: edit it in any paint program, give it back with "
                          "--cells"},
    [OUTPUT_STEPS_PNG] = {"steps.png", OUTPUT_IN_RELIEF,
                          "the steps of each cell as an index, each of a colour: edit it, give it "
                          "back with --steps-map"},
    [OUTPUT_LAYERS_PNG] = {"layers.png", OUTPUT_LAYERED,
                           "the layer of each cell as an index: edit it, give it back with "
                           "--labels"},
    [OUTPUT_OUTLINES_PNG] = {"outlines.png", OUTPUT_LAYERED,
                             "the layers over the picture: guessed outlines are dashed, refused "
                             "pieces hatched, lost strokes crossed"},
    [OUTPUT_DEPTH_PNG] = {"depth.png", OUTPUT_LAYERED,
                          "the depth that the layers made, 16 bits, white the most steps"},
    [OUTPUT_REGIONS_PNG] =
        {"regions.png", OUTPUT_REGIONAL,
         "the region of each cell as an index, 0 where it is in none or keeps its "
         "colour"},
    [OUTPUT_PINS_PNG] = {"pins.png", OUTPUT_PINNED,
                         "the cells that were pinned, in their colours, all others transparent: "
                         "give it back with --pins"},
    [OUTPUT_BRICKS_CSV] = {"bricks.csv", OUTPUT_ALWAYS, "every brick: place, extent, size, colour"},
    [OUTPUT_ROWS_CSV] = {"rows.csv", OUTPUT_ALWAYS,
                         "the charts as data, one line a brick in building order"},
    [OUTPUT_PARTS_CSV] = {"parts.csv", OUTPUT_ALWAYS,
                          "what the mural takes; price is that of the order, mass_g that of the "
                          "bricks in the mural"},
    [OUTPUT_ORDER_CSV] = {"order.csv", OUTPUT_ALWAYS,
                          "what to buy, in whole packs, by supplier where the brick set has any"},
    [OUTPUT_LEFT_CSV] = {"left.csv", OUTPUT_ALWAYS,
                         "what stays on the shelf once the mural is built, as a stock file"},
    [OUTPUT_DIFFERENCE_CSV] = {"difference.csv", OUTPUT_REPLANNED,
                               "bricks by colour and size before and after, and what stands"},
    [OUTPUT_PANELS_CSV] = {"panels.csv", OUTPUT_ALWAYS, "the panels: place, size, mass, structure"},
    [OUTPUT_PREVIEW_PNG] = {"preview.png", OUTPUT_ALWAYS, "the face with its joints"},
    [OUTPUT_PROOF_JPG] = {"proof.jpg", OUTPUT_ALWAYS,
                          "the face from the distance and close by, small enough to mail"},
    [OUTPUT_DISTANCE_PNG] = {"distance.png", OUTPUT_ALWAYS, "the face as seen from --distance"},
    [OUTPUT_RELIEF_PNG] = {"relief.png", OUTPUT_IN_RELIEF, "the relief under a raking light"},
    [OUTPUT_RELIEF_GLB] = {"relief.glb", OUTPUT_IN_RELIEF,
                           "the relief brick by brick, as glTF 2.0"},
    [OUTPUT_HOLDS_PNG] = {"holds.png", OUTPUT_TOUCHED,
                          "how hard each brick that stands out may be pushed, in newtons"},
    [OUTPUT_QUOTE_JSON] = {"quote.json", OUTPUT_ALWAYS,
                           "money, days, mass, crates and the doors on their way"},
    [OUTPUT_QUOTE_PDF] = {"quote.pdf", OUTPUT_WITH_QUOTE, "the studio's own costs on one page"},
    [OUTPUT_OFFER_PDF] = {"offer.pdf", OUTPUT_WITH_QUOTE, "what a client signs, on one page"},
    [OUTPUT_BOOK_PDF] = {"book.pdf", OUTPUT_WITH_BOOK,
                         "the build book, to print, with labels and crates at its end"},
    [OUTPUT_PANEL_BOOKS] = {"book", OUTPUT_WITH_PANEL_BOOKS,
                            "a folder with the pages of each panel, as book/r1c1.pdf, to hand out "
                            "one by one; book.pdf "
                            "is then short, and has what is of the whole"},
    [OUTPUT_BOOK_HTML] = {"book.html", OUTPUT_WITH_BOOK,
                          "the build book, to keep open at the bench; it keeps count of what is "
                          "laid"},
    [OUTPUT_KIT_PDF] =
        {"kit.pdf", OUTPUT_WITH_KIT,
         "a master sheet, a card for each visitor, labels for the bags; --kit-even has them ask "
         "alike"},
    [OUTPUT_COMPARE_CSV] = {"compare.csv", OUTPUT_COMPARED, "the figures of the plans compared"},
    [OUTPUT_COMPARE_PNG] = {"compare.png", OUTPUT_COMPARED,
                            "the plans side by side: how each looks from --distance, where it is "
                            "worst, what it takes"},
    [OUTPUT_COMPARE_PDF] = {"compare.pdf", OUTPUT_COMPARED, "the drawing of compare.png, to print"},
    [OUTPUT_COMPARE_OFFER] = {"options.pdf", OUTPUT_COMPARED,
                              "the first three as an offer, side by side"},
    [OUTPUT_PICK_PALETTE] = {"FILE", OUTPUT_PICKED, "the picked palette, CGATS.17"},
    [OUTPUT_PICK_CURVE_CSV] = {"STEM-curve.csv", OUTPUT_PICKED,
                               "the difference that is left, for each number of colours"},
    [OUTPUT_PICK_CURVE_PNG] = {"STEM-curve.png", OUTPUT_PICKED,
                               "the curve of STEM-curve.csv, drawn"},
    [OUTPUT_MEASURE_PALETTE] = {"MEASURED", OUTPUT_MEASURED,
                                "the measured palette, CGATS.17, and how sure each colour is"},
    [OUTPUT_SHOW_INDEX] =
        {"DIR/index.html", OUTPUT_EXHIBITED,
         "the show on one page for a browser, with the way to every mural's book"},
    [OUTPUT_SHOW_PDF] = {"DIR/show.pdf", OUTPUT_EXHIBITED,
                         "one book: all faces to one scale on their walls, totals, the shared key, "
                         "crates, labels, then every mural's own book"},
    [OUTPUT_SHOW_PALETTE] = {"DIR/palette.cgats", OUTPUT_EXHIBITED,
                             "the colours that were picked for all murals, with colours in [show]"},
    [OUTPUT_SHOW_PARTS] = {"DIR/parts.csv", OUTPUT_EXHIBITED,
                           "what each mural of the show takes, with its share of spares and shelf"},
    [OUTPUT_SHOW_ORDER] = {"DIR/order.csv", OUTPUT_EXHIBITED,
                           "what to buy for all murals, packs rounded up once, by supplier"},
    [OUTPUT_SHOW_LEFT] = {"DIR/left.csv", OUTPUT_EXHIBITED,
                          "what stays on the shelf once all murals are built, as a stock file"},
    [OUTPUT_SHOW_CRATES] = {"DIR/crates.csv", OUTPUT_EXHIBITED,
                            "the crates in the order of opening: content, size, mass, value, place "
                            "on the truck"},
    [OUTPUT_SHOW_CALENDAR] = {"DIR/calendar.ics", OUTPUT_EXHIBITED,
                              "when to order, build, pack and hang, where the show has a start"},
    [OUTPUT_SHOW_DIFFERENCE] = {"DIR/difference.csv", OUTPUT_EXHIBITED,
                                "what murals take now and took before the last change of the show"},
    [OUTPUT_SHOW_JSON] = {"DIR/show.json", OUTPUT_EXHIBITED,
                          "the show's account of itself: murals, totals, checksums"},
    [OUTPUT_INSPECT_CSV] = {"DIR/inspection.csv", OUTPUT_INSPECTED,
                            "each brick of the panel: right, wrong, missing, shifted or cannot "
                            "tell, what it looks like, and how sure that is"},
    [OUTPUT_INSPECT_PNG] = {"DIR/inspection.png", OUTPUT_INSPECTED,
                            "the panel as photographed, with marks on what is not right"},
    [OUTPUT_INSPECT_JSON] = {"DIR/inspection.json", OUTPUT_INSPECTED,
                             "where the panel was found, how sure that is, and sums"},
    [OUTPUT_INSPECT_FACE] = {"DIR/face.png", OUTPUT_INSPECTED,
                             "the panel as the plan has it, one pixel a cell"},
    [OUTPUT_INSPECT_PHOTO] = {"DIR/photo", OUTPUT_INSPECTED, "the photograph, with its own ending"},
};

const char *const output_when_text[OUTPUT_WHENS] = {
    [OUTPUT_ALWAYS] = "every plan",
    [OUTPUT_IN_RELIEF] = "of a relief",
    [OUTPUT_TOUCHED] = "of a relief, unless --touch=0",
    [OUTPUT_LAYERED] = "with --layers",
    [OUTPUT_REGIONAL] = "with --regions",
    [OUTPUT_PINNED] = "with --pins",
    [OUTPUT_REPLANNED] = "by replan",
    [OUTPUT_WITH_QUOTE] = "unless --quote=no",
    [OUTPUT_WITH_BOOK] = "unless --book=no",
    [OUTPUT_WITH_PANEL_BOOKS] = "with --book=panels",
    [OUTPUT_WITH_KIT] = "with --kit",
    [OUTPUT_COMPARED] = "by compare",
    [OUTPUT_PICKED] = "by pick",
    [OUTPUT_MEASURED] = "by measure",
    [OUTPUT_EXHIBITED] = "by exhibition",
    [OUTPUT_INSPECTED] = "by inspect with --out",
};

OutputId output_of_plan(const char *name)
{
    int id = 0;
    while (id < OUTPUTS_OF_PLAN && strcmp(name, output_list[id].name)) id++;
    return (OutputId)id;
}

const char *output_show_name(OutputId id) { return strrchr(output_list[id].name, '/') + 1; }

void output_panel_book(const char *panel, char name_out[OUTPUT_PANEL_NAME])
{
    snprintf(name_out, OUTPUT_PANEL_NAME, "%s/%.24s.pdf", output_list[OUTPUT_PANEL_BOOKS].name,
             panel);
}

bool output_is_panel_book(const char *name)
{
    const char *folder = output_list[OUTPUT_PANEL_BOOKS].name;
    const size_t length = strlen(folder);
    if (strncmp(name, folder, length) || name[length] != '/') return false;
    const char *panel = name + length + 1, *c = panel;
    while (islower((unsigned char)*c) || isdigit((unsigned char)*c)) c++;
    return c > panel && !strcmp(c, ".pdf");
}
