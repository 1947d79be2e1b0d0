/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which keys and sections stand where: a script through libConfuse -> a
 * tree of sections.  The only file that knows libConfuse; used by load.c
 * and the resolve files.
 *
 * libConfuse gets no text of the keeper's.  Statement number i is written
 * for it on line i + 1, with the number in the place of the value or title:
 *
 *     bus "0" {
 *     port += 1
 *     }
 *
 * So what it reports as a line is a statement, whose file and line we know;
 * no value can upset it; and a key given twice is a list of two numbers.
 */
#ifndef WARMSIDE_CONF_LOAD_GRAMMAR_H
#define WARMSIDE_CONF_LOAD_GRAMMAR_H

#include "conf/fault.h"
#include "conf/script.h"

struct cfg_t;

/* One section of the tree; valid as long as the grammar and the script are. */
struct section {
	struct cfg_t *cfg;
	const struct script *script;
};

/* Parses the script.  Unknown keys and sections, keys given twice, sections
 * that stand twice, titles missing or too many, and doubled titles become
 * faults; unknown statements are dropped and the rest parsed again.  Returns
 * the tree, which grammar_free frees. */
struct cfg_t *grammar_read(struct script *script, struct faults *faults);

void grammar_free(struct cfg_t *tree);

/* The statement of a key in a section (the first when there are several),
 * or NULL.  Its text may be a guess when it is spoiled. */
const struct statement *section_value(struct section section, const char *key);

/* The same for a key that may stand several times; NULL behind the last. */
const struct statement *section_value_at(struct section section, const char *key, size_t index);

/* How many sections or values of that name this one has, and the sections in
 * the order written. */
size_t section_count(struct section section, const char *name);
struct section section_at(struct section section, const char *name, size_t index);

/* Where the section begins; its text is the title. */
const struct statement *section_head(struct section section);

#endif
