/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A configuration file and what it includes -> one flat list of statements,
 * each with its own file and line.  Knows how statements are written, and
 * nothing of what they mean; that is load_grammar.c.
 */
#ifndef WARMSIDE_CONF_SCRIPT_H
#define WARMSIDE_CONF_SCRIPT_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/fault.h"

enum statement_kind {
	STATEMENT_VALUE,        /* name = text */
	STATEMENT_OPEN,         /* name { or name "text" { */
	STATEMENT_CLOSE,        /* } */
};

#define NO_STATEMENT ((size_t)-1)

struct statement {
	enum statement_kind kind;
	char *name;             /* NULL for } */
	char *text;             /* the value, or the section's title; NULL when there is none */
	const char *file;       /* the script's, where it stands */
	int line;
	size_t inside;          /* index of the section around it, or NO_STATEMENT */
	size_t close;           /* of a section: index of its } */
	bool spoiled;           /* told of already: its text is to be left alone */
	bool dropped;           /* told of already: it and what is in it do not count */
	bool unsure;            /* a section in which a fault told of may hide keys */
};

struct script {
	struct statement *list;
	size_t count;
	char **files;           /* the names of the files read, for statements to point at */
	char **real;            /* and the same files by their resolved path */
	size_t file_count;
	bool incomplete;        /* something could not be read: what is missing may be there */
	bool garbled;           /* and it may have stood in any section */
};

/* Reads the file and its includes.  Faults are added; what could be read is
 * in the script all the same, with every section closed.  script_clear frees. */
void script_read(struct script *script, const char *path, struct faults *faults);

void script_clear(struct script *script);

/* Takes a statement, and all that is in it when it is a section, out of account. */
void script_drop(struct script *script, size_t index);

/* Where a statement stands, for people: 'enclosure "T3", cool_side', or ""
 * at the top.  Malloc'ed; the caller frees. */
char *script_place(const struct script *script, size_t inside);

/* path as seen from the folder of the file from; malloc'ed, the caller frees. */
char *path_beside(const char *from, const char *path);

#endif
