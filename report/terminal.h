/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What standard output can show.  Only a terminal has colours, a character set and,
 * unless COLUMNS says one, a width; a pipe or a file gets UTF-8 without colours.
 */
#ifndef WARMSIDE_REPORT_TERMINAL_H
#define WARMSIDE_REPORT_TERMINAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

struct terminal {
	FILE *file;             /* to write to; standard output or a filter before it */
	FILE *sink;             /* what is behind the filter; the same as file without one */
	size_t width;           /* columns; 0: no bound */
	bool colour;            /* a terminal, and the environment has no NO_COLOR */
	bool ascii;             /* our own signs are written in ASCII */
};

/* Standard output.  On a terminal whose character set is not UTF-8 (LC_ALL, LC_CTYPE,
 * LANG) our own signs are written in ASCII ("°C" as "C", "·" as "-"); the keeper's own
 * texts are left as they are.  Coloured unless NO_COLOR is set to something
 * (no-color.org, from memory) or TERM says that nothing or little is known of the
 * terminal. */
struct terminal terminal_open(void);

/* A terminal of the given kind whose output goes to sink, which stays the caller's;
 * without width, colour and ascii: as it is written, byte by byte. */
struct terminal terminal_onto(FILE *sink, size_t width, bool colour, bool ascii);

/* Flushes; false when something could not be written (errno says why). */
bool terminal_close(struct terminal *terminal);

enum ink { INK_PLAIN, INK_STRONG, INK_BELOW, INK_ABOVE, INK_QUIET };

/* What switches an ink on, and all of them off; "" without colour. */
const char *ink_on(const struct terminal *terminal, enum ink ink);
const char *ink_off(const struct terminal *terminal, enum ink ink);

/* Columns this terminal needs for a text of ours.  One that does not take UTF-8 is
 * believed: each byte that we do not write in ASCII is a column there. */
size_t terminal_columns(const struct terminal *terminal, const char *text);

/* Columns a terminal needs for a UTF-8 text: combining marks take none, wide
 * East Asian characters and pictographs two (ranges after Unicode's
 * EastAsianWidth.txt, from memory); a byte that is no UTF-8 takes one. */
size_t text_width(const char *text);

/* ---- fill.c ---- */

/* A text of ours, `indent` blanks before each of its lines, which are broken at blanks
 * where the terminal ends; and the same of what is printed by a format. */
void terminal_say(const struct terminal *terminal, size_t indent, const char *text);
void terminal_print(const struct terminal *terminal, size_t indent, const char *format, ...)
	__attribute__((format(printf, 3, 4)));

#endif
