/* The parts of the desk's page, as bytes of the program: the skeleton, its style and its script, and
 * the page on which devices are paired, each ended by a 0. DESK_HTML, DESK_CSS, DESK_JS and DESK_PAIR
 * are paths given by the Makefile. */
        .section .rodata
        .globl desk_html, desk_css, desk_js, desk_pair
        .hidden desk_html, desk_css, desk_js, desk_pair
desk_html:
        .incbin DESK_HTML
        .byte 0
desk_css:
        .incbin DESK_CSS
        .byte 0
desk_js:
        .incbin DESK_JS
        .byte 0
desk_pair:
        .incbin DESK_PAIR
        .byte 0
        .section .note.GNU-stack,"",%progbits
