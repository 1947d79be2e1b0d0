/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Configuration text -> words, texts and braces, each with its line.
 * Comments (#, //, and C comments over any number of lines) end here.
 * A '$' means itself: nothing is taken from the environment.
 */
#ifndef WARMSIDE_CONF_TOKEN_H
#define WARMSIDE_CONF_TOKEN_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/fault.h"

enum token_kind {
	TOKEN_WORD,             /* anything without quotes */
	TOKEN_TEXT,             /* "..." or '...' */
	TOKEN_EQUALS,
	TOKEN_OPEN,             /* { */
	TOKEN_CLOSE,            /* } */
	TOKEN_LEFT,             /* ( */
	TOKEN_RIGHT,            /* ) */
	TOKEN_STRAY,            /* , or ; */
	TOKEN_END
};

struct token {
	enum token_kind kind;
	int line;
	bool first;             /* first on its line */
	bool spoiled;           /* a fault was found in it: its text is a guess */
	char *text;             /* of words and texts, escapes resolved; else NULL */
};

struct tokens {
	struct token *list;     /* the last one is TOKEN_END */
	size_t count, room;
	bool garbled;           /* a line was left out */
	bool cut;               /* the rest is missing: a comment without an end, or faults_full() */
};

/* Takes the text apart; never fails, faults are added.  Ends with TOKEN_END. */
void tokens_read(struct tokens *tokens, const char *text, const char *file,
		 struct faults *faults);

void tokens_clear(struct tokens *tokens);

#endif
