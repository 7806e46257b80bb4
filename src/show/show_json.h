/* Show json: what a show is made from and comes to, and the digests of its files. */
#ifndef ROWLOCK_SHOW_SHOW_JSON_H
#define ROWLOCK_SHOW_SHOW_JSON_H

#include "show/show_facts.h"

/* Writes show.json; file[]: names of the show's own files that are written already, beside their
 * places (show_folder_partial). */
Status show_json_write(const ShowFacts *facts, const ShowFolder *folder, const char *const *file,
                       int files, Fault *fault);

#endif
