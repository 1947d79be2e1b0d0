/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text lines of a microcontroller: bytes off the wire -> lines; a line and its
 * template -> which probe and its values.  Pure;
 * daemon/bus moves the bytes.
 */
#ifndef WARMSIDE_DAEMON_LINES_H
#define WARMSIDE_DAEMON_LINES_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/model.h"
#include "conf/template.h"

enum {
	LINE_CEILING = 256,     /* bytes of the longest line, its end not counted */
};

struct line_values {
	char token[LINE_CEILING + 1]; /* {probe}, blanks around it removed; "" without the field */
	bool has[QUANTITIES];
	double value[QUANTITIES]; /* °C, % */
};

/* Matches a whole line against the template.  Blanks at both ends of the line
 * and around a value do not matter; everything else must be as the template
 * has it.  A value is a plain decimal number; "nan" (as some boards print when
 * their sensor fails: common practice, no source) or nothing at all is a value
 * that is absent.  False when the line does not match. */
bool line_match(const struct line_template *template, const char *line, struct line_values *out);

enum line_event {
	LINE_MORE,              /* no line has ended yet */
	LINE_WHOLE,             /* text holds a line, its end removed */
	LINE_BAD,               /* over-long, or with bytes that are no text: dropped */
};

/* Zero-initialised it is ready; skipping = true drops everything up to the
 * first line end, for a port opened in the middle of a line. */
struct line_assembler {
	char text[LINE_CEILING + 1];
	size_t used;
	bool skipping;          /* the line under way is dropped without a word */
	bool bad;               /* the line under way is dropped and told of */
};

/* Takes bytes up to and including the first line end ("\n", "\r\n" or "\r");
 * *event says what came of them.  Returns how many were taken: call again
 * with the rest.  A byte of a line that is not UTF-8 (a degree sign in Latin-1) becomes '?',
 * and so does a control character of more than one byte: a template is UTF-8, and
 * has to match.  Empty lines are passed over.  However long a line grows, it
 * is one LINE_BAD: an over-long one when it passes the ceiling, others at
 * their end. */
size_t line_take(struct line_assembler *assembler, const char *bytes, size_t count,
		 enum line_event *event);

/* The rest of the line under way, if there is one, will not come: whatever ends
 * it belongs to another and the whole is LINE_BAD.  Returns whether there was
 * one.  Without this half a line and the next would be read as one, and
 * half numbers as numbers. */
bool line_spoil(struct line_assembler *assembler);

#endif
