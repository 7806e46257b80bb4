/* What a file says is checked against the files above it in the table, which have been read by
 * then. A file that has no check would be a promise that nobody keeps: every row has one, and a
 * test asks for a row for each file of base/output_list. */
#include "check/file_checks.h"

#include "check/check_content.h"
#include "check/check_difference.h"
#include "check/check_lists.h"
#include "check/check_model.h"
#include "check/check_orders.h"
#include "check/check_page.h"
#include "check/check_plan.h"
#include "check/check_rules.h"
#include "check/check_solid.h"

const FileCheck file_checks[OUTPUTS_OF_PLAN] = {
    {OUTPUT_PLAN_JSON, false, NULL, check_plan, 0},
    {OUTPUT_CELLS_PNG, false, NULL, check_face, 0.3},
    {OUTPUT_STEPS_PNG, false, NULL, check_face, 0.3},
    {OUTPUT_REGIONS_PNG, true, content_png, check_regions, 0.32},
    {OUTPUT_PINS_PNG, true, content_png, check_pins, 0.32},
    {OUTPUT_BRICKS_CSV, false, NULL, check_bricks, 0.35},
    {OUTPUT_ROWS_CSV, false, NULL, check_rows, 0.7},
    {OUTPUT_DIFFERENCE_CSV, false, NULL, check_difference, 0.75},
    {OUTPUT_PARTS_CSV, false, NULL, check_parts, 0.75},
    {OUTPUT_ORDER_CSV, true, NULL, check_orders, 0.8},
    {OUTPUT_LEFT_CSV, true, NULL, check_orders, 0.8},
    {OUTPUT_BOOK_HTML, true, content_html, check_page, 0.8},
    {OUTPUT_RELIEF_GLB, false, content_gltf, check_model, 0.9},
    {OUTPUT_PANELS_CSV, false, NULL, check_panels, 0.95},
    {OUTPUT_LAYERS_PNG, true, content_png, NULL, 1},
    {OUTPUT_OUTLINES_PNG, true, content_png, NULL, 1},
    {OUTPUT_DEPTH_PNG, true, content_png, NULL, 1},
    {OUTPUT_PREVIEW_PNG, false, content_png, NULL, 1},
    {OUTPUT_PROOF_JPG, false, content_jpeg, NULL, 1},
    {OUTPUT_DISTANCE_PNG, false, content_png, NULL, 1},
    {OUTPUT_RELIEF_PNG, false, content_png, NULL, 1},
    {OUTPUT_HOLDS_PNG, true, content_png, NULL, 1},
    {OUTPUT_QUOTE_JSON, true, content_json, NULL, 1},
    {OUTPUT_QUOTE_PDF, true, content_pdf, NULL, 1},
    {OUTPUT_OFFER_PDF, true, content_pdf, NULL, 1},
    {OUTPUT_BOOK_PDF, false, content_pdf, NULL, 1},
    {OUTPUT_PANEL_BOOKS, true, content_pdf, NULL, 1},
    {OUTPUT_KIT_PDF, true, content_pdf, NULL, 1},
};
