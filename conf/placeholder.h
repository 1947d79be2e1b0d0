/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The keeper's own templates of a message: "{title}, {priority}".  Everything
 * but the known words in braces stands for itself, so that a template can be
 * JSON.  Pure.
 */
#ifndef WARMSIDE_CONF_PLACEHOLDER_H
#define WARMSIDE_CONF_PLACEHOLDER_H

#include <stdbool.h>
#include <stddef.h>

enum field { FIELD_TITLE, FIELD_TEXT, FIELD_PRIORITY, FIELD_ENCLOSURE, FIELD_ID, FIELDS };

/* How a value is written where it stands. */
enum escaping { ESCAPE_NONE, ESCAPE_JSON, ESCAPE_XML, ESCAPE_FORM, ESCAPE_HEADER };

/* What suits a media type: JSON for application/json and +json, XML for
 * text/html and text/xml and +xml, FORM for application/x-www-form-urlencoded,
 * otherwise NONE. */
enum escaping escaping_for(const char *content_type);

/* The word in the first {word} of letters that is no known field, or NULL;
 * *length is its length.  "{" followed by anything else is no field. */
const char *placeholder_unknown(const char *template, size_t *length);

/* The words, for messages: "title", ... */
const char *placeholder_word(enum field field);

/* The template with each {field} replaced by values[field], escaped; malloc'ed.
 * In a header every line break and control character becomes a blank. */
char *placeholder_fill(const char *template, const char *const values[FIELDS],
		       enum escaping escaping);

#endif
