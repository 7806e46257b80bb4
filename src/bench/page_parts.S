/* The parts of the bench's pages, as bytes of the program: the list of plans, its style, and the script
 * that joins a build book to the bench, each ended by a 0. BENCH_HTML, BENCH_CSS and BENCH_JS are paths
 * given by the Makefile. */
        .section .rodata
        .globl bench_html, bench_css, bench_js
        .hidden bench_html, bench_css, bench_js
bench_html:
        .incbin BENCH_HTML
        .byte 0
bench_css:
        .incbin BENCH_CSS
        .byte 0
bench_js:
        .incbin BENCH_JS
        .byte 0
        .section .note.GNU-stack,"",%progbits
