/* What is asked by itself is what happens to every panel of the build on its way to the wall. To
 * lie on first and last course, to be tipped at its foot, to hang by its top course or by four
 * bricks are told as advice, since many walls cannot bear them and need not. */
#include "clutch/load_case.h"

#include <stdio.h>
#include <string.h>

const LoadCaseKind load_cases[LOAD_CASES] = {
    [CASE_HANGING] = {"hanging", BUILD_PLAQUE, true, "hanging on the wall"},
    [CASE_SIDE] = {"side", BUILD_PLAQUE, true, "on its side"},
    [CASE_FACE_DOWN] = {"face-down", BUILD_PLAQUE, true, "face down"},
    [CASE_STANDING] = {"standing", BUILD_WALL, true, "standing"},
    [CASE_CARRIED] = {"carried", BUILD_WALL, true, "flat, bearers under the ends of its courses"},
    [CASE_LIFTED] = {"lifted", BUILD_WALL, true, "lifted at both ends of its lowest course"},
    [CASE_CRATE] = {"crate", BUILD_PLAQUE, true, "shaken in its crate"},
    [CASE_COURSES] = {"courses", BUILD_WALL, false,
                      "flat, bearers under its first and last course"},
    [CASE_TIPPED] = {"tipped", BUILD_WALL, false, "flat, held at its foot alone"},
    [CASE_HUNG] = {"hung", BUILD_WALL, false, "hung by its top course"},
    [CASE_QUARTERS] = {"quarters", BUILD_WALL, false, "hung by four bricks at its quarter points"},
};

bool load_case_applies(LoadCase load_case, Build build)
{
    return load_case == CASE_CRATE || load_cases[load_case].build == build;
}

/* Those of a build, with commas between. */
static void list_names(Build build, char *text, size_t size)
{
    size_t used = 0;
    *text = '\0';
    for (int i = 0; i < LOAD_CASES && used < size; i++)
        if (load_case_applies((LoadCase)i, build))
            used += (size_t)snprintf(text + used, size - used, "%s%s", used ? "," : "",
                                     load_cases[i].name);
}

Status load_cases_read(const char *text, Build build, const char *where, unsigned *cases_out,
                       Fault *fault)
{
    *cases_out = 0;
    for (int i = 0; i < LOAD_CASES && !*text; i++)
        if (load_cases[i].asked && load_case_applies((LoadCase)i, build)) *cases_out |= 1U << i;
    while (*text) {
        const size_t length = strcspn(text, ",");
        int i = 0;
        while (i < LOAD_CASES && (strncmp(load_cases[i].name, text, length) != 0 ||
                                  load_cases[i].name[length] != '\0'))
            i++;
        if (i == LOAD_CASES || !load_case_applies((LoadCase)i, build)) {
            char names[120];
            list_names(build, names, sizeof names);
            return fault_set(fault, STATUS_USAGE, "%s: '%.*s' is no load of a %s; give some of %s",
                             where, (int)length, text, build == BUILD_WALL ? "wall" : "plaque",
                             names);
        }
        *cases_out |= 1U << i;
        text += length + (text[length] == ',');
    }
    return STATUS_OK;
}
