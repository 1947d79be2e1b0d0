/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One file's tokens -> statements, appended to a script; an include() is
 * read where it stands.  Used by script.c only.
 */
#ifndef WARMSIDE_CONF_STATEMENT_H
#define WARMSIDE_CONF_STATEMENT_H

#include "conf/script.h"
#include "conf/token.h"

/* One link of the chain from a file up to the first one. */
struct includer {
	const struct includer *from;    /* who includes it; NULL for the first file */
	size_t file;                    /* index into script.files */
};

/* Appends what the tokens of the file `self` say. */
void statements_take(struct script *script, const struct tokens *tokens,
		     const struct includer *self, struct faults *faults);

/* Reads the file an include() on that line of file `from` names; in script.c. */
void script_include(struct script *script, const char *path, const struct includer *from,
		    int line, struct faults *faults);

#endif
