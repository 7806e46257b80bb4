/* The parts of the page, as bytes of the program: the skeleton, its style and its
 * script. PAGE_HTML, PAGE_CSS and PAGE_JS are paths given by the Makefile. */
        .section .rodata
        .globl page_html, page_html_end, page_css, page_css_end, page_js, page_js_end
page_html:
        .incbin PAGE_HTML
page_html_end:
        .byte 0
page_css:
        .incbin PAGE_CSS
page_css_end:
        .byte 0
page_js:
        .incbin PAGE_JS
page_js_end:
        .byte 0
        .section .note.GNU-stack,"",%progbits
