/* The parts of the page, as bytes of the program: the skeleton, its style and its
 * script, each ended by a 0.
 * PAGE_HTML, PAGE_CSS and PAGE_JS are paths given by the Makefile. */
        .section .rodata
        .globl page_html, page_css, page_js
        .hidden page_html, page_css, page_js
page_html:
        .incbin PAGE_HTML
        .byte 0
page_css:
        .incbin PAGE_CSS
        .byte 0
page_js:
        .incbin PAGE_JS
        .byte 0
        .section .note.GNU-stack,"",%progbits
