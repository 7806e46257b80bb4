/* Pictures of a plan that is open: each view is drawn by the module that writes it into a plan's
 * folder, where there is one. */
#include "api/handle.h"
#include "api/live.h"
#include "eye/eye.h"
#include "output/cells_png.h"
#include "output/face_pictures.h"
#include "output/layer_pictures.h"
#include "output/relief_render.h"
#include "output/views.h"

/* Of a view that has no cells, where the caller does not say: as many pixels across. */
enum { WHOLE_ACROSS = 1000 };

/* A view while it is drawn. */
typedef struct Look {
    const PlanState *state;
    const RowlockViewing *viewing;
    ViewSize size;
    PaintPlace place;
    Fault *fault;
} Look;

static const Palette *palette_of(const Look *l) { return &state_studio(l->state)->palette; }

static Status draw_image(const Look *l, const Image *image, bool seen)
{
    return seen ? view_image_seen(image, l->viewing->distance_mm, &l->size, l->place.memory,
                                  l->fault)
                : view_image(image, &l->size, l->place.memory, l->fault);
}

static Status draw_reference(const Look *l)
{
    return draw_image(l, &state_picture(l->state)->image, false);
}

static Status draw_reference_seen(const Look *l)
{
    return draw_image(l, &state_picture(l->state)->image, true);
}

static Status draw_whole(const Look *l)
{
    Image image = {0};
    ViewSize size = l->size;
    const int across = l->viewing->pixels ? l->viewing->pixels : WHOLE_ACROSS;
    Status status =
        sampled_picture_whole(&image, &l->state->brief, state_held(l->state), across, l->fault);
    size.pixels = 0;
    if (!status) status = view_image(&image, &size, l->place.memory, l->fault);
    image_clear(&image);
    return status;
}

static Status draw_fitted(const Look *l)
{
    const Image *fitted = state_fitted(l->state);
    return fitted ? draw_image(l, fitted, false) : live_not_there("a fitted picture", l->fault);
}

static Status draw_cells(const Look *l)
{
    return cells_png_write(state_shown(l->state), palette_of(l), &l->place, l->fault);
}

static Status draw_face_seen(const Look *l)
{
    Image face = {0};
    Status status = eye_face(palette_of(l), state_shown(l->state), &face, l->fault);
    if (!status) status = draw_image(l, &face, true);
    image_clear(&face);
    return status;
}

/* The plan as the writers of pictures read it; with bricks where they are laid. */
static Mural mural_of(const Look *l, Grid *grid)
{
    if (state_figures(l->state)) return state_mural(l->state);
    return state_mural_unlaid(l->state, state_shown(l->state), grid);
}

static Status draw_bricks(const Look *l)
{
    Grid grid;
    const Mural mural = mural_of(l, &grid);
    return face_pictures_preview(&mural, &l->place, NULL, l->fault);
}

static Status draw_relief(const Look *l)
{
    Grid grid;
    const Mural mural = mural_of(l, &grid);
    const bool lit = l->viewing->light_height > 0;
    RakingLightOptions options = RAKING_LIGHT_OPTIONS_DEFAULT;
    options.angle = lit ? l->viewing->light_angle : l->state->job.light_angle;
    options.height = lit ? l->viewing->light_height : l->state->job.light_height;
    return relief_render_write(&mural, &options, &l->place, NULL, l->fault);
}

static Status draw_steps(const Look *l)
{
    Grid grid;
    const Mural mural = mural_of(l, &grid);
    return mural.grid->steps ? steps_png_write(mural.grid, &l->place, l->fault)
                             : live_not_there("a relief", l->fault);
}

static Status draw_layers(const Look *l)
{
    const Subject *subject = &state_raised(l->state)->subject;
    if (!subject->label) return live_not_there("a subject of layers", l->fault);
    return outlines_png_write(subject, &state_picture(l->state)->image, l->size.threads, &l->place,
                              l->fault);
}

/* What must be there before a view can be drawn. */
typedef enum Need { NEED_PICTURE, NEED_FACE, NEED_RELIEF } Need;

static const struct ViewWork {
    Need need;
    Status (*draw)(const Look *look);
} works[ROWLOCK_VIEWS] = {
    [ROWLOCK_VIEW_REFERENCE] = {NEED_PICTURE, draw_reference},
    [ROWLOCK_VIEW_REFERENCE_SEEN] = {NEED_PICTURE, draw_reference_seen},
    [ROWLOCK_VIEW_WHOLE] = {NEED_PICTURE, draw_whole},
    [ROWLOCK_VIEW_FITTED] = {NEED_PICTURE, draw_fitted},
    [ROWLOCK_VIEW_CELLS] = {NEED_FACE, draw_cells},
    [ROWLOCK_VIEW_FACE_SEEN] = {NEED_FACE, draw_face_seen},
    [ROWLOCK_VIEW_BRICKS] = {NEED_FACE, draw_bricks},
    [ROWLOCK_VIEW_RELIEF] = {NEED_RELIEF, draw_relief},
    [ROWLOCK_VIEW_STEPS] = {NEED_RELIEF, draw_steps},
    [ROWLOCK_VIEW_LAYERS] = {NEED_RELIEF, draw_layers},
};

static Status draw(const PlanState *state, const RowlockViewing *viewing, MemoryFile *png,
                   Fault *fault)
{
    if ((unsigned)viewing->view >= ROWLOCK_VIEWS)
        return fault_set(fault, STATUS_USAGE, "live: %d is no view; give one of the list",
                         (int)viewing->view);
    const struct ViewWork *work = &works[viewing->view];
    if (!state) return live_not_there("a picture", fault);
    if (work->need >= NEED_FACE && !state_shown(state)) return live_not_there("a face", fault);
    if (work->need >= NEED_RELIEF && !state_raised(state)) return live_not_there("a relief", fault);
    const Look look = {.state = state,
                       .viewing = viewing,
                       .size = {brief_cell_width(&state->brief), brief_cell_height(&state->brief),
                                viewing->pixels, state->brief.threads},
                       .place = {"view", png, viewing->pixels},
                       .fault = fault};
    return work->draw(&look);
}

RowlockStatus rowlock_live_view(RowlockLive *live, const RowlockViewing *viewing,
                                RowlockBytes *png_out, RowlockFault *fault)
{
    Fault own = {0};
    MemoryFile png = {0};
    const PlanState *state = open_plan_see(live->plan);
    const Status status = draw(state, viewing, &png, &own);
    open_plan_leave(live->plan, state);
    *png_out = (RowlockBytes){png.byte, png.length};
    return handle_tell(fault, &own, status);
}
