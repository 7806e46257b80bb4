/* A mural's book is the file that its plan has, whose digest was seen when the plan was found to
 * stand. Its pages keep the numbers that are printed on them; a reader shows the mural's name
 * before them. */
#include "show/show_binding.h"

#include "base/memory.h"
#include "book/pdf_bind.h"

#include <stdio.h>

/* Texts that a part of the whole points to. */
typedef struct PartNames {
    char path[FOLDER_PATH], name[BOOK_NAME], label[BOOK_NAME];
} PartNames;

bool show_binding_book(const ShowMural *mural, char name[BOOK_NAME])
{
    snprintf(name, BOOK_NAME, "%s/book.pdf", mural->name);
    return mural->job.book != BOOK_NONE;
}

static int list_parts(const ShowFacts *f, PdfPart *part, PartNames *names)
{
    int parts = 1; /* the first is the show's own */
    for (int i = 0; i < f->show->count; i++) {
        const ShowMural *m = &f->show->mural[i];
        PartNames *n = &names[i];
        if (!show_binding_book(m, n->name)) continue;
        snprintf(n->label, sizeof n->label, "%s ", m->name);
        show_folder_mural(f->folder, n->name, n->path);
        part[parts++] = (PdfPart){n->path, n->name, show_mural_title(m), n->label, 0};
    }
    return parts;
}

static void take_pages(const ShowFacts *f, const PdfPart *part)
{
    char name[BOOK_NAME];
    f->pages->own = part++->pages;
    for (int i = 0; i < f->show->count; i++)
        f->pages->mural[i] = show_binding_book(&f->show->mural[i], name) ? part++->pages : 0;
}

Status show_binding_write(const ShowFacts *f, const char *own, const char *path, const Voice *voice,
                          Fault *fault)
{
    const size_t most = (size_t)f->show->count + 1;
    PdfPart *part = memory_create(most, sizeof *part);
    PartNames *names = memory_create(most, sizeof *names);
    Status status = STATUS_OK;
    if (part && names) {
        part[0] = (PdfPart){own, "show.pdf", show_title(f->show), "", 0};
        status = pdf_bind(path, part, list_parts(f, part, names), voice, fault);
    } else {
        status = memory_fault(fault, most, sizeof *names);
    }
    if (!status) take_pages(f, part);
    memory_free(names);
    memory_free(part);
    return status;
}
