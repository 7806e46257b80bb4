/* The parts of the desk's page, as bytes of the program: the skeleton, its style and its script, each
 * ended by a 0. DESK_HTML, DESK_CSS and DESK_JS are paths given by the Makefile. */
        .section .rodata
        .globl desk_html, desk_css, desk_js
        .hidden desk_html, desk_css, desk_js
desk_html:
        .incbin DESK_HTML
        .byte 0
desk_css:
        .incbin DESK_CSS
        .byte 0
desk_js:
        .incbin DESK_JS
        .byte 0
        .section .note.GNU-stack,"",%progbits
