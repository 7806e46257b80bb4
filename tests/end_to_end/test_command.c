/* The program from outside: exit codes, messages, files whole or not at all, the same
 * bytes for any thread count, locale and time zone. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "support/command.h"

#include <math.h>

#include <png.h>

/* A small picture with smooth and hard parts. */
static void paint_reference(const char *name, int width, int height)
{
    png_image image = {.version = PNG_IMAGE_VERSION,
                       .width = (png_uint_32)width,
                       .height = (png_uint_32)height,
                       .format = PNG_FORMAT_RGB};
    png_bytep pixels = malloc((size_t)width * (size_t)height * 3), p = pixels;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++, p += 3) {
            const int disc =
                (x - width / 2) * (x - width / 2) + (y - height / 2) * (y - height / 2);
            p[0] = (png_byte)(255 * x / width);
            p[1] = (png_byte)(255 * y / height);
            p[2] = disc < width * width / 16 ? 230 : 40;
        }
    assert_true(png_image_write_to_file(&image, in_room(name), 0, pixels, 0, NULL));
    free(pixels);
}

static int setup(void **state)
{
    if (command_setup(state)) return -1;
    paint_reference("ref.png", 160, 120);
    return 0;
}

static void says_one_line(const char *part)
{
    if (!strstr(command_said, part)) fail_msg("says '%s', not '%s'", command_said, part);
    assert_ptr_equal(strchr(command_said, '\n'), command_said + strlen(command_said) - 1);
    assert_non_null(strstr(command_said, "rowlock: "));
    assert_non_null(strstr(command_said, "; "));
}

static void exit_codes_follow_sysexits(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock"), 64);
    says_one_line("no command");
    assert_int_equal(shell("rowlock paln"), 64);
    assert_int_equal(shell("rowlock plan ref.png --columns 20"), 64);
    assert_int_equal(shell("rowlock plan ref.png --out o"), 64);
    assert_int_equal(shell("rowlock plan ref.png --columns 20 --width 1m --out o"), 64);
    assert_int_equal(shell("rowlock plan ref.png --columns 2x --out o"), 64);
    says_one_line("--columns");
    assert_int_equal(shell("rowlock plan ref.png --columns 20 --wobble 3 --out o"), 64);
    says_one_line("--wobble");
    assert_int_equal(shell("rowlock plan ref.png extra.png --columns 20 --out o"), 64);
    assert_int_equal(shell("rowlock plan none.png --columns 20 --out o"), 66);
    assert_int_equal(shell("rowlock check none"), 66);
    assert_int_equal(shell("echo text > bad.png; rowlock plan bad.png --columns 20 --out o"), 65);
    says_one_line("bad.png");
    assert_int_equal(shell("echo x > file; rowlock plan ref.png --columns 20 --out file"), 73);
    assert_int_equal(shell("rowlock plan ref.png --columns 20 --out file/under"), 73);
    assert_int_equal(shell("test -e o"), 1);
}

/* What is seen close by: with all the weight on it cells come nearer to the picture, each by
 * itself. */
static void detail_is_a_matter_of_weight(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock plan ref.png --columns 40 --distance 20m --detail 0 --book no "
                           "--quote no --out detail-a"),
                     0);
    assert_int_equal(shell("rowlock plan ref.png --columns 40 --distance 20m --detail 1 --book no "
                           "--quote no --out detail-b"),
                     0);
    assert_int_equal(shell("cd detail-a && grep -q '\"detail\": \"0\"' plan.json"), 0);
    assert_int_equal(shell("mean() { sed -n 's/.*\"mean_de00\": *\\([0-9.]*\\).*/\\1/p' "
                           "$1/plan.json; }; "
                           "awk \"BEGIN { exit !($(mean detail-b) < $(mean detail-a)) }\""),
                     0);
    assert_int_equal(shell("rowlock plan ref.png --columns 20 --detail 2 --out o"), 64);
    assert_int_equal(shell("rowlock compare ref.png --columns 20 --columns 30 "
                           "--detail 0.5 --out detail-c"),
                     0);
}

static void help_goes_to_standard_output(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock --help 2>/dev/null | grep -q plan"), 0);
    assert_int_equal(shell("rowlock plan --help 2>/dev/null | grep -q -- --palette"), 0);
    assert_int_equal(shell("rowlock check --help 2>/dev/null | grep -q promise"), 0);
    assert_int_equal(shell("rowlock --version"), 0);
    assert_int_equal(shell("rowlock --manual | grep -q 'panel..mass'"), 0);
    assert_int_equal(shell("rowlock --help > /dev/full"), 74);
}

