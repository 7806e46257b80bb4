# rowlock: plans murals of rectangular bricks. See README.md; DEVELOPERS.md tours the code.
#
#   make            the program, build/release/rowlock
#   make setup      installs what it needs       make test    every test
#   make demo       plans the demonstration      make bench   speed as ratios
#   make coverage   what the tests reach         make lint    what CI holds against the code
#   make MODE=debug, MODE=sanitize, MODE=posix, make CC=clang    builds in folders of their own

MODE ?= release
B    ?= build/$(CROSS)$(if $(findstring clang,$(CC)),clang-)$(MODE)
PREFIX ?= /usr/local
# Folders under PREFIX that systems have in different places.
LIBRARY = lib
ZSH     = share/zsh/site-functions
# make CROSS=aarch64-linux-gnu- takes the tools of that name, for another processor.
CC   = $(CROSS)gcc
LD   = $(CROSS)ld
AR   = $(CROSS)ar
OBJCOPY = $(CROSS)objcopy
# make V=1 shows the commands; make STRICT=1 takes no warning.
Q = $(if $(V),,@)

# The rooms, from picture to wall, and in each its modules, in reading order. A module includes
# headers of the rooms that its own may include, and of modules listed before it in its own;
# `make order` fails otherwise. `make floors` prints the rooms as a table.
ROOMS = base colour model picture eye cells layers relief bricks/tiling bricks/wall bricks hold \
    clutch figures output book plan study show camera inspect check api serve bench desk command

LAW.base = what any program needs
MODULES.base = status system input_file output_file written_png output_list memory memory_available memory_file \
    ascending voice apart thread bands text number_style spelling digest clock bytes base64 name_table lock_file folder \
    csv_guard csv table_list csv_sheet csv_stream cgats ini_file ini_sections json_file file_format \
    photo_advice raster simd4 simd8
MAY.base =

LAW.colour = colour by the standards
MODULES.colour = colour delta_e quick_table delta_e_lanes delta_e_4 delta_e_8 delta_e_quick lab_curve_8 lab_row \
    delta_e_bounds
MAY.colour = base

LAW.model = the nouns: palette, brick set, shelf, grid, panels, bricks, job
MODULES.model = image index_colours palette sizes stock grid region_list mounting lift panel laid laying \
    graph purchase parts difference job
MAY.model = base colour

LAW.picture = files to an image of cells
MODULES.picture = source exif profile decoder picture_png jpeg_planes picture_jpeg picture_tiff picture_pnm \
    picture_other picture held_picture sample
MAY.picture = base colour model

LAW.eye = what a viewer sees
MODULES.eye = eye_axis eye_blur eye unrest opponent metric_tensor perceived_error missing_colour
MAY.eye = base colour model

LAW.cells = a colour a cell
MODULES.cells = tone match_table match nearest_face dither calm accent brick_guess search_state cell_groups local_moves parallel_sweep \
    brick_penalty transport colour_quotas initial_face face_bricks merge_bricks face_part look
MAY.cells = base colour model eye

LAW.layers = strokes to outlines, outlines to heights
MODULES.layers = gaussian lab_pixels geodesic colour_prior five_point random_walker label_pieces \
    outline cell_labels edge_distance layer_list heights outline_report
MAY.layers = base colour model

LAW.relief = steps a cell
MODULES.relief = guided islands relief saliency map_frame grey_map depth layer_picture stroked_cells subject
MAY.relief = base colour model picture layers

LAW.bricks/tiling = the fewest bricks for a flat field of colours
MODULES.bricks/tiling = field shape region components tiling_duals profile_dp window_search \
    tiling_solver through_joints cross_joints tile
MAY.bricks/tiling = base model

LAW.bricks/wall = courses that bond
MODULES.bricks/wall = course corbel course_prices course_tiles wall_panel wall_sweep \
    wall_local_search connect_pieces repair_panel course_dp bound
MAY.bricks/wall = base model bricks/tiling

LAW.bricks = the solid filled, panel by panel
MODULES.bricks = lay_plaque lay_wall lay cards
MAY.bricks = base model bricks/tiling bricks/wall

LAW.hold = what hangs together and what carries
MODULES.hold = bond relief_support connect_panels hollow
MAY.hold = base model bricks/wall

LAW.clutch = how hard joints must hold, in newtons
MODULES.clutch = structure minimum_degree block_cholesky springs demand splitting least_use touches load_case borne \
    holds
MAY.clutch = base model

