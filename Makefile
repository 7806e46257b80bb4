# rowlock: plans murals of rectangular bricks. See README.md; DEVELOPERS.md tours the code.
#
#   make            the program, build/release/rowlock
#   make setup      installs what it needs       make test    every test
#   make demo       plans the demonstration      make bench   speed as ratios
#   make MODE=debug, make MODE=sanitize          builds in folders of their own

MODE ?= release
B    ?= build/$(MODE)
PREFIX ?= /usr/local
CC   = gcc
# make V=1 shows the commands.
Q = $(if $(V),,@)

# The modules, in reading order. A module includes headers of earlier ones only;
# `make order` fails otherwise.
MODULES = \
    status memory voice bands text csv cgats digest \
    colour delta_e four delta_e_quick delta_e_bounds \
    image palette sizes stock grid panel laid \
    profile picture sample \
    eye tone tensor retina board move sweep scarce match subset blend dither look relief tile lay_plaque lay_wall lay bond parts \
    job mural \
    draw face chart table book page model \
    plan compare pick replan check \
    options main

PACKAGES = libpng libjpeg libtiff-4 lcms2 cairo cairo-ft freetype2 jansson inih nettle
SOURCES  = $(wildcard $(MODULES:%=src/%.c))
OBJECTS  = $(SOURCES:src/%.c=$(B)/%.o)
LIBRARY  = $(filter-out $(B)/main.o $(B)/options.o,$(OBJECTS))

WARN   = -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wstrict-prototypes -Wmissing-prototypes -Wvla
STD    = -std=c17 -D_GNU_SOURCE -pthread
# Colour must come out the same on every compiler: no contraction, no fast math.
FLOAT  = -ffp-contract=off
OPT.release  = -O2 -g1 -DNDEBUG
OPT.debug    = -O0 -g3
OPT.sanitize = -O1 -g -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
CFLAGS  ?= $(OPT.$(MODE))
override CFLAGS += $(STD) $(FLOAT) $(WARN) -MMD -MP -I$(B) \
    $(patsubst -I%,-isystem %,$(shell pkg-config --cflags-only-I $(PACKAGES) 2>/dev/null))
LDLIBS  = $(shell pkg-config --libs $(PACKAGES) 2>/dev/null) -lm -pthread

all: $(B)/rowlock

$(B)/rowlock: $(OBJECTS)
	@echo link $@
	$Q$(CC) $(CFLAGS) -o $@ $^ $(LDLIBS)

$(B)/%.o: src/%.c Makefile | $(B)
	@echo cc $<
	$Q$(CC) $(CFLAGS) -c -o $@ $<

$(B)/librowlock.a: $(LIBRARY)
	$Qrm -f $@ && ar rcs $@ $^

$(B):
	mkdir -p $@

# ---- The built-in palette, as numbers for an initializer ----
$(B)/palette48.inc: palettes/bricks-48.cgats Makefile | $(B)
	@echo make $@
	$Qod -An -v -td1 $< | sed 's/[0-9][0-9]*/&,/g' > $@
$(B)/palette.o: $(B)/palette48.inc
# ---- end of the built-in palette ----

# Tests: each tests/test_NAME.c is a program of its own.
TESTS = $(patsubst tests/%.c,$(B)/%,$(sort $(wildcard tests/test_*.c)))

$(B)/test_%: tests/test_%.c $(B)/librowlock.a Makefile
	@echo cc $<
	$Q$(CC) $(CFLAGS) -Isrc -Itests -o $@ $< $(B)/librowlock.a $(LDLIBS) $(shell pkg-config --libs cmocka)

# Benches: each tests/bench_NAME.c prints ratios.
$(B)/bench_%: tests/bench_%.c $(B)/librowlock.a Makefile
	@echo cc $<
	$Q$(CC) $(CFLAGS) -Isrc -Itests -o $@ $< $(B)/librowlock.a $(LDLIBS)

# Fuzzers: make MODE=fuzz CC=clang build/fuzz/fuzz_csv && build/fuzz/fuzz_csv CORPUS
OPT.fuzz = -O1 -g -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all
$(B)/fuzz_%: tests/fuzz_%.c $(B)/librowlock.a Makefile
	@echo cc $<
	$Q$(CC) $(CFLAGS) -fsanitize=fuzzer -Isrc -o $@ $< $(B)/librowlock.a $(LDLIBS)

.PHONY: all
-include $(wildcard $(B)/*.d)
