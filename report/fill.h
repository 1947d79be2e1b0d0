/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Words on the lines of a terminal: a line is broken at a blank when it would
 * become wider than the terminal, but not between a number and its unit; only a
 * single word may be wider than that.
 */
#ifndef WARMSIDE_REPORT_FILL_H
#define WARMSIDE_REPORT_FILL_H

#include "report/terminal.h"

struct fill {
	const struct terminal *terminal;
	size_t indent, hanging; /* blanks before the next line, and before all after it */
	size_t used;            /* columns of the line under way */
	bool open;              /* a line is under way */
};

/* indent, hanging: blanks before the first line and before all others. */
struct fill fill_begin(const struct terminal *terminal, size_t indent, size_t hanging);

/* The words of a text; gap: blanks before its first word, on a line under way. */
void fill_text(struct fill *fill, enum ink ink, size_t gap, const char *text);

/* Breaks the line under way if that many columns more do not fit on it. */
void fill_keep(struct fill *fill, size_t columns);

/* Ends the line under way, if there is one. */
void fill_break(struct fill *fill);

#endif
