/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What standard output can show.  Only a terminal has a width, colours and a
 * character set; a pipe or a file gets UTF-8 of any width, without colours.
 */
#ifndef WARMSIDE_REPORT_TERMINAL_H
#define WARMSIDE_REPORT_TERMINAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

struct terminal {
	FILE *file;             /* to write to; standard output or a filter before it */
	size_t width;           /* columns; 0: no bound */
	bool colour;            /* a terminal, and the environment has no NO_COLOR */
};

/* On a terminal whose character set is not UTF-8 (LC_ALL, LC_CTYPE, LANG) our own
 * signs are written in ASCII ("°C" as "C", "·" as "-"); the keeper's own texts
 * are left as they are. */
struct terminal terminal_open(void);

/* Flushes; false when something could not be written (errno says why). */
bool terminal_close(struct terminal *terminal);

enum ink { INK_PLAIN, INK_STRONG, INK_BELOW, INK_ABOVE, INK_QUIET };

/* What switches an ink on, and all of them off; "" without colour. */
const char *ink_on(const struct terminal *terminal, enum ink ink);
const char *ink_off(const struct terminal *terminal, enum ink ink);

#endif
