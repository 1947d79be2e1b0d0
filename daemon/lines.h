/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text lines of a microcontroller: the template of one line, compiled once;
 * bytes off the wire -> lines; a line -> which probe and its values.  Pure;
 * daemon/bus moves the bytes.
 */
#ifndef WARMSIDE_DAEMON_LINES_H
#define WARMSIDE_DAEMON_LINES_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/model.h"

enum {
	LINE_CEILING = 256,     /* bytes of the longest line, its end not counted */
	TEMPLATE_PARTS = 16,    /* most fields of a template */
	LINES_WHY = 160,        /* bytes of a sentence that says what is wrong */
};

enum field {
	FIELD_PROBE,            /* {probe}: the name the board prints */
	FIELD_TEMPERATURE,      /* {temperature}, °C */
	FIELD_FAHRENHEIT,       /* {temperature_f} */
	FIELD_HUMIDITY,         /* {humidity}, % */
	FIELD_SKIP,             /* {}: anything */
	FIELDS
};

/* literal, field, literal, field, ..., literal: text[i] stands in front of
 * field[i], text[count] behind the last. */
struct line_template {
	size_t count;
	enum field field[TEMPLATE_PARTS];
	char text[TEMPLATE_PARTS + 1][LINE_CEILING];
	bool names_probe;       /* has {probe}; without it one probe speaks */
};

/* Compiles "{probe},{temperature},{humidity}".  A '{' that is not followed by
 * a word in small letters (or nothing) and '}' stands for itself, so lines of
 * JSON can be written as they are.  False with a sentence in why when a field
 * is unknown or doubled, two fields touch, or no value is read. */
bool line_compile(const char *text, struct line_template *out, char why[LINES_WHY]);

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
 * with the rest.  Empty lines are passed over.  However long a line grows, it
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