static void a_plan_has_its_files_and_holds(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock plan ref.png --columns 60 --out o && rowlock check o"), 0);
    assert_int_equal(shell("cd o && ls"), 0);
    assert_string_equal(command_said,
                        "book.html\nbook.pdf\nbricks.csv\ncells.png\ndistance.png\nleft.csv\n"
                        "offer.pdf\n"
                        "order.csv\npanels.csv\nparts.csv\nplan.json\npreview.png\nproof.jpg\n"
                        "quote.json\nquote.pdf\nrows.csv\n");
    assert_int_equal(shell("rowlock plan ref.png --columns 60 --out o && rowlock check o"), 0);
    assert_int_equal(shell("test -e .o.partial"), 1);
}

static void the_same_bytes_whatever_the_surroundings(void **state)
{
    (void)state;
    /* Locales with a decimal comma and with another idea of upper case, made here. */
    assert_int_equal(shell("mkdir -p locales && for l in de_DE tr_TR; do "
                           "localedef -i $l -f UTF-8 locales/$l.UTF-8 || exit 1; done"),
                     0);
    setenv("LOCPATH", in_room("locales"), 1);
    assert_int_equal(shell("rowlock plan ref.png --columns 30 --out a --threads 1"), 0);
    assert_int_equal(shell("TZ=Asia/Tokyo LC_ALL=de_DE.UTF-8 LANG=de_DE.UTF-8 "
                           "rowlock plan ref.png --columns 30 --out b --threads 2"),
                     0);
    assert_int_equal(shell("TZ=America/Lima LC_ALL=tr_TR.UTF-8 "
                           "rowlock plan ref.png --columns 30 --out c --threads 3"),
                     0);
    assert_int_equal(shell("LC_ALL=C rowlock plan - --columns 30 --out d < ref.png"), 0);
    assert_int_equal(shell("diff -r a b && diff -r a c"), 0);
    assert_int_equal(shell("cmp a/bricks.csv d/bricks.csv && cmp a/preview.png d/preview.png"), 0);
}

static void the_users_files_stay(void **state)
{
    (void)state;
    assert_int_equal(shell("mkdir u && echo mine > u/notes.txt && "
                           "rowlock plan ref.png --columns 20 --out u && cat u/notes.txt"),
                     0);
    assert_string_equal(strstr(command_said, "mine"), "mine\n");
    assert_int_equal(shell("mkdir u/sub && rowlock plan ref.png --columns 21 --out u"), 73);
    assert_int_equal(shell("rowlock check u && rmdir u/sub"), 0);
    assert_int_equal(shell("rowlock plan ref.png --columns 22 --out u && test -e u/notes.txt"), 0);
}

static void a_stopped_run_leaves_the_earlier_plan(void **state)
{
    (void)state;
    paint_reference("large.png", 1600, 1200);
    assert_int_equal(shell("rowlock plan ref.png --columns 40 --out s && cp -r s kept"), 0);
    for (int tenths = 0; tenths < 8; tenths++)
        for (int i = 0; i < 3; i++) {
            const char *name[] = {"TERM", "INT", "KILL"};
            const int expected[] = {75, 75, 137};
            const int code = shell("timeout -s %s 0.%d%d '%s' plan large.png --columns 700 --out s",
                                   name[i], tenths / 2, tenths % 2 * 5 + 1, command_program);
            if (code != 124) assert_int_equal(code, expected[i]);
            assert_int_equal(shell("diff -r s kept"), 0);
        }
    /* What the killed run left beside it is cleared by the next. */
    assert_int_equal(shell("rowlock plan ref.png --columns 41 --out s && rowlock check s"), 0);
    assert_int_equal(shell("ls -a | grep -c partial"), 1);
}

static void a_full_disk_leaves_the_earlier_plan(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock plan ref.png --columns 40 --out f && cp -r f kept2"), 0);
    /* A limit on the size of files stands for the full disk. Which file is said to have met it
     * does not depend on the threads. */
    for (int blocks = 1, code = 74; code && blocks < 60; blocks = blocks * 2 + 1)
        for (int threads = 1; threads <= 4; threads += 3) {
            code = shell("trap '' XFSZ; ulimit -f %d; rowlock plan ref.png --columns 90 "
                         "--threads %d --out f 2> err%d; "
                         "code=$?; ulimit -f unlimited; cat err%d; exit $code",
                         blocks, threads, threads, threads);
            assert_true(code == 74 || code == 0);
            if (!code) break;
            assert_int_equal(shell("diff -r f kept2 && cmp err1 err%d", threads), 0);
        }
}

