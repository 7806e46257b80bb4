/* Page parts: the desk's page as bytes of the program, each ended by a 0; see page_parts.S. */
#ifndef ROWLOCK_DESK_PAGE_PARTS_H
#define ROWLOCK_DESK_PAGE_PARTS_H

extern const char desk_html[], desk_css[], desk_js[];

#endif
