/* The plan and the photograph are read, the panel is found in it, what is found is
 * proven to be the panel, cells are lit evenly, bricks are judged. Where the proof fails it is
 * looked whether the photograph is turned, or shows another panel, so that the fault can say so. */
#include "inspect/inspection.h"

#include "base/memory.h"

#include <math.h>

/* A photograph with less is of no use, pixels of its shorter side. */
enum { PHOTO_LEAST = 160 };

/* Fewer pixels for a cell tell no colour: its middle half is two then. */
#define CELL_PIXELS 4.0

/* What proves a panel, see cell_light.h. Photographs of other panels, turned ones and other
 * pictures stay under 0.2, right ones are over 0.6 (tests/bench/bench_inspect). */
#define LIKENESS_LEAST 0.4
#define LIKENESS_AHEAD 0.2

/* Over that of other things and under this, the panel is there but may lie a cell or two off. Ours:
 * of a panel placed two rows low it was 0.65, of that one placed well 0.88. */
#define LIKENESS_DOUBTED 0.8
#define LIKENESS_OF_OTHERS 0.2

/* Differences between neighbours in the plan below which nothing can be proven, of logarithms. */
#define DETAIL_LEAST 0.01

/* Other panels of which it is looked whether it is they: each takes as long as the search. */
enum { OTHERS_MOST = 24 };

typedef struct Inspecting {
    Inspection *i;
    LightLevels levels;
    PoseSearch search;
    const Voice *voice;
    Fault *fault;
} Inspecting;

static bool proves(const FaceProof *proof)
{
    return proof->likeness >= LIKENESS_LEAST && proof->likeness - proof->others >= LIKENESS_AHEAD;
}

/* Finest there, and how much the face is like what is seen. */
static Status prove_face(const Inspecting *l, const PanelFace *face, Aligned *aligned,
                         FaceProof *proof)
{
    CellLight *light = NULL;
    Status status = refine_pose(aligned, face, &l->search, l->fault);
    if (!status)
        status = cell_light_create(&light, face, &l->i->photo, &aligned->pose, l->search.threads,
                                   l->fault);
    if (!status) status = face_proof(proof, face, light, l->fault);
    memory_free(light);
    return status;
}

/* Looks beside a place that is doubted. */
static Status look_beside(const Inspecting *l, const PanelFace *face, Aligned *aligned,
                          FaceProof *proof)
{
    if (proof->likeness < LIKENESS_OF_OTHERS || proof->likeness > LIKENESS_DOUBTED)
        return STATUS_OK;
    Aligned beside = *aligned;
    FaceProof proof_there = {0};
    Status status = nudge_pose(&beside, face, &l->search, l->fault);
    if (!status) status = prove_face(l, face, &beside, &proof_there);
    if (!status && proof_there.likeness > proof->likeness) {
        *aligned = beside;
        *proof = proof_there;
    }
    return status;
}

/* Places a face in the photograph, by the corners that are given or by itself, and tells how much
 * it is like it there. */
static Status place_face(const Inspecting *l, const PanelFace *face, Pose *pose, FaceProof *proof)
{
    const InspectionAsk *ask = l->i->ask;
    Aligned aligned = {.explained = 0};
    Status status = STATUS_OK;
    if (!ask->corner)
        status = find_pose(&aligned, face, &l->search, l->fault);
    else if (!pose_of_corners(&aligned.pose, face, l->search.frame, ask->corner))
        return fault_set(l->fault, STATUS_USAGE,
                         "--corners: these are no corners of a panel seen from the front; give "
                         "upper left, upper right, lower right, lower left, as x,y each");
    if (!status) status = prove_face(l, face, &aligned, proof);
    if (!status) status = look_beside(l, face, &aligned, proof);
    *pose = aligned.pose;
    return status;
}

/* Whether the photograph shows the panel turned in one of these ways, from `first` to `last`;
 * *as_out says how to mend it, NULL where it does not. */
static Status look_for_turned(const Inspecting *l, FaceTurn first, FaceTurn last,
                              const char **as_out)
{
    static const char *const mend[] = {
        [FACE_UPSIDE_DOWN] = "is upside down in it; turn the photograph",
        [FACE_MIRRORED] = "is mirrored in it; mirror the photograph",
        [FACE_LEFT_UP] = "lies on its side in it; turn the photograph by a quarter to the left",
        [FACE_RIGHT_UP] = "lies on its side in it; turn the photograph by a quarter to the right"};
    *as_out = NULL;
    for (int turn = (int)first; turn <= (int)last; turn++) {
        PanelFace turned;
        Pose pose;
        FaceProof proof = {0};
        Status status = panel_face_turned(&turned, &l->i->face, (FaceTurn)turn, l->fault);
        if (!status) status = place_face(l, &turned, &pose, &proof);
        panel_face_clear(&turned);
        if (status || proves(&proof)) {
            *as_out = mend[turn];
            return status;
        }
    }
    return STATUS_OK;
}