LAW.figures = size, mass, price, hours, crates
MODULES.figures = mural measure raking_light relief_losses crates quote offer statics hold_report cautions
MAY.figures = base model eye layers relief bricks hold clutch

LAW.output = pictures, tables, the solid as a model, plan.json
MODULES.output = jpeg paint cells_png views layer_pictures face_pictures relief_render gltf csv_tables plan_json quote_json
MAY.output = base colour model eye layers relief clutch figures

LAW.book = the build book, on paper and as a page
MODULES.book = typeface pdf_file pdf_update pdf_verify pdf_bind draw legend chart sheet chart_sheet row_list arrange chart_pages \
    course_pages bags panel_pages front_pages photo_page handling_pages end_pages book holds_picture quote_page offer_page \
    kit_card kit outline page
MAY.book = base colour model clutch figures

LAW.plan = the driver and its stages, and a plan read back
MODULES.plan = outputs brick_list plan_reader told_bricks built_part brief region_cells cell_rules shelf studio frame cost \
    own_cells sampled_picture target cut_panels trial_lay face_colours raise body lay_pass lay_solid even_cards \
    plan_holds hold_ties mend_holds fit_stock brickwork plan_figures closing_notes print_notes size_notes \
    wall_thickness stage open_plan plan replan
MAY.plan = base colour model picture eye cells layers relief bricks hold clutch figures output book

LAW.study = comparing plans, picking colours
MODULES.study = swap_gains palette_subset pair_mixtures histogram curve candidate compare_sheet \
    compare pick
MAY.study = base colour model eye figures output book plan

LAW.show = many murals: one palette, shelf, order, journey, calendar
MODULES.show = day show_file show_folder mural_key make_murals show_pictures standing \
    stock_demand stock_shares planned show_palette calendar calendar_ics show_order show_loading show_crates \
    show_budget show_difference show_facts wall_view show_binding show_book show_index show_json show_notes show
MAY.show = base colour model eye cells relief figures output book plan study

LAW.camera = a photograph: light, place, colour
MODULES.camera = photo homography least_squares patch_mean light_field colour_fit colour_chart \
    patch_blobs find_chart photo_colours patch_list joined_colour measure_bricks
MAY.camera = base colour model picture

LAW.inspect = a photograph of a panel held to its plan
MODULES.inspect = panel_face light_levels pose face_nodes normal_equations align block_match find_pose \
    cell_light cell_colours judge inspection marks_picture inspection_files inspect_panel
MAY.inspect = base colour model camera output plan

LAW.check = a plan's promises from its files alone: shares nothing with what lays and writes
MODULES.check = verdict plan_facts check_core check_plan check_solid check_rules check_bond \
    check_difference check_lists check_orders check_model check_page check_content file_checks \
    check_files check_forces check check_binding check_show
MAY.check = base

LAW.api = the public header, src/rowlock.h, carried out by the rooms
MODULES.api = handle settings parts runs live live_views
MAY.api = base model eye output camera inspect plan study show check

LAW.serve = pages for devices: who may come in, requests, answers
MODULES.serve = token pairing entry incoming answer server host looker panel_photo
MAY.serve = base

LAW.bench = build books for many devices, with one state of what is laid
MODULES.bench = work_plan event work_state tally record laid_table board labels page_parts bench_routes bench
MAY.bench = base serve

LAW.desk = a page on this machine to plan on, upon the public header
MODULES.desk = settler working_folder setting_list colour_list trail worker viewer operand bench_beside commission \
    held_plans brick_photo page_parts routes desk
MAY.desk = base serve bench

LAW.command = options, help and main, upon the public header, the desk and the bench
MODULES.command = commands options help roff manual manual_formats version completion main
MAY.command = base desk bench

MODULES = $(foreach room,$(ROOMS),$(MODULES.$(room):%=$(room)/%))

PACKAGES = zlib libpng libjpeg libtiff-4 lcms2 cairo cairo-ft freetype2 jansson inih nettle $(SOLVER)
# Of linear programs; two modules alone read its headers.
SOLVER = clp
# What the program needs beside what its library does.
PROGRAM_PACKAGES = libmicrohttpd sqlite3 libqrencode
# For a release a room is compiled as one unit, which includes its files in reading order: the compiler
# begins once and reads headers once. So a static name is its room's own, but in those that are left out.
# `make WHOLE=` and all other modes compile file by file, and tell of names that shadow others.
WHOLE    = $(WHOLE.$(MODE))
WHOLE.release = $(filter-out layers book,$(ROOMS))
files_of = $(wildcard $(MODULES.$1:%=src/$1/%.c))
objects_of = $(if $(filter $1,$(WHOLE)),$(B)/$1/unit.o,$(patsubst src/%.c,$(B)/%.o,$(call files_of,$1)))
SOURCES  = $(foreach room,$(ROOMS),$(call files_of,$(room)))
OBJECTS  = $(foreach room,$(ROOMS),$(call objects_of,$(room))) $(B)/book/fonts.o $(B)/book/page_parts.o \
    $(B)/serve/pair_page.o $(B)/desk/page_parts.o $(B)/bench/page_parts.o