static void cells_come_back_edited(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock plan ref.png --columns 30 --book no --quote no --out e"), 0);
    assert_int_equal(shell("cp e/cells.png edited.png && rowlock plan ref.png --cells edited.png "
                           "--book no --quote no --out e2"),
                     0);
    assert_int_equal(shell("cmp e/bricks.csv e2/bricks.csv && rowlock check e2"), 0);
    assert_int_equal(shell("rowlock plan ref.png --cells ref.png --columns 160 --out e3"), 65);
    says_one_line("ref.png: column 1, row");
    assert_int_equal(shell("rowlock plan ref.png --cells edited.png --columns 31 --out e3"), 65);
}

static void standard_input_may_be_slow_or_closed(void **state)
{
    (void)state;
    assert_int_equal(shell("(sleep 1; cat ref.png) | rowlock plan - --columns 9 --out slow"), 0);
    assert_int_equal(shell("mkfifo never; sleep 20 > never & sleeper=$!; "
                           "timeout --preserve-status -s TERM 1 '%s' plan - --columns 9 --out slow "
                           "< never; code=$?; kill $sleeper; exit $code",
                           command_program),
                     75);
    says_one_line("stopped from outside");
    assert_int_equal(shell("rowlock check slow"), 0);
    assert_int_equal(shell("rowlock plan - --columns 9 --out closed <&-"), 65);
    says_one_line("standard input: is empty");
    assert_int_equal(shell("rowlock plan ref.png --columns 9 --out closed >&- 2>&- <&- && "
                           "rowlock check closed"),
                     0);
    assert_int_equal(shell("rowlock --help >&-"), 74);
    assert_int_equal(shell("rowlock plan ref.png --palette . --columns 9 --out closed"), 66);
    says_one_line("is a folder");
    assert_int_equal(shell("rowlock plan --job . --out closed"), 66);
    says_one_line("is a folder");
}

/* A wall of one row is as many pieces as bricks. */
static void a_wall_that_cannot_hold_is_said_by_both(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock plan ref.png --build wall --columns 300 --rows 1 --panel 9x9 "
                           "--out loose --quiet"),
                     1);
    assert_int_equal(shell("rowlock check loose"), 1);
    assert_non_null(strstr(command_said, " more panels in pieces"));
    assert_null(strstr(command_said, "(null)"));
}

static void palettes_of_any_name_are_compared(void **state)
{
    (void)state;
    assert_int_equal(
        shell("printf 'id,name,hex\\nA,a,#808080\\n' > a.csv; "
              "n=$(printf 'a\\377.csv'); cp a.csv $n; rowlock compare ref.png --palette "
              "a.csv --palette $n --columns 9 --out named --quiet && "
              "grep -q '^2,a?,' named/compare.csv"),
        0);
}

/* Two colours of one look on a screen, of which the shelf allows too few each. */
static void cells_come_back_where_colours_look_alike(void **state)
{
    (void)state;
    assert_int_equal(shell("printf 'id,name,hex\\nA,a,#808080\\nB,b,#808080\\nC,c,#ff0000\\n' "
                           "> alike.csv; printf 'colour,size,quantity,price\\nA,1x1,300,\\n"
                           "B,1x1,300,\\nC,1x1,300,\\n' > few.csv"),
                     0);
    const char *with = "--palette alike.csv --stock few.csv --stock-only";
    assert_int_equal(shell("rowlock plan ref.png --columns 30 --book no --quote no %s --out l && "
                           "rowlock plan ref.png "
                           "--book no --quote no --cells l/cells.png %s --out l2 && cmp "
                           "l/bricks.csv l2/bricks.csv && "
                           "cmp l/cells.png l2/cells.png && rowlock check l2 && "
                           "grep -q ',B,' l/bricks.csv",
                           with, with),
                     0);
    assert_int_equal(
        shell("rowlock plan ref.png --book no --quote no --cells - %s --out l3 < l/cells.png && "
              "cmp l/bricks.csv l3/bricks.csv",
              with),
        0);
    assert_int_equal(shell("rowlock plan --cells l/cells.png %s --out l3", with), 64);
    says_one_line("no reference");
}