static Status look_for_others(const Inspecting *l, const char **name_out)
{
    const Panels *panels = &l->i->plan->panels;
    int tried = 0;
    *name_out = NULL;
    for (int p = 0; p < panels->count && tried < OTHERS_MOST; p++) {
        PanelFace other;
        Pose pose;
        FaceProof proof = {0};
        if (p == l->i->face.panel) continue;
        tried++;
        voice_progress(l->voice, "looking for other panels", (double)p / panels->count);
        Status status = panel_face_init(&other, l->i->plan, panels->panel[p].name, 0, l->fault);
        if (!status) status = place_face(l, &other, &pose, &proof);
        panel_face_clear(&other);
        if (status || proves(&proof)) {
            *name_out = panels->panel[p].name;
            return status;
        }
    }
    return STATUS_OK;
}

/* The fault of a photograph that is not the panel's, with the reason where one is found. */
static Status refuse(const Inspecting *l)
{
    const Inspection *i = l->i;
    const char *file = i->photo.name, *panel = i->ask->panel, *as = NULL, *other = NULL;
    if (i->proof.detail < DETAIL_LEAST)
        return fault_set(l->fault, STATUS_DATA,
                         "%s: panel %s has so little pattern that it cannot be told apart from "
                         "other things; look at it by hand",
                         file, panel);
    /* likely reasons first */
    Status status = look_for_turned(l, FACE_UPSIDE_DOWN, FACE_UPSIDE_DOWN, &as);
    if (!status && !as) status = look_for_others(l, &other);
    if (!status && !as && !other) status = look_for_turned(l, FACE_MIRRORED, FACE_RIGHT_UP, &as);
    if (status) return status;
    if (as) return fault_set(l->fault, STATUS_DATA, "%s: panel %s %s", file, panel, as);
    if (other)
        return fault_set(l->fault, STATUS_DATA, "%s: shows panel %s, not %s; give --panel %s", file,
                         other, panel, other);
    return fault_set(
        l->fault, STATUS_DATA,
        "%s: panel %s is not seen in it (likeness %.2f, of other things %.2f); take it "
        "upright, whole and as large as the picture holds, or give its --corners and "
        "--to, the row up to which it is built",
        file, panel, i->proof.likeness, fmax(i->proof.others, 0));
}

static Status check_size(const Inspection *i, Fault *fault)
{
    const double cell = pose_cell_pixels(&i->pose, &i->face);
    if (cell >= CELL_PIXELS) return STATUS_OK;
    return fault_set(
        fault, STATUS_DATA,
        "%s: a cell is %.1f pixels wide in it, of %.0f that are needed; come nearer, or "
        "take it with more pixels",
        i->photo.name, cell, CELL_PIXELS);
}

static Status find_panel(Inspecting *l)
{
    Inspection *i = l->i;
    Status status = light_levels_init(&l->levels, &i->photo, l->search.threads, l->fault);
    voice_progress(l->voice, "finding the panel", 0);
    if (!status) status = place_face(l, &i->face, &i->pose, &i->proof);
    if (!status && !proves(&i->proof)) status = refuse(l);
    if (!status) status = check_size(i, l->fault);
    if (!status)
        status = cell_light_create(&i->light, &i->face, &i->photo, &i->pose, l->search.threads,
                                   l->fault);
    return status;
}

static Status read_photo(Inspection *i, const Voice *voice, Fault *fault)
{
    const Status status =
        photo_read(&i->photo, i->ask->photo, job_memory(i->ask->job) / 2, voice, fault);
    if (status || (i->photo.width >= PHOTO_LEAST && i->photo.height >= PHOTO_LEAST)) return status;
    return fault_set(fault, STATUS_DATA,
                     "%s: %d x %d pixels are too few; give the photograph as it was taken",
                     i->photo.name, i->photo.width, i->photo.height);
}

Status inspection_look(Inspection *i, const InspectionAsk *ask, const Voice *voice, Fault *fault)
{
    *i = (Inspection){.ask = ask};
    Status status = plan_reader_create(&i->plan, ask->folder, fault);
    if (!status) status = panel_face_init(&i->face, i->plan, ask->panel, ask->to, fault);
    if (!status && ask->sheet) status = panel_face_set_sheet(&i->face, ask->sheet, fault);
    if (!status) status = read_photo(i, voice, fault);
    if (status) return status;
    Inspecting l = {.i = i, .voice = voice, .fault = fault};
    l.search = (PoseSearch){&l.levels, {i->photo.width, i->photo.height}, ask->threads, voice};
    status = find_panel(&l);
    light_levels_clear(&l.levels);
    if (!status) status = cell_colours_init(&i->colours, &i->face, i->light, i->photo.name, fault);
    if (!status) status = judgement_init(&i->judgement, &i->face, i->light, &i->colours, fault);
    if (!status && !ask->corner && !judgement_holds(&i->judgement))
        status =
            fault_set(fault, STATUS_DATA,
                      "%s: panel %s was found, but next to no brick of it looks right there, so "
                      "it surely lies otherwise; give its --corners, and --to, the row up to "
                      "which it is built",
                      i->photo.name, ask->panel);
    return status;
}

void inspection_clear(Inspection *i)
{
    judgement_clear(&i->judgement);
    cell_colours_clear(&i->colours);
    memory_free(i->light);
    photo_clear(&i->photo);
    panel_face_clear(&i->face);
    plan_reader_free(i->plan);
}