COMMAND  = $(filter $(B)/command/%,$(OBJECTS))
PAGES    = $(filter $(B)/serve/% $(B)/desk/% $(B)/bench/%,$(OBJECTS))
GROUND   = $(filter $(B)/base/%,$(OBJECTS))
INSIDE   = $(filter-out $(COMMAND) $(PAGES),$(OBJECTS))
# What is made from other files beside the sources, and joins the program.
JOINED   = $(addprefix $(B)/,book/page.js desk/desk.js bench/bench.js palette48.inc patches24.inc)
FOLDERS  = $(sort $(dir $(OBJECTS) $(JOINED)))
VERSION  = $(shell sed -n 's/^.define ROWLOCK_VERSION "\(.*\)"/\1/p' src/rowlock.h)
DAY      = $(shell sed -n 's/^.define ROWLOCK_DATE "\([^"]*\)".*/\1/p' src/rowlock.h)

# Whole numbers that have a name are reckoned with like others, which clang has doubts about.
WARN   = -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wstrict-prototypes -Wmissing-prototypes -Wvla \
    $(if $(STRICT),-Werror) $(if $(findstring clang,$(CC)),-Wno-enum-float-conversion)
STD    = -std=c17 $(or $(SEES.$(MODE)),$(SEES)) -pthread
# Of a system's headers POSIX.1-2008 is seen and no more: half as much to read for the compiler. What is
# newer, or a system's own, is seen by these modules alone.
SEES   = -D_XOPEN_SOURCE=700
BEYOND = base/system base/memory base/memory_file base/bytes clutch/least_use book/pdf_verify \
    check/check_page check/check_content check/check_binding serve/token serve/incoming
$(BEYOND:%=$(B)/%.o) $(addsuffix unit.o,$(dir $(BEYOND:%=$(B)/%))): SEES = -D_GNU_SOURCE
# As on a system that has POSIX and no more: what base/system has for others is left out, too, and of
# what is newer that is seen which POSIX has since. Tests may see all.
SEES.posix = -D_XOPEN_SOURCE=700 -U__linux__ -include tests/support/posix_2024.h
$(B)/tests/%: private SEES = -D_GNU_SOURCE
# Colour must come out the same on every compiler: no contraction, no fast math. Nobody asks
# errno about a root, which without it takes one instruction, also for many at once.
FLOAT  = -ffp-contract=off -fno-math-errno
OPT.release  = -O2 -g1 -DNDEBUG $(HARD)
# The same bytes whatever the folder: no path of it is kept, and the build's id comes of what is built.
SAME.release = -ffile-prefix-map=$(CURDIR)=.
# A defect that is still there stops the program instead of being made use of: checked calls of the
# C library, canaries, addresses that nobody can foretell, tables that are read-only once bound.
# -fPIC, so that whoever has the library may also link it into a shared object of their own.
HARD = -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2 -fstack-protector-strong -fPIC
LINK.release = -pie -Wl,-z,relro,-z,now,--build-id=sha1
OPT.debug    = -O0 -g3
OPT.posix    = -O2 -g1
OPT.sanitize = -O1 -g -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
OPT.coverage = -O0 -g1 --coverage
# Fuzzers: make MODE=fuzz CC=clang build/clang-fuzz/tests/fuzz/fuzz_icc, then run that with
# -dict=tests/fuzz/icc.dict FOUND tests/fuzz/corpus/icc; what it finds goes into the folder FOUND.
OPT.fuzz = -O1 -g -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all
CFLAGS  ?= $(OPT.$(MODE))
override CFLAGS += $(SAME.$(MODE)) $(STD) $(FLOAT) $(WARN) -fvisibility=hidden -MMD -MP -Isrc -I$(B) \
    $(HEADERS)
LINK    = $(LINK.$(MODE)) $(LDFLAGS)
LDLIBS  = $(LIBRARY_LIBS) -lm -pthread