/* What is given and counts for nothing is said, once; what counts is not. */
static void idle_settings_are_said(void **state)
{
    (void)state;
    assert_int_equal(shell("rowlock plan ref.png --columns 12 --book no --quote no --steps 4 "
                           "--thickness 2 --out i"),
                     0);
    assert_non_null(strstr(command_said, "note: --steps: counts for nothing"));
    assert_non_null(strstr(command_said, "note: --thickness: counts for nothing"));
    assert_int_equal(
        shell("rowlock plan ref.png --columns 12 --book no --quote no --steps 2 --thickness 2 "
              "--build wall --relief luminance --toward dark --out i || [ $? = 1 ]"),
        0);
    assert_null(strstr(command_said, "counts for nothing"));
    assert_int_equal(
        shell(
            "rowlock plan ref.png --columns 12 --book no --quote no --kit 4x4 --panel 8x8 --out i"),
        0);
    assert_non_null(strstr(command_said, "note: --panel: counts for nothing"));
}

/* A plan that does not hold is no failure; still less is a laying that was only tried. */
static void only_failures_are_errors(void **state)
{
    (void)state;
    assert_int_equal(shell("printf 'size\\n1x1\\n2x2\\n' > odd.csv && rowlock plan ref.png "
                           "--columns 1 --rows 1 --build wall --thickness 6 --bricks odd.csv "
                           "--favour bond --book no --quote no --quiet --out unheld"),
                     1);
    assert_string_equal(command_said, "");
}

/* What a job file turns on, the command line turns off. */
static void switches_are_undone(void **state)
{
    (void)state;
    assert_int_equal(shell("printf 'columns = 9\\nbook = no\\nstock-only = yes\\n' > sw.ini && "
                           "rowlock plan ref.png --job sw.ini --out sw"),
                     64);
    says_one_line("or say --stock-only=no");
    assert_int_equal(shell("rowlock plan ref.png --job sw.ini --stock-only=no --out sw && "
                           "grep -q '\"stock-only\": \"no\"' sw/plan.json"),
                     0);
    const char *last = strstr(command_said, "note: done: 72 × "); /* nine columns of 8 mm */
    assert_non_null(last);
    assert_non_null(strstr(last, "no prices given"));
    assert_string_equal(strstr(last, "; open "), "; open sw/preview.png first\n");
    assert_int_equal(shell("rowlock plan ref.png --job sw.ini --stock-only=no --quiet=yes --out "
                           "sw"),
                     0);
    assert_string_equal(command_said, "");
    assert_int_equal(shell("rowlock plan ref.png --job sw.ini --stock-only=perhaps --out sw"), 64);
    says_one_line("neither");
}

static void job_files_are_options(void **state)
{
    (void)state;
    assert_int_equal(
        shell("mkdir -p jobs && cp ref.png jobs/ && printf '[size]\\ncolumns = 33 ; cells\\n"
              "[colour]\\nreference=ref.png\\ndither = floyd-steinberg\\n' > jobs/j.ini && "
              "rowlock plan --job jobs/j.ini --out j && "
              "rowlock plan ref.png --columns 33 --dither floyd-steinberg --out j2 && "
              "cmp j/bricks.csv j2/bricks.csv"),
        0);
    assert_int_equal(shell("rowlock plan --job jobs/j.ini --width 20cm --out j3 && "
                           "grep -q '\"columns\": 25,' j3/plan.json"),
                     0);
    assert_int_equal(
        shell(
            "printf 'columns=3\\nwobble=4\\n' > jobs/k.ini; rowlock plan --job jobs/k.ini --out k"),
        65);
    says_one_line("k.ini:2: wobble");
    assert_int_equal(shell("printf 'columns=3\\ncolumns=4\\n' > jobs/k.ini; rowlock plan --job "
                           "jobs/k.ini --out k"),
                     65);
    says_one_line("line 1");
    assert_int_equal(
        shell("printf 'columns=0x3\\n' > jobs/k.ini; rowlock plan --job jobs/k.ini --out k"), 65);
    assert_int_equal(shell("rowlock plan --job jobs/none.ini --out k"), 66);
    /* Indented, with a byte order mark, line ends of another system. */
    assert_int_equal(
        shell("printf '\\357\\273\\277[size]\\r\\n  columns = 33\\r\\n\\trows = "
              "9\\r\\n' > jobs/k.ini; rowlock plan ref.png --job jobs/k.ini --out k && "
              "grep -q '\"rows\": 9,' k/plan.json"),
        0);
    assert_int_equal(
        shell("printf 'columns=3\\rrows=4\\n' > jobs/k.ini; rowlock plan --job jobs/k.ini --out k"),
        65);
    says_one_line("k.ini:1: a carriage return");
    /* As long a name as there may be, and no longer. */
    assert_int_equal(
        shell("d=$(printf '%%0240d' 0)/$(printf '%%0240d' 1); mkdir -p jobs/$d && "
              "cp ref.png jobs/$d/ && printf 'columns = 9\nreference = %%s/ref.png ; here\n' $d "
              "> jobs/k.ini; rowlock plan --job jobs/k.ini --out k"),
        0);
    assert_int_equal(shell("printf 'out = %%01010d\n' 0 > jobs/k.ini; rowlock plan ref.png "
                           "--columns 9 --job jobs/k.ini --out k"),
                     0);
    assert_int_equal(shell("printf 'columns = 9\nout = %%01030d\n' 0 > jobs/k.ini; rowlock plan "
                           "--job jobs/k.ini"),
                     65);
    says_one_line("k.ini:2: out: longer than 1023 bytes");
    assert_int_equal(
        shell("printf 'columns = 9\nout = %%02000d\n' 0 > jobs/k.ini; rowlock plan --job "
              "jobs/k.ini"),
        65);
    says_one_line("k.ini:2: a line of");
}

