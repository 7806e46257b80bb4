/* The typefaces of the printed pages, whole, as bytes of the program: output must
 * not depend on the fonts of the machine that runs it. FONT_REGULAR and FONT_BOLD
 * are paths given by the Makefile. */
        .section .rodata
        .balign 16
        .globl font_regular, font_regular_end, font_bold, font_bold_end
        .hidden font_regular, font_regular_end, font_bold, font_bold_end
font_regular:
        .incbin FONT_REGULAR
font_regular_end:
        .byte 0
        .balign 16
font_bold:
        .incbin FONT_BOLD
font_bold_end:
        .byte 0
        .section .note.GNU-stack,"",%progbits
