/* Pictures are read once here and once more by the plans that are made of them, which may be none:
 * nothing is handed on, so that a plan of a show is that of its job alone. What reading has to say
 * its plan says. */
#include "show/show_pictures.h"

#include "base/memory.h"
#include "plan/own_cells.h"

static Status look(ShowPictures *p, const Show *show, int i, const Palette *palette, Fault *fault)
{
    const Brief brief = brief_of(&show->mural[i].job, NULL, NULL);
    Status status = own_cells_init(&p->own[i], &brief, palette, fault);
    if (!status) status = sampled_picture_init(&p->picture[i], &brief, NULL, &p->own[i], fault);
    if (!status) p->cells += show_pictures_cells(p, i);
    return status;
}

Status show_pictures_init(ShowPictures *p, const Show *show, const Palette *palette,
                          const Voice *voice, Fault *fault)
{
    const size_t murals = (size_t)show->count;
    *p = (ShowPictures){.murals = show->count,
                        .picture = memory_create(murals, sizeof *p->picture),
                        .own = memory_create(murals, sizeof *p->own)};
    Status status =
        p->picture && p->own ? STATUS_OK : memory_fault(fault, murals, sizeof *p->picture);
    for (int i = 0; i < show->count && !status; i++) {
        voice_progress(voice, "pictures", (double)i / show->count);
        if (voice_stopped(voice)) return show_stopped(fault);
        status = look(p, show, i, palette, fault);
    }
    return status;
}

void show_pictures_clear(ShowPictures *p)
{
    for (int i = 0; p->picture && i < p->murals; i++) sampled_picture_clear(&p->picture[i]);
    for (int i = 0; p->own && i < p->murals; i++) grid_clear(&p->own[i]);
    memory_free(p->picture);
    memory_free(p->own);
    *p = (ShowPictures){0};
}