/* Each brick at the set's price and 30 / 150 of labour, added up by awk. */
static void a_laying_that_favours_cost_says_how_near_it_is(void **state)
{
    (void)state;
    static const char *const build[] = {"", "--build wall --thickness 2",
                                        "--relief luminance --steps 3"};
    for (size_t i = 0; i < sizeof build / sizeof *build; i++) {
        assert_int_equal(shell("printf 'size,mass_g,price\\n1x1,1,0.15\\n1x2,2,0.17\\n1x4,3,0.3\\n"
                               "2x2,4,0.21\\n2x4,6,0.4\\n' > set.csv && "
                               "rowlock plan ref.png --columns 40 --bricks set.csv --favour cost "
                               "--rate 30 --pace 150 --book no --quote no --out cost %s",
                               build[i]),
                         0);
        assert_non_null(strstr(command_said, "and their labour come to "));
        assert_int_equal(
            shell("sed -n 's/.*\"laying_cost[a-z_]*\": \\([0-9.]*\\),*/\\1/p' cost/plan.json; "
                  "awk -F, 'NR == FNR {p[$1] = $3; next} FNR > 1 {s += p[$8] + 0.2} END {print s}' "
                  "set.csv cost/bricks.csv"),
            0);
        double cost, bound, sum;
        assert_int_equal(sscanf(command_said, "%lf %lf %lf", &cost, &bound, &sum), 3);
        assert_true(fabs(cost - sum) < 0.01);
        assert_true(bound <= cost * (1 + 1e-9) && bound > 0.6 * cost);
    }
    assert_int_equal(
        shell("rowlock plan ref.png --columns 20 --bricks set.csv --book no --quote no --out cost "
              "&& ! grep laying_cost cost/plan.json"),
        0);
}

/* A bond is of fewer sizes than the fewest bricks are of, for at most a few bricks more: 6 in a
 * hundred, and one for what quick layings differ from the last. */
static void a_bond_is_of_few_sizes(void **state)
{
    (void)state;
    static const char *const build[] = {"", "--build wall --thickness 2"};
    for (size_t i = 0; i < sizeof build / sizeof *build; i++) {
        int bricks[2], sizes[2];
        for (int n = 0; n < 2; n++) {
            assert_int_equal(
                shell("rowlock plan ref.png --columns 60 --favour %s --book no --quote no --out "
                      "bonded %s && rowlock check bonded",
                      n ? "bond" : "bricks", build[i]),
                0);
            assert_int_equal(shell("awk -F, 'FNR > 1 {n += !seen[$8]++} END {print FNR - 1, n}' "
                                   "bonded/bricks.csv"),
                             0);
            assert_int_equal(sscanf(command_said, "%d %d", &bricks[n], &sizes[n]), 2);
        }
        assert_true(sizes[1] < sizes[0]);
        assert_true(bricks[1] <= 1.07 * bricks[0]);
    }
}

