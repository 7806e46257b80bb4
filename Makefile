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
    status memory voice bands text csv cgats digest bytes folder \
    colour delta_e four eight delta_e_lanes delta_e_quick lab_row delta_e_bounds \
    image palette sizes stock grid panel laid laying graph \
    source exif profile decoder picture_png picture_jpeg picture_tiff picture_pnm picture_other \
    picture sample \
    eye_axis eye_blur eye tone tensor retina board group move sweep ration scarce match offers subset blend dither thrift start pieces fuse look guided islands relief leaves course corbel carry \
    field shape region price search mend solve line crossing tile lay_plaque bound masonry dress stitch repoint lay_wall lay trial bond tie hollow parts shelf difference cards \
    job depth mural measure crates quote statics cautions \
    paint cells face light model csv_sheet table json_file record quote_record \
    amend draw key chart sheet chart_sheet row_list panel_pages front_pages handling_pages end_pages book \
    quote_page kit_card kit outline page \
    roll ledger raster brick_list earlier standing \
    files work work_colours work_bricks plan replan variant compare_sheet compare histogram curve pick \
    verdict evidence check_core check_plan check_files check_solid check_bond check_difference check_lists \
    check_orders check_model check_page check \
    options main

PACKAGES = zlib libpng libjpeg libtiff-4 lcms2 cairo cairo-ft freetype2 jansson inih nettle
SOURCES  = $(wildcard $(MODULES:%=src/%.c))
OBJECTS  = $(SOURCES:src/%.c=$(B)/%.o) $(B)/fonts.o $(B)/page_parts.o
LIBRARY  = $(filter-out $(B)/main.o $(B)/options.o,$(OBJECTS))

WARN   = -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wstrict-prototypes -Wmissing-prototypes -Wvla
STD    = -std=c17 -D_GNU_SOURCE -pthread
# Colour must come out the same on every compiler: no contraction, no fast math. Nobody asks
# errno about a root, which without it takes one instruction, also for many at once.
FLOAT  = -ffp-contract=off -fno-math-errno
OPT.release  = -O2 -g1 -DNDEBUG
OPT.debug    = -O0 -g3
OPT.sanitize = -O1 -g -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
# Fuzzers: make MODE=fuzz CC=clang build/fuzz/fuzz_csv && build/fuzz/fuzz_csv CORPUS
OPT.fuzz = -O1 -g -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all
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

# The book's typeface is part of the program. FONTS is a folder with the two files.
FONTS = /usr/share/fonts/truetype/dejavu
FONT_FILES = $(FONTS)/DejaVuSansCondensed.ttf $(FONTS)/DejaVuSansCondensed-Bold.ttf

$(B)/fonts.o: src/fonts.S $(FONT_FILES) Makefile | $(B)
	@echo as $<
	$Q$(CC) -c -DFONT_REGULAR='"$(word 1,$(FONT_FILES))"' \
	    -DFONT_BOLD='"$(word 2,$(FONT_FILES))"' -o $@ $<

# The page is part of the program: a skeleton, a style and the scripts in reading order.
PAGE_SCRIPTS = $(patsubst %,src/page/%.js,plan steps progress view face bench wall key relief main)

$(B)/page.js: $(PAGE_SCRIPTS) Makefile | $(B)
	@echo make $@
	$Qcat $(PAGE_SCRIPTS) > $@

$(B)/page_parts.o: src/page_parts.S src/page/page.html src/page/page.css $(B)/page.js | $(B)
	@echo as $<
	$Q$(CC) -c -DPAGE_HTML='"src/page/page.html"' -DPAGE_CSS='"src/page/page.css"' \
	    -DPAGE_JS='"$(B)/page.js"' -o $@ $<

# The palette of a plan without --palette is part of the program too, as numbers for an
# initialiser.
$(B)/palette48.inc: palettes/bricks-48.cgats Makefile | $(B)
	@echo make $@
	$Qod -An -v -td1 $< | sed 's/[0-9][0-9]*/&,/g' > $@

$(B)/palette.o: $(B)/palette48.inc

# ---- tests: each tests/test_NAME.c is a program of its own ----

TESTS = $(patsubst tests/%.c,$(B)/%,$(sort $(wildcard tests/test_*.c)))
TEST_LIBS = $(shell pkg-config --libs cmocka 2>/dev/null)

$(B)/test_%: tests/test_%.c $(B)/librowlock.a Makefile
	@echo cc $<
	$Q$(CC) $(CFLAGS) -Isrc -Itests -o $@ $< $(B)/librowlock.a $(LDLIBS) $(TEST_LIBS)

# Samples for the tests that drive the page in a browser.
$(B)/page_sample: tests/page/sample.c $(B)/librowlock.a Makefile
	@echo cc $<
	$Q$(CC) $(CFLAGS) -Isrc -Itests -o $@ $< $(B)/librowlock.a $(LDLIBS)

