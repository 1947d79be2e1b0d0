/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The template of a text line a board prints, such as
 * "{probe},{temperature},{humidity}": compiled once, by the loader to find
 * its faults and by the bus to match lines.  {} skips.
 */
#ifndef WARMSIDE_CONF_TEMPLATE_H
#define WARMSIDE_CONF_TEMPLATE_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/model.h"

enum {
	TEMPLATE_MOST = 200,    /* bytes of a template */
	TEMPLATE_PARTS = 16,    /* most fields in one */
	TOKEN_MOST = 60,        /* characters of what {probe} may be in the configuration */
};

enum line_field {
	FIELD_PROBE,            /* {probe}: the name the board prints */
	FIELD_TEMPERATURE,      /* {temperature}, °C */
	FIELD_FAHRENHEIT,       /* {temperature_f} */
	FIELD_HUMIDITY,         /* {humidity}, % */
	FIELD_SKIP,             /* {}: anything */
	LINE_FIELDS
};

/* literal, field, literal, field, ..., literal: text[i] stands in front of
 * field[i], text[count] behind the last.  Blanks at both ends are left out. */
struct line_template {
	size_t count;
	enum line_field field[TEMPLATE_PARTS];
	char text[TEMPLATE_PARTS + 1][TEMPLATE_MOST + 1];
	bool names_probe;       /* has {probe}; without it one probe speaks */
	bool reads[QUANTITIES];
};

/* Compiles a template.  A '{' that is not followed by a word in small letters
 * (or nothing) and '}' stands for itself, so that lines of JSON can be written
 * as they are.  Fills *out and returns NULL, or returns what is wrong with the
 * template, as the end of a sentence; the caller frees it. */
char *template_read(const char *text, struct line_template *out);

#endif