# What pkg-config says is asked for once, at the first use: `make setup demo` brings it along first. Where
# libraries are static PKG_CONFIG="pkg-config --static" tells what they rest on, too.
PKG_CONFIG = pkg-config
once = $(eval $1 := $$(shell $2 2>/dev/null))$($1)
HEADERS = $(call once,HEADERS,$(PKG_CONFIG) --cflags-only-I $(filter-out $(SOLVER),$(PACKAGES)) $(PROGRAM_PACKAGES) | sed 's/-I/-isystem /g')
SOLVER_HEADERS = $(call once,SOLVER_HEADERS,$(PKG_CONFIG) --cflags-only-I $(SOLVER) | sed 's/-I/-isystem /g')
LIBRARY_LIBS = $(call once,LIBRARY_LIBS,$(PKG_CONFIG) --libs $(PACKAGES))
PROGRAM_LIBS = $(call once,PROGRAM_LIBS,$(PKG_CONFIG) --libs $(PROGRAM_PACKAGES))
TEST_LIBS    = $(call once,TEST_LIBS,$(PKG_CONFIG) --libs cmocka)

all: $(B)/rowlock

# The command and its desk have nothing of the library but what its header shows, and a ground
# room of their own.
$(B)/rowlock: $(COMMAND) $(PAGES) $(GROUND) $(B)/librowlock.a
	$(info link $@)
	$Q$(CC) $(CFLAGS) $(LINK) -o $@ $^ $(PROGRAM_LIBS) $(LDLIBS)

$(OBJECTS) $(JOINED): | $(FOLDERS)
$(FOLDERS):
	$Qmkdir -p $@

$(B)/%.o: src/%.c Makefile
	$(info cc $<)
	$Q$(CC) $(CFLAGS) -c -o $@ $<

$(foreach room,$(WHOLE),$(eval $(B)/$(room)/unit.o: $(call files_of,$(room))))
$(B)/%/unit.o: Makefile
	$(info cc src/$*)
	$Qprintf '#include "%s"\n' $(patsubst src/%,%,$(call files_of,$*)) > $(@:.o=.c)
	$Q$(CC) $(CFLAGS) -Wno-shadow -c -o $@ $(@:.o=.c)

$(addprefix $(B)/,clutch/least_use.o clutch/unit.o api/parts.o api/unit.o): override CFLAGS += $(SOLVER_HEADERS)

# stb_image_write shifts negative numbers to the left while it packs a JPEG, as every compiler
# here defines it; the sanitizer of undefined behaviour would stop there.
$(B)/output/jpeg.o: override CFLAGS += -fno-sanitize=shift

# The library for others is one object, in which all but what src/rowlock.h shows is local.
$(B)/librowlock.a: $(INSIDE)
	$(info link $@)
	$Q$(LD) -r -o $(B)/librowlock.o $^
	$Q$(OBJCOPY) --wildcard --keep-global-symbol='rowlock_*' $(B)/librowlock.o
	$Qrm -f $@ && $(AR) rcsD $@ $(B)/librowlock.o

# The same with all doors open, for tests and benches of the rooms.
$(B)/inside.a: $(INSIDE) $(PAGES)
	$Qrm -f $@ && $(AR) rcs $@ $^

# The book's typeface is part of the program. FONTS is a folder with the two files.
FONTS = $(or $(firstword $(patsubst %/DejaVuSansCondensed.ttf,%,$(wildcard $(FONT_PLACES:%=/usr/share/fonts/%/DejaVuSansCondensed.ttf)))),/usr/share/fonts/truetype/dejavu)
FONT_PLACES = truetype/dejavu dejavu dejavu-sans-fonts TTF
FONT_FILES = $(FONTS)/DejaVuSansCondensed.ttf $(FONTS)/DejaVuSansCondensed-Bold.ttf

$(B)/book/fonts.o: src/book/fonts.S $(FONT_FILES) Makefile
	$(info as $<)
	$Q$(CC) -c -DFONT_REGULAR='"$(word 1,$(FONT_FILES))"' \
	    -DFONT_BOLD='"$(word 2,$(FONT_FILES))"' -o $@ $<

# The page is part of the program: a skeleton, a style and the scripts in reading order.
PAGE_SCRIPTS = $(patsubst %,src/book/page/%.js,dom plan steps progress work awake view face true_size bench wall \
    key relief main)

$(B)/book/page.js: $(PAGE_SCRIPTS) Makefile
	$(info make $@)
	$Qcat $(PAGE_SCRIPTS) > $@

