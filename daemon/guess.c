/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lines -> template; see guess.h.
 */
#include "daemon/guess.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "conf/value.h"
#include "daemon/lines.h"

enum { NUMBERS = 8, WORD = 24 };

/* Above this nothing lives, in °C; in °F it is a cold room. */
static const double fahrenheit_from = 50;

/* ---- words ---- */

enum meaning { NO_WORD, MEANS_TEMPERATURE, MEANS_HUMIDITY, MEANS_UNIT, MEANS_ELSE };

static enum meaning meaning_of(const char *word)
{
	static const struct {
		const char *word;
		enum meaning meaning;
	} known[] = {
		{ "t", MEANS_TEMPERATURE },    { "temp", MEANS_TEMPERATURE },
		{ "tmp", MEANS_TEMPERATURE },  { "temperature", MEANS_TEMPERATURE },
		{ "h", MEANS_HUMIDITY },       { "hum", MEANS_HUMIDITY },
		{ "rh", MEANS_HUMIDITY },      { "humid", MEANS_HUMIDITY },
		{ "humidity", MEANS_HUMIDITY }, { "c", MEANS_UNIT },
		{ "f", MEANS_UNIT },	       { "deg", MEANS_UNIT },
		{ "degc", MEANS_UNIT },	       { "degf", MEANS_UNIT },
		{ "celsius", MEANS_UNIT },     { "fahrenheit", MEANS_UNIT },
	};

	for (size_t i = 0; i < sizeof known / sizeof *known; i++)
		if (strcasecmp(known[i].word, word) == 0)
			return known[i].meaning;
	return MEANS_ELSE;
}

/* What the last word of a text says of the value behind it. */
static enum meaning label_meaning(const char *text, size_t length)
{
	enum meaning meaning = NO_WORD;

	for (size_t at = 0; at < length;) {
		char word[WORD];
		size_t end = at;

		while (end < length && isalpha((unsigned char)text[end]))
			end++;
		if (end > at) {
			snprintf(word, sizeof word, "%.*s", (int)(end - at), text + at);
			meaning = meaning_of(word) == MEANS_UNIT ? meaning : meaning_of(word);
		}
		at = end > at ? end : at + 1;
	}
	return meaning;
}

/* ---- numbers ---- */

struct number {
	size_t at, length;
	bool whole;             /* has no point */
};

static bool is_name_letter(char c)
{
	return isalnum((unsigned char)c) || c == '_' || c == '.';
}

/* True behind the "12:" of 12:30. */
static bool is_behind_hours(const char *line, size_t at)
{
	size_t p = at - 1;

	if (at < 2 || line[p] != ':')
		return false;
	while (p > 0 && isdigit((unsigned char)line[p - 1]))
		p--;
	return p < at - 1 && (p == 0 || !is_name_letter(line[p - 1]));
}

/* The length of a number that begins here and is part of no name, or 0. */
static size_t number_at(const char *line, size_t at, bool *whole)
{
	size_t p = at, digits;

	if (at > 0 && (is_name_letter(line[at - 1]) || line[at - 1] == '-' || line[at - 1] == '+'))
		return 0;
	if (line[p] == '-' || line[p] == '+')
		p++;
	digits = strspn(line + p, "0123456789");
	p += digits;
	*whole = line[p] != '.';
	if (!*whole) {
		size_t fraction = strspn(line + p + 1, "0123456789");

		digits += fraction;
		p += 1 + fraction;
	}
	if (digits == 0 || (*whole && is_behind_hours(line, at)))
		return 0;
	/* "23.1C" is a number and its unit; "1st" and "12:30" are none. */
	if (strchr("CFcf", line[p]) && line[p] && !is_name_letter(line[p + 1]))
		return p - at;
	if (is_name_letter(line[p]) || (line[p] == ':' && isdigit((unsigned char)line[p + 1])))
		return 0;
	return p - at;
}

static size_t find_numbers(const char *line, struct number list[NUMBERS])
{
	size_t count = 0;

	for (size_t at = 0; line[at] && count < NUMBERS;) {
		struct number *n = &list[count];

		n->at = at;
		n->length = number_at(line, at, &n->whole);
		if (n->length)
			count++;
		at += n->length ? n->length : 1;
	}
	return count;
}

/* ---- one line ---- */

static void put(char text[TEMPLATE_MOST + 1], const char *part, size_t length)
{
	size_t used = strlen(text);

	if (used + length > TEMPLATE_MOST)
		length = TEMPLATE_MOST - used;
	memcpy(text + used, part, length);
	text[used + length] = '\0';
}

static void put_word(char text[TEMPLATE_MOST + 1], const char *word)
{
	put(text, word, strlen(word));
}

/* The name in front of the first value: where it is in the line; false when
 * there is none. */
