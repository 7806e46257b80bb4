/* Page parts: the bench's pages as bytes of the program, each ended by a 0; see page_parts.S. */
#ifndef ROWLOCK_BENCH_PAGE_PARTS_H
#define ROWLOCK_BENCH_PAGE_PARTS_H

extern const char bench_html[], bench_css[], bench_js[];

#endif
