/* The page on which devices are paired, as bytes of the program, ended by a 0. SERVE_PAIR is a path
 * given by the Makefile. */
        .section .rodata
        .globl serve_pair
        .hidden serve_pair
serve_pair:
        .incbin SERVE_PAIR
        .byte 0
        .section .note.GNU-stack,"",%progbits