/* Whatever the name, the error is one line that ends in how to mend it. */
static void a_name_of_any_length_leaves_room_for_the_mend(void **state)
{
    (void)state;
    assert_int_equal(shell("n=$(printf '%%0900d' 0); rowlock plan $n --columns 9 --out o"), 66);
    says_one_line("; check the name");
    assert_int_equal(shell("n=$(printf '%%05000d' 0); rowlock check $n"), 64);
    says_one_line("longer than");
    assert_int_equal(shell("n=$(printf '%%05000d' 0); rowlock plan --job $n --out o"), 64);
    says_one_line("longer than");
    assert_int_equal(shell("n=$(printf '%%09000d' 0); rowlock plan --$n"), 64);
    says_one_line("no such option; see");
    assert_int_equal(shell("rowlock check ''"), 64);
    says_one_line("check: the name is empty");
    assert_int_equal(shell("rowlock plan ref.png --job '' --out o"), 64);
    says_one_line("--job: the name is empty");
}

static void a_name_of_any_bytes_is_planned(void **state)
{
    (void)state;
    assert_int_equal(
        shell("for n in $(printf 'a\377b.png') $(printf 'a\033b.png'); do "
              "cp ref.png $n && rowlock plan $n --columns 9 --out bytes && "
              "grep -q 'a?b.png' bytes/plan.json && rowlock check bytes || exit 9; "
              "done; cp ref.png ./-r.png && rowlock plan --columns 9 --out=-o -- -r.png "
              "&& rowlock check -- -o"),
        0);
}

static void an_odd_place_for_the_plan_is_refused_untouched(void **state)
{
    (void)state;
    const char *plan = "plan ../ref.png --columns 9 --quiet --out";
    assert_int_equal(shell("mkdir odd"), 0);
    /* The shell would stand in a folder that is gone. */
    assert_int_equal(shell("cd odd && rowlock %s .", plan), 73);
    says_one_line("the folder you are in");
    assert_int_equal(shell("cd odd && rowlock %s /", plan), 73);
    assert_int_equal(shell("cd odd && ln -s nothing link && rowlock %s link", plan), 73);
    says_one_line("a link to nothing");
    /* What is written into is never reached through a link. */
    assert_int_equal(shell("cd odd && mkdir mine && touch mine/file && ln -s mine .x.partial && "
                           "rowlock %s x",
                           plan),
                     73);
    says_one_line("is in the way");
    assert_int_equal(shell("cd odd && ls -A && test -f mine/file"), 0);
    assert_string_equal(command_said, ".x.partial\nlink\nmine\n");
    /* A link to a plan is followed and stays. */
    assert_int_equal(shell("cd odd && rm .x.partial && rowlock %s new/at/last/ && "
                           "ln -s new/at/last to && rowlock %s to/ && test -L to && "
                           "rowlock check new/at/last",
                           plan, plan),
                     0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(exit_codes_follow_sysexits),
        cmocka_unit_test(detail_is_a_matter_of_weight),
        cmocka_unit_test(help_goes_to_standard_output),
        cmocka_unit_test(a_plan_has_its_files_and_holds),
        cmocka_unit_test(the_same_bytes_whatever_the_surroundings),
        cmocka_unit_test(the_users_files_stay),
        cmocka_unit_test(a_stopped_run_leaves_the_earlier_plan),
        cmocka_unit_test(a_full_disk_leaves_the_earlier_plan),
        cmocka_unit_test(cells_come_back_edited),
        cmocka_unit_test(standard_input_may_be_slow_or_closed),
        cmocka_unit_test(a_wall_that_cannot_hold_is_said_by_both),
        cmocka_unit_test(palettes_of_any_name_are_compared),
        cmocka_unit_test(cells_come_back_where_colours_look_alike),
        cmocka_unit_test(idle_settings_are_said),
        cmocka_unit_test(only_failures_are_errors),
        cmocka_unit_test(switches_are_undone),
        cmocka_unit_test(job_files_are_options),
        cmocka_unit_test(a_laying_that_favours_cost_says_how_near_it_is),
        cmocka_unit_test(a_bond_is_of_few_sizes),
        cmocka_unit_test(a_name_of_any_length_leaves_room_for_the_mend),
        cmocka_unit_test(a_name_of_any_bytes_is_planned),
        cmocka_unit_test(an_odd_place_for_the_plan_is_refused_untouched),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
