/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Templates of a message; see placeholder.h.
 */
#include "conf/placeholder.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "conf/memory.h"

static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";

static const char *const words[FIELDS] = {
	[FIELD_TITLE] = "title",         [FIELD_TEXT] = "text", [FIELD_PRIORITY] = "priority",
	[FIELD_ENCLOSURE] = "enclosure", [FIELD_ID] = "id",
};

const char *placeholder_word(enum field field)
{
	return words[field];
}

static bool is(const char *text, size_t length, const char *word)
{
	return strlen(word) == length && strncasecmp(text, word, length) == 0;
}

static bool ends_in(const char *text, size_t length, const char *end)
{
	size_t size = strlen(end);

	return length > size && strncasecmp(text + length - size, end, size) == 0;
}

enum escaping escaping_for(const char *content_type)
{
	const char *type = content_type + strspn(content_type, " \t");
	size_t length = strcspn(type, "; \t");

	if (is(type, length, "application/json") || ends_in(type, length, "+json"))
		return ESCAPE_JSON;
	if (is(type, length, "text/html") || is(type, length, "text/xml") ||
	    is(type, length, "application/xml") || ends_in(type, length, "+xml"))
		return ESCAPE_XML;
	if (is(type, length, "application/x-www-form-urlencoded"))
		return ESCAPE_FORM;
	return ESCAPE_NONE;
}

/* The length of the word between braces at `open`; 0 when that is no {word}. */
static size_t word_length(const char *open)
{
	size_t length = strspn(open + 1, letters);

	return open[1 + length] == '}' ? length : 0;
}

/* FIELDS when the word is none. */
static enum field find_field(const char *word, size_t length)
{
	enum field field = 0;

	while (field < FIELDS &&
	       (strlen(words[field]) != length || strncmp(words[field], word, length) != 0))
		field++;
	return field;
}

const char *placeholder_unknown(const char *template, size_t *length)
{
	for (const char *open = strchr(template, '{'); open; open = strchr(open + 1, '{')) {
		*length = word_length(open);
		if (*length > 0 && find_field(open + 1, *length) == FIELDS)
			return open + 1;
	}
	return NULL;
}

/* ---- escaping --------------------------------------------------------------- */

static bool is_control(unsigned char byte)
{
	return byte < ' ' || byte == 0x7f;
}

/* RFC 8259, section 7. */
static void put_json(FILE *out, unsigned char byte)
{
	if (byte == '"' || byte == '\\')
		fprintf(out, "\\%c", byte);
	else if (byte == '\n')
		fputs("\\n", out);
	else if (is_control(byte))
		fprintf(out, "\\u%04x", byte);
	else
		fputc(byte, out);
}

/* XML 1.0, sections 2.2 (no control characters but these three) and 2.4; good
 * in an attribute as well. */
static void put_xml(FILE *out, unsigned char byte)
{
	static const char special[] = "&<>\"'";
	static const char *const names[] = { "&amp;", "&lt;", "&gt;", "&quot;", "&#39;" };
	const char *at = strchr(special, byte);

	if (at && byte)
		fputs(names[at - special], out);
	else if (is_control(byte) && byte != '\n' && byte != '\t' && byte != '\r')
		fputc(' ', out);
	else
		fputc(byte, out);
}

/* WHATWG URL standard, application/x-www-form-urlencoded serializing. */
static void put_form(FILE *out, unsigned char byte)
{
	if (byte == ' ')
		fputc('+', out);
	else if (byte && (strchr(letters, byte) || strchr("0123456789*-._", byte)))
		fputc(byte, out);
	else
		fprintf(out, "%%%02X", byte);
}

static void put(FILE *out, const char *value, enum escaping escaping)
{
	for (const char *c = value; *c; c++) {
		unsigned char byte = (unsigned char)*c;

		if (escaping == ESCAPE_JSON)
			put_json(out, byte);
		else if (escaping == ESCAPE_XML)
			put_xml(out, byte);
		else if (escaping == ESCAPE_FORM)
			put_form(out, byte);
		else
			fputc(escaping == ESCAPE_HEADER && is_control(byte) ? ' ' : byte, out);
	}
}

char *placeholder_fill(const char *template, const char *const values[FIELDS],
		       enum escaping escaping)
{
	char *filled = NULL;
	size_t size;
	FILE *out = open_memstream(&filled, &size);

	if (!out)
		return must_copy("");
	for (const char *c = template; *c; c++) {
		size_t length = *c == '{' ? word_length(c) : 0;
		enum field field = length > 0 ? find_field(c + 1, length) : FIELDS;

		if (field < FIELDS) {
			put(out, values[field], escaping);
			c += length + 1;
		} else {
			/* In a header the keeper's own words must not break the line either. */
			fputc(escaping == ESCAPE_HEADER && is_control((unsigned char)*c) ? ' ' : *c,
			      out);
		}
	}
	if (fclose(out) != 0 || !filled) {
		free(filled);
		return must_copy("");
	}
	return filled;
}