test: $(TESTS) $(B)/rowlock $(B)/page_sample
	$QB=$(B) tests/run $(TESTS) tests/page/test_page_in_browser tests/gltf/test_gltf

# Renews the golden results; review the difference before it is committed.
bless: $(TESTS) $(B)/rowlock
	$QBLESS=1 B=$(B) tests/run $(TESTS)

BENCHES = $(patsubst tests/%.c,$(B)/%,$(sort $(wildcard tests/bench_*.c)))

$(B)/bench_%: tests/bench_%.c $(B)/librowlock.a Makefile
	@echo cc $<
	$Q$(CC) $(CFLAGS) -Isrc -Itests -o $@ $< $(B)/librowlock.a $(LDLIBS)

bench: $(BENCHES) $(B)/rowlock
	$Qfor bench in $(BENCHES); do echo "== $${bench##*/}"; B=$(B) $$bench || exit 1; done

$(B)/fuzz_%: tests/fuzz_%.c $(B)/librowlock.a Makefile
	@echo cc $<
	$Q$(CC) $(CFLAGS) -fsanitize=fuzzer -Isrc -o $@ $< $(B)/librowlock.a $(LDLIBS)

# ---- the demonstration ----

$(B)/harbour: demo/harbour.c Makefile | $(B)
	@echo cc $<
	$Q$(CC) $(CFLAGS) -o $@ $< $(LDLIBS)

demo: $(B)/rowlock $(B)/harbour
	$Qmkdir -p out
	$Q$(B)/harbour out/harbour.png out/harbour-depth.png
	$Q$(B)/rowlock plan --job demo/harbour.ini --reference out/harbour.png --out out/demo
	$Q$(B)/rowlock plan --job demo/harbour-relief.ini --reference out/harbour.png --out out/demo-relief
	@echo "The plan is in out/demo: open preview.png, distance.png and book.pdf, then parts.csv."
	@echo "The same in relief is in out/demo-relief: open relief.png and relief.glb."

# ---- what the project needs ----

DEBIAN = gcc make pkg-config zlib1g-dev libpng-dev libjpeg-dev libtiff-dev libstb-dev liblcms2-dev \
    libcairo2-dev libfreetype-dev libjansson-dev libinih-dev nettle-dev libcmocka-dev \
    fonts-dejavu-extra libjpeg-turbo-progs poppler-utils qpdf glpk-utils locales

setup:
	$QFONTS=$(FONTS) tests/setup "$(PACKAGES) cmocka stb" "djpeg pdftotext qpdf glpsol localedef" \
	    "chromium node npm" $(DEBIAN)
	$Qfor folder in tests/page tests/gltf; do [ -d $$folder/node_modules ] || \
	    (cd $$folder && npm ci --silent --no-audit --no-fund) || \
	    echo "$$folder: npm ci did not go through; its tests will be skipped"; done

# ---- order, lint, install ----

# Each module may include headers of modules listed before it, and its own.
order:
	$Qseen=""; for module in $(MODULES); do seen="$$seen $$module"; \
	    for file in src/$$module.c src/$$module.h; do [ -f $$file ] || continue; \
	        for header in $$(sed -n 's/^#include "\([a-z0-9_]*\)\.h"/\1/p' $$file); do \
	            [ -f src/$$header.h ] || continue; \
	            case " $$seen " in *" $$header "*) ;; \
	            *) echo "$$file: includes $$header.h, which is listed after it"; exit 1;; esac; \
	        done; done; done
	$Qfor file in src/*.c; do module=$${file##*/}; case " $(MODULES) " in *" $${module%.c} "*) ;; \
	    *) echo "$$file: not in the list of modules"; exit 1;; esac; done
	@echo "order holds"

# Suppressed: what cppcheck 2.10 sees and the code's loops and asserts rule out; the
# sanitizers watch the same at run time.
CPPCHECK_WRONG = missingIncludeSystem uninitvar negativeIndex:src/course.c \
    negativeIndex:src/key.c memleak:src/memory.c

lint: order
	$Qclang-format --dry-run -Werror src/*.[ch] tests/*.[ch] demo/*.c
	$Qcppcheck --quiet --std=c11 --enable=warning,performance,portability --error-exitcode=1 \
	    $(CPPCHECK_WRONG:%=--suppress=%) -Isrc src demo

install: $(B)/rowlock
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/share/man/man1 \
	    $(DESTDIR)$(PREFIX)/share/rowlock/palettes
	install -m 755 $(B)/rowlock $(DESTDIR)$(PREFIX)/bin/rowlock
	$(B)/rowlock --manual > $(DESTDIR)$(PREFIX)/share/man/man1/rowlock.1
	install -m 644 palettes/* $(DESTDIR)$(PREFIX)/share/rowlock/palettes/

clean:
	rm -rf build out

.PHONY: all test bless bench demo setup order lint install clean
-include $(wildcard $(B)/*.d)
