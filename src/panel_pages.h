/* Panel pages: what one panel is built from: its place and mass, the bags to pick, its
 * charts, and its rows as lists. */
#ifndef ROWLOCK_PANEL_PAGES_H
#define ROWLOCK_PANEL_PAGES_H

#include "sheet.h"

Status panel_pages(Sheet *sheet, int panel, Fault *fault);

#endif
