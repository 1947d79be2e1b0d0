/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What template the lines of an unknown board fit.  Pure.
 */
#ifndef WARMSIDE_DAEMON_GUESS_H
#define WARMSIDE_DAEMON_GUESS_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/template.h"

enum {
	GUESS_LEAST = 2,        /* lines that have to agree */
	GUESS_COUNT = 5,        /* lines whose names grow, before they are taken for a counter */
};

struct guess {
	char text[TEMPLATE_MOST + 1]; /* "{probe},{temperature},{humidity}" */
	struct line_template compiled;
	size_t matching;        /* lines that fit, with plausible values */
	bool fahrenheit;        /* a temperature is above 50: perhaps it is °F */
	bool counter;           /* a number that grew with every line is skipped */
};

/* Finds the template most of the lines fit, of two the one whose values are those
 * of a home, then the one that tells more.  The name is what stands in front of the
 * first separator, unless that says what the value is; without a separator the first
 * word, or a whole number in front of the values.  A value is what its label
 * says it is, else the first is the temperature and the second the humidity.
 * False when fewer than GUESS_LEAST lines fit any. */
bool guess_template(char *const *lines, size_t count, struct guess *out);

/* True when the names in these lines are numbers that grow from line to line and
 * never come again, in GUESS_COUNT lines at least: a counter or a clock, when lines keep
 * coming. */
bool guess_counts(const struct guess *guess, char *const *lines, size_t count);

/* Makes {} of {probe}. */
void guess_drop_name(struct guess *guess);

#endif