$(B)/book/page_parts.o: src/book/page_parts.S src/book/page/page.html src/book/page/page.css $(B)/book/page.js
	$(info as $<)
	$Q$(CC) -c -DPAGE_HTML='"src/book/page/page.html"' \
	    -DPAGE_CSS='"src/book/page/page.css"' -DPAGE_JS='"$(B)/book/page.js"' -o $@ $<

# So is the desk's, which shares the first of the scripts, and two with the bench's.
DESK_PAGE = src/desk/page
DESK_SCRIPTS = src/book/page/dom.js $(DESK_PAGE)/talk.js src/serve/page/photo.js \
    $(patsubst %,$(DESK_PAGE)/%.js,png stages form cost room wall strip colours crop painter painted touch heights \
    lamp panel_photo brick_photo main)

$(B)/desk/desk.js: $(DESK_SCRIPTS) Makefile
	$(info make $@)
	$Qcat $(DESK_SCRIPTS) > $@

$(B)/desk/page_parts.o: src/desk/page_parts.S $(DESK_PAGE)/desk.html $(DESK_PAGE)/desk.css $(B)/desk/desk.js
	$(info as $<)
	$Q$(CC) -c -DDESK_HTML='"$(DESK_PAGE)/desk.html"' \
	    -DDESK_CSS='"$(DESK_PAGE)/desk.css"' -DDESK_JS='"$(B)/desk/desk.js"' -o $@ $<

# And the bench's, which shares three.
BENCH_PAGE = src/bench/page
BENCH_SCRIPTS = src/book/page/dom.js $(DESK_PAGE)/talk.js src/serve/page/photo.js \
    $(patsubst %,$(BENCH_PAGE)/%.js,share crew photograph main)

$(B)/bench/bench.js: $(BENCH_SCRIPTS) Makefile
	$(info make $@)
	$Qcat $(BENCH_SCRIPTS) > $@

$(B)/bench/page_parts.o: src/bench/page_parts.S $(BENCH_PAGE)/bench.html $(BENCH_PAGE)/bench.css $(B)/bench/bench.js
	$(info as $<)
	$Q$(CC) -c -DBENCH_HTML='"$(BENCH_PAGE)/bench.html"' \
	    -DBENCH_CSS='"$(BENCH_PAGE)/bench.css"' -DBENCH_JS='"$(B)/bench/bench.js"' -o $@ $<

$(B)/serve/pair_page.o: src/serve/pair_page.S src/serve/pair.html
	$(info as $<)
	$Q$(CC) -c -DSERVE_PAIR='"src/serve/pair.html"' -o $@ $<

# The palette of a plan without --palette is part of the program too, as numbers for an
# initialiser.
$(B)/palette48.inc: palettes/bricks-48.cgats Makefile
	$(info make $@)
	$Qod -An -v -td1 $< | sed 's/[0-9][0-9]*/&,/g' > $@

$(B)/model/palette.o $(B)/model/unit.o: $(B)/palette48.inc

# So is the usual colour chart.
$(B)/patches24.inc: charts/patches-24.cgats Makefile
	$(info make $@)
	$Qod -An -v -td1 $< | sed 's/[0-9][0-9]*/&,/g' > $@

$(B)/camera/colour_chart.o $(B)/camera/unit.o: $(B)/patches24.inc

# ---- tests: tests/ROOM/test_NAME.c are programs of their own ----

