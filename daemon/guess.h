/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What template the lines of an unknown board fit.  Pure.
 */
#ifndef WARMSIDE_DAEMON_GUESS_H
#define WARMSIDE_DAEMON_GUESS_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/template.h"

enum { GUESS_LEAST = 2 };       /* lines that have to agree */

struct guess {
	char text[TEMPLATE_MOST + 1]; /* "{probe},{temperature},{humidity}" */
	struct line_template compiled;
	size_t matching;        /* lines that fit, with plausible values */
	bool fahrenheit;        /* a temperature is above 50: perhaps it is °F */
};

/* Finds the template most of the lines fit.  What stands in front of the first
 * value is the probe's name, unless it says that it is temperature or
 * humidity; a value is what its label says it is, else the first is the
 * temperature and the second the humidity.  False when fewer than GUESS_LEAST
 * lines fit any. */
bool guess_template(char *const *lines, size_t count, struct guess *out);

#endif
