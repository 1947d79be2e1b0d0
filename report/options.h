/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The command line of warmside, taken apart; options may stand before or
 * behind the command.
 */
#ifndef WARMSIDE_REPORT_OPTIONS_H
#define WARMSIDE_REPORT_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

#include "report/request.h"

struct options {
	bool help, version;
	const char *conf;       /* -c; NULL if unsaid */
	const char *from, *to;  /* the first of them; NULL if unsaid */
	const char *froms[SALT_TESTS], *tos[SALT_TESTS]; /* as far as there is room */
	size_t from_count, to_count; /* how often they were given */
	enum salt salts[SALT_TESTS];
	size_t salt_count;
	const char *output;     /* -o; NULL if unsaid */
	enum format format;
	int width, height;      /* 0 if unsaid */
	bool has_scale[QUANTITIES];
	struct range scale[QUANTITIES]; /* °C or %; low < high */
	const char *by, *note;  /* NULL if unsaid */
	bool save;
	char **words;           /* the command and its arguments; points into argv */
	size_t word_count;
};

/* False after a sentence on standard error.  May reorder argv. */
bool options_parse(int argc, char *argv[], struct options *out);

/* The options, a line each, for --help. */
extern const char options_help[];

#endif