TESTS = $(patsubst %.c,$(B)/%,$(sort $(wildcard tests/*/test_*.c)))

$(B)/tests/%: tests/%.c $(B)/inside.a Makefile
	$(info cc $<)
	@mkdir -p $(@D)
	$Q$(CC) $(CFLAGS) $(if $(SEES.$(MODE)),-D_GNU_SOURCE) $(LINK) -Itests -o $@ $< $(B)/inside.a $(PROGRAM_LIBS) $(LDLIBS) $(TEST_LIBS)

# Preloaded by end_to_end/test_allocations.
FAILING = $(B)/tests/support/failing_malloc.so
$(FAILING): tests/support/failing_malloc.c Makefile
	$(info cc $<)
	@mkdir -p $(@D)
	$Q$(CC) -std=c17 -D_GNU_SOURCE $(WARN) -Wno-missing-prototypes -O1 -shared -fPIC -o $@ $<

$(B)/tests/end_to_end/test_allocations: $(FAILING)

BENCHES = $(patsubst %.c,$(B)/%,$(sort $(wildcard tests/bench/bench_*.c)))

SCRIPT_TESTS = $(addprefix tests/end_to_end/,page/test_page_at_work page/test_page_looks \
    page/test_desk_in_browser page/test_bench_in_browser page/test_show_page page/test_scripts \
    gltf/test_gltf schema/test_schema house/test_house words/test_commands install/test_install \
    install/test_setup)

# The tests that take long, the longest first: they are begun first, so that none of them is
# left over when the rest is done.
LONG = end_to_end/page/test_desk_in_browser end_to_end/page/test_page_looks \
    end_to_end/page/test_page_at_work plan/test_replan api/test_live end_to_end/page/test_bench_in_browser \
    relief/test_subject hold/test_hollow plan/test_replan_refused end_to_end/test_command \
    hold/test_relief_support end_to_end/test_random_jobs cells/test_merge_bricks hold/test_raised \
    plan/test_cell_rules study/test_compare cells/test_look bricks/test_tile plan/test_stop \
    end_to_end/test_allocations plan/test_plan desk/test_server
ALL_TESTS  = $(TESTS) $(SCRIPT_TESTS)
LONG_TESTS = $(foreach name,$(LONG),$(filter %/$(name),$(ALL_TESTS)))
SHORT_TESTS = $(filter-out $(LONG_TESTS),$(ALL_TESTS))
# A part that has something of every room, for builds that are slow: without what takes long, and
# without the scripts, which tell nothing of a build.
FAST_TESTS = $(filter-out $(LONG_TESTS),$(TESTS))

# What the program prints of itself; tests read it, and it is installed.
MANUALS     = $(B)/rowlock.1 $(B)/rowlock.5
COMPLETIONS = $(addprefix $(B)/completion/,rowlock _rowlock rowlock.fish)

# Built on all processors, also where nobody says -j: `make setup test` must do one after the other.
SIDE_BY_SIDE = $(if $(filter -j%,$(MAKEFLAGS)),,-j$(shell nproc))
test:
	+$Q$(MAKE) --no-print-directory $(SIDE_BY_SIDE) all-tests
	$QB=$(B) tests/support/run $(LONG_TESTS) $(SHORT_TESTS)

all-tests: $(TESTS) $(B)/rowlock $(MANUALS) $(COMPLETIONS) $(B)/tests/end_to_end/page/sample

test-fast:
	+$Q$(MAKE) --no-print-directory $(SIDE_BY_SIDE) fast-tests
	$QB=$(B) tests/support/run $(FAST_TESTS)

fast-tests: $(FAST_TESTS) $(B)/rowlock $(MANUALS) $(COMPLETIONS)

# What the tests reach, in a build of its own that counts. A test that fails is no hindrance.
coverage:
	+$Q$(MAKE) --no-print-directory $(SIDE_BY_SIDE) MODE=coverage B=build/coverage coverage-counts

coverage-counts: all-tests
	$Qfind $(B) -name "*.gcda" -delete
	-$QB=$(B) tests/support/run $(LONG_TESTS) $(SHORT_TESTS)
	$Qtests/support/coverage $(B) $(SOURCES)

# All that can be compiled, for the warnings of another compiler.
programs: all $(TESTS) $(BENCHES) $(B)/tests/bench/growth $(B)/tests/end_to_end/page/sample

# Renews the golden results; review the difference before it is committed.
bless: $(TESTS) $(B)/rowlock
	$QBLESS=1 B=$(B) tests/support/run $(TESTS)

bench: $(BENCHES) $(B)/rowlock
	$Qfor bench in $(BENCHES); do echo "== $${bench##*/}"; B=$(B) $$bench || exit 1; done

# How cost grows with cells and colours; CELLS is the most that are tried. Takes minutes.
CELLS = 12000000
bench-growth: $(B)/tests/bench/growth $(B)/rowlock
	$QB=$(B) $< $(CELLS)

# How soon the desk's page shows a change, in a browser (make setup installs what it needs).
bench-desk: $(B)/rowlock $(B)/tests/end_to_end/page/sample
	$QB=$(B) node tests/end_to_end/page/measure_desk.mjs

# How soon many devices at one bench see what one of them lays.
bench-shared: $(B)/rowlock
	$QB=$(B) node tests/end_to_end/page/measure_bench.mjs

$(B)/tests/fuzz/fuzz_%: tests/fuzz/fuzz_%.c $(B)/inside.a Makefile
	$(info cc $<)
	@mkdir -p $(@D)
	$Q$(CC) $(CFLAGS) $(LINK) -fsanitize=fuzzer -Itests -o $@ $< $(B)/inside.a $(PROGRAM_LIBS) $(LDLIBS)

# ---- the demonstration ----

$(B)/harbour: demo/harbour.c Makefile
	$(info cc $<)
	@mkdir -p $(@D)
	$Q$(CC) $(CFLAGS) $(LINK) -o $@ $< $(LDLIBS)

# Painted while the program is still being compiled.
demo-pictures: $(B)/harbour
	@mkdir -p out
	$Q$< out/harbour.png out/harbour-strokes.png

demo:
	+$Q$(MAKE) --no-print-directory $(SIDE_BY_SIDE) demo-pictures $(B)/rowlock
	$Q$(B)/rowlock plan --job demo/harbour.ini --reference out/harbour.png --out out/demo
	$Q$(B)/rowlock plan --job demo/harbour-relief.ini --reference out/harbour.png --out out/demo-relief
	@echo "The plan is in out/demo: open preview.png, distance.png and book.pdf, then parts.csv."
	@echo "The same in relief is in out/demo-relief: open relief.png and relief.glb."
	@echo "To see it change as you change it: $(B)/rowlock desk demo/harbour.ini"

# ---- what the project needs ----

# The tests' tools come where a test is asked for, or with KINDS="program tests".
KINDS = program $(if $(filter test% bless coverage bench%,$(MAKECMDGOALS)),tests)
NODE_TESTS = $(addprefix tests/end_to_end/,page gltf schema)
setup:
	$QFONTS=$(FONTS) tests/support/setup "$(PACKAGES) $(PROGRAM_PACKAGES)" $(KINDS)
	$Qfor folder in $(if $(filter tests,$(KINDS)),$(NODE_TESTS)); do \
	    [ $$folder/node_modules/.package-lock.json -nt $$folder/package-lock.json ] || \
	    (cd $$folder && npm ci --silent --no-audit --no-fund) || \
	    echo "$$folder: npm ci did not go through; its tests will be skipped"; done

# What `make lint` and the build with clang need besides.
setup-lint:
	$Qtests/support/setup "" lint

# ---- order, lint, install ----

# The rooms, a line each: name | what happens there | modules | rooms that it may include.
define ROOM_LINES
$(foreach room,$(ROOMS),$(room)|$(LAW.$(room))|$(strip $(MODULES.$(room)))|$(strip $(MAY.$(room)))
)
endef
export ROOM_LINES

# ORDER_IN is where the sources lie, for the test of this rule.
ORDER_IN = src
order:
	$Qprintf '%s\n' "$$ROOM_LINES" | tests/support/order $(ORDER_IN)

floors:
	$Qprintf '%s\n' "$$ROOM_LINES" | awk -F'|' 'BEGIN { print "| room | what happens there | modules | may include |"; \
	    print "| --- | --- | --- | --- |" } NF { sub(/^ /, "", $$1); print "| `" $$1 "` | " $$2 " | " $$3 " | " $$4 " |" }'

# Suppressed: what cppcheck 2.10 sees and the code's loops and asserts rule out; the
# sanitizers watch the same at run time.
CPPCHECK_WRONG = missingIncludeSystem uninitvar negativeIndex:src/bricks/wall/course.c \
    negativeIndex:src/book/legend.c memleak:src/base/memory.c \
    arrayIndexOutOfBoundsCond:src/command/options.c

lint: order
	$Qcommand -v clang-format cppcheck >/dev/null || \
	    { echo "make lint needs clang-format and cppcheck: make setup-lint"; exit 69; }
	$Qclang-format --dry-run -Werror $$(git ls-files "*.c" "*.h")
	$Qcppcheck -j2 --quiet --std=c11 --enable=warning,performance,portability --error-exitcode=1 \
	    $(CPPCHECK_WRONG:%=--suppress=%) -Isrc src demo

# What is linked with the library needs, beside it, the libraries that it rests on.
$(B)/rowlock.pc: src/rowlock.h Makefile
	$Qprintf '%s\n' 'prefix=$(PREFIX)' 'libdir=$${prefix}/$(LIBRARY)' 'includedir=$${prefix}/include' '' \
	    'Name: rowlock' 'Description: plans murals of rectangular bricks' 'Version: $(VERSION)' \
	    'Requires.private: $(PACKAGES)' 'Libs: -L$${libdir} -lrowlock' \
	    'Libs.private: -lm -pthread' 'Cflags: -I$${includedir}' > $@

$(B)/rowlock.1: $(B)/rowlock
	$Q$(B)/rowlock --manual > $@

$(B)/rowlock.5: $(B)/rowlock
	$Q$(B)/rowlock --manual=formats > $@

# Each shell looks for its script under a name of its own.
SHELL_OF.rowlock = bash
SHELL_OF._rowlock = zsh
SHELL_OF.rowlock.fish = fish

$(COMPLETIONS): $(B)/rowlock
	@mkdir -p $(@D)
	$Q$(B)/rowlock --completion $(SHELL_OF.$(@F)) > $@

# What is installed: mode, file, folder under PREFIX, a line each. The uninstaller reads the same.
define INSTALLED
755 $(B)/rowlock bin
644 $(B)/rowlock.1 share/man/man1
644 $(B)/rowlock.5 share/man/man5
644 $(B)/completion/rowlock share/bash-completion/completions
644 $(B)/completion/_rowlock $(ZSH)
644 $(B)/completion/rowlock.fish share/fish/vendor_completions.d
644 $(B)/librowlock.a $(LIBRARY)
644 src/rowlock.h include
644 $(B)/rowlock.pc $(LIBRARY)/pkgconfig
$(foreach schema,$(sort $(wildcard src/output/schema/*)),644 $(schema) share/rowlock/schema
)
$(foreach palette,$(sort $(wildcard palettes/*)),644 $(palette) share/rowlock/palettes
)$(foreach chart,$(sort $(wildcard charts/*)),644 $(chart) share/rowlock/charts
)
endef
export INSTALLED

# The paths in rowlock.pc are those of PREFIX, so it is made for this installation.
install: $(B)/rowlock $(MANUALS) $(COMPLETIONS) $(B)/librowlock.a
	$Qrm -f $(B)/rowlock.pc && $(MAKE) --no-print-directory $(B)/rowlock.pc
	$Qprintf '%s\n' "$$INSTALLED" | while read -r mode file folder; do [ -z "$$mode" ] || \
	    install -D -m $$mode "$$file" "$(DESTDIR)$(PREFIX)/$$folder/$${file##*/}" || exit 1; done

uninstall:
	$Qprintf '%s\n' "$$INSTALLED" | while read -r mode file folder; do [ -z "$$mode" ] || \
	    rm -f "$(DESTDIR)$(PREFIX)/$$folder/$${file##*/}" || exit 1; done
	$Qfor folder in share/rowlock/palettes share/rowlock/charts share/rowlock/schema share/rowlock; do \
	    rmdir "$(DESTDIR)$(PREFIX)/$$folder" 2>/dev/null || :; done

# ---- packages ----

# The sources, as git has them listed: the same bytes from any folder.
dist:
	$Qmkdir -p build
	$Qgit ls-files | LC_ALL=C sort | tar --format=gnu --no-recursion --owner=0 --group=0 --numeric-owner \
	    --mode=u+rw,go=u-w --mtime='$(DAY) 00:00 UTC' --transform='s,^,rowlock-$(VERSION)/,' -cf - -T - | \
	    gzip -9n > build/rowlock-$(VERSION).tar.gz
	@echo build/rowlock-$(VERSION).tar.gz

deb: $(B)/rowlock $(B)/harbour $(MANUALS) $(COMPLETIONS) $(B)/librowlock.a
	$Qtests/support/deb $(B) $(VERSION) $(DAY) $(MAKE) CC="$(CC)" FONTS="$(FONTS)"

# Before a release, as root: the packages pass lintian, and in a bare Debian they are installed, plan
# the demonstration and go again. ROOM is where a root is made; one that lies there is used again.
SUITE = bookworm
ROOM  = /tmp/rowlock-roots
deb-check: deb
	$Qtests/support/deb_check $(B)/deb $(SUITE) $(ROOM)

# Before a release: builds for another processor and runs the fast tests, golden plans among them, under an
# emulator. DOES names other goals to make there.
DOES = test-fast
cross-check:
	+$Qtests/support/cross_check $(SUITE) $(ROOM) $(MAKE) --no-print-directory $(DOES)

# Before a release: another folder gives the same packages and the same tarball.
dist-check: deb dist
	$Qtests/support/dist_check $(B)/deb build/rowlock-$(VERSION).tar.gz $(MAKE) CC="$(CC)" FONTS="$(FONTS)"

clean:
	rm -rf build out

.PHONY: all programs test test-fast all-tests fast-tests bless bench bench-desk bench-shared bench-growth coverage \
    coverage-counts demo demo-pictures setup setup-lint order floors lint install uninstall dist deb deb-check \
    dist-check cross-check clean
-include $(shell find $(B) -type f -name "*.d" 2>/dev/null)