static bool find_name(const char *line, size_t end, size_t *at, size_t *length)
{
	const char *colon = *line == '{' ? strstr(line, "\":") : NULL;
	char word[WORD];

	*at = 0;
	*length = strcspn(line, ",;:=|\t");
	/* {"probe":"w1", ... as many boards print. */
	if (*line == '{') {
		const char *open = colon ? strchr(colon + 2, '"') : NULL;

		if (!open || (size_t)(open - line) >= end)
			return false;
		*at = (size_t)(open - line) + 1;
		*length = strcspn(line + *at, "\"");
		return *length > 0 && *at + *length < end;
	}
	if (*length >= end)
		*length = strcspn(line, " ");
	/* "shelf T=23.1", "shelf T: 23.1": the label is no part of the name. */
	for (size_t i = *length; i > 0; i--) {
		enum meaning label = label_meaning(line + i, *length - i);

		if (line[i] == ' ' && (line[*length] == '=' || label == MEANS_TEMPERATURE ||
				       label == MEANS_HUMIDITY)) {
			*length = i;
			break;
		}
	}
	if (*length == 0 || *length >= end ||
	    (line[*length] == ':' && strspn(line, "0123456789") == *length))
		return false;
	snprintf(word, sizeof word, "%.*s", (int)*length, line);
	return (meaning_of(word) == MEANS_ELSE || meaning_of(word) == MEANS_UNIT) &&
	       strspn(line, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 ._-") >=
		       *length;
}

/* The field a value is, given what has been taken already. */
static const char *field_of(enum meaning label, bool taken[QUANTITIES])
{
	enum quantity q = label == MEANS_HUMIDITY || taken[TEMPERATURE] ? HUMIDITY : TEMPERATURE;

	if (label == MEANS_ELSE || taken[q] || (label == MEANS_TEMPERATURE && q != TEMPERATURE))
		return "{}";
	taken[q] = true;
	return q == TEMPERATURE ? "{temperature}" : "{humidity}";
}

/* The template this line alone suggests; "" when it holds no value. */
static void template_of(const char *line, char text[TEMPLATE_MOST + 1])
{
	struct number numbers[NUMBERS];
	size_t count = find_numbers(line, numbers), done = 0, first = 0, name, length;
	bool taken[QUANTITIES] = { false };

	text[0] = '\0';
	if (count == 0)
		return;
	if (find_name(line, numbers[0].at, &name, &length)) {
		put(text, line, name);
		put_word(text, "{probe}");
		done = name + length;
	} else if (numbers[0].at == 0 && numbers[0].whole && count > 1 &&
		   (count > 2 || !numbers[1].whole)) {
		put_word(text, "{probe}"); /* "3,23.1,45.2": a number for a name */
		done = numbers[0].length;
		first = 1;
	}
	for (size_t i = first; i < count; i++) {
		enum meaning label = label_meaning(line + done, numbers[i].at - done);

		put(text, line + done, numbers[i].at - done);
		put_word(text, field_of(label, taken));
		done = numbers[i].at + numbers[i].length;
	}
	put_word(text, line + done);
}

/* ---- all lines ---- */

static bool fits(const struct line_template *compiled, const char *line, bool *fahrenheit)
{
	struct line_values values;

	if (!line_match(compiled, line, &values))
		return false;
	/* 85 °C as °F is beyond what a probe in °C can read; so leave room for both. */
	if (values.has[TEMPERATURE] && values.value[TEMPERATURE] > fahrenheit_from)
		*fahrenheit = true;
	else if (values.has[TEMPERATURE] && !is_plausible(TEMPERATURE, values.value[TEMPERATURE]))
		return false;
	return !values.has[HUMIDITY] || is_plausible(HUMIDITY, values.value[HUMIDITY]);
}

static bool try_template(const char *text, char *const *lines, size_t count, struct guess *out)
{
	struct guess guess = { .matching = 0 };
	char *wrong = template_read(text, &guess.compiled);
	bool good = !wrong && (guess.compiled.reads[TEMPERATURE] || guess.compiled.reads[HUMIDITY]);

	free(wrong);
	for (size_t i = 0; good && i < count; i++)
		guess.matching += fits(&guess.compiled, lines[i], &guess.fahrenheit);
	if (!good || guess.matching <= out->matching)
		return false;
	snprintf(guess.text, sizeof guess.text, "%s", text);
	*out = guess;
	return true;
}

bool guess_template(char *const *lines, size_t count, struct guess *out)
{
	char text[TEMPLATE_MOST + 1];

	*out = (struct guess){ .matching = GUESS_LEAST - 1 };
	for (size_t i = 0; i < count; i++) {
		template_of(lines[i], text);
		if (text[0])
			try_template(text, lines, count, out);
	}
	return out->matching >= GUESS_LEAST;
}
