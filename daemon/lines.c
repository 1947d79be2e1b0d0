/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lines and their assembler; see lines.h.
 */
#include "daemon/lines.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "conf/utf8.h"

static const char blanks[] = " \t";

/* ---- line ---- */

/* What is left of a line to match. */
struct cursor {
	const char *at, *end;
};

static size_t left(const struct cursor *c)
{
	return (size_t)(c->end - c->at);
}

static void skip_blanks(struct cursor *c)
{
	while (c->at < c->end && strchr(blanks, *c->at))
		c->at++;
}

static bool take_text(struct cursor *c, const char *text)
{
	size_t length = strlen(text);

	if (left(c) < length || memcmp(c->at, text, length) != 0)
		return false;
	c->at += length;
	return true;
}

static size_t digits(const struct cursor *c, const char *from)
{
	const char *p = from;

	while (p < c->end && *p >= '0' && *p <= '9')
		p++;
	return (size_t)(p - from);
}

/* The length of the plain decimal number here, or 0: no exponents, no hex, no
 * inf, which strtod alone would let pass. */
static size_t number_length(const struct cursor *c)
{
	const char *p = c->at;
	size_t whole, fraction = 0;

	if (p < c->end && (*p == '-' || *p == '+'))
		p++;
	whole = digits(c, p);
	p += whole;
	if (p < c->end && *p == '.') {
		fraction = digits(c, p + 1);
		p += 1 + fraction;
	}
	return whole + fraction ? (size_t)(p - c->at) : 0;
}

static size_t nan_length(const struct cursor *c)
{
	size_t sign = left(c) && (*c->at == '-' || *c->at == '+') ? 1 : 0;

	return left(c) >= sign + 3 && strncasecmp(c->at + sign, "nan", 3) == 0 ? sign + 3 : 0;
}

static void take_value(struct cursor *c, enum line_field field, struct line_values *out)
{
	enum quantity q = field == FIELD_HUMIDITY ? HUMIDITY : TEMPERATURE;
	char number[LINE_CEILING + 1];
	size_t length;

	skip_blanks(c);
	length = number_length(c);
	if (length) {
		memcpy(number, c->at, length);
		number[length] = '\0';
		out->has[q] = true;
		out->value[q] = strtod(number, NULL);
		if (field == FIELD_FAHRENHEIT)
			out->value[q] = (out->value[q] - 32) * 5 / 9;
		c->at += length;
	} else {
		c->at += nan_length(c);
	}
}

/* Everything up to where the text behind the field begins. */
static bool take_words(struct cursor *c, const char *behind, bool last, struct cursor *words)
{
	const char *stop = c->end;
	size_t length = strlen(behind);

	if (length && last)
		stop = left(c) >= length ? c->end - length : NULL;
	else if (length)
		stop = memmem(c->at, left(c), behind, length);
	if (!stop)
		return false;
	*words = (struct cursor){ c->at, stop };
	c->at = stop;
	return true;
}

static bool take_token(struct cursor words, char token[LINE_CEILING + 1])
{
	skip_blanks(&words);
	while (words.end > words.at && strchr(blanks, words.end[-1]))
		words.end--;
	memcpy(token, words.at, left(&words));
	token[left(&words)] = '\0';
	return token[0] != '\0';
}

bool line_match(const struct line_template *template, const char *line, struct line_values *out)
{
	struct cursor c = { line, line + strnlen(line, LINE_CEILING) }, words;

	memset(out, 0, sizeof *out);
	skip_blanks(&c);
	while (c.end > c.at && strchr(blanks, c.end[-1]))
		c.end--;
	if (!take_text(&c, template->text[0]))
		return false;
	for (size_t i = 0; i < template->count; i++) {
		enum line_field field = template->field[i];
		const char *behind = template->text[i + 1];

		if (field == FIELD_PROBE || field == FIELD_SKIP) {
			if (!take_words(&c, behind, i + 1 == template->count, &words) ||
			    (field == FIELD_PROBE && !take_token(words, out->token)))
				return false;
		} else {
			take_value(&c, field, out);
			if (strncmp(c.at, behind, strlen(behind)) != 0)
				skip_blanks(&c);
		}
		if (!take_text(&c, behind))
			return false;
	}
	return c.at == c.end;
}

/* ---- assembler ---- */

static enum line_event end_of_line(struct line_assembler *a)
{
	enum line_event event = a->bad ? LINE_BAD : a->used && !a->skipping ? LINE_WHOLE : LINE_MORE;

	a->text[event == LINE_WHOLE ? a->used : 0] = '\0';
	utf8_mend(a->text);
	a->used = 0;
	a->skipping = false;
	a->bad = false;
	return event;
}

static bool is_text(unsigned char byte)
{
	return byte == '\t' || (byte >= ' ' && byte != 0x7f);
}

/* One byte that ends no line. */
static enum line_event add_byte(struct line_assembler *a, char byte)
{
	if (!is_text((unsigned char)byte) && !a->skipping)
		a->bad = true;
	if (a->used == LINE_CEILING) {
		bool told = !a->skipping;

		a->used = 0;
		a->bad = false;
		a->skipping = true;
		return told ? LINE_BAD : LINE_MORE;
	}
	a->text[a->used++] = byte;
	return LINE_MORE;
}

size_t line_take(struct line_assembler *assembler, const char *bytes, size_t count,
		 enum line_event *event)
{
	size_t taken = 0;

	*event = LINE_MORE;
	while (taken < count && *event == LINE_MORE) {
		char byte = bytes[taken++];

		*event = byte == '\n' || byte == '\r' ? end_of_line(assembler) :
							add_byte(assembler, byte);
	}
	return taken;
}

bool line_spoil(struct line_assembler *assembler)
{
	bool half = assembler->used && !assembler->skipping;

	assembler->bad = assembler->bad || half;
	return half;
}
