/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A line -> templates; see guess_line.h.
 */
#include "daemon/guess_line.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

enum { NUMBERS = 8, WORD = 24 };

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

static bool is_in_word(char c)
{
	return isalnum((unsigned char)c) || c == '_' || (unsigned char)c >= 0x80;
}

/* True when the text says what a value is, and nothing else: "Temp (C)". */
static bool is_label(const char *text, size_t length)
{
	bool labels = false;

	for (size_t at = 0; at < length;) {
		char word[WORD];
		size_t end = at;
		enum meaning meaning;

		while (end < length && is_in_word(text[end]))
			end++;
		if (end > at) {
			snprintf(word, sizeof word, "%.*s", (int)(end - at), text + at);
			meaning = meaning_of(word);
			if (meaning == MEANS_ELSE)
				return false;
			labels = labels || meaning != MEANS_UNIT;
		}
		at = end > at ? end : at + 1;
	}
	return labels;
}

/* Where the name of this line is, and which value is the first behind it. */
struct naming {
	size_t at, length;
	size_t first;
};

/* {"probe":"w1", ... as many boards print. */
static bool name_in_json(const char *line, size_t end, struct naming *name)
{
	const char *colon = strstr(line, "\":");
	const char *open = colon ? strchr(colon + 2, '"') : NULL;

	if (!open || (size_t)(open - line) >= end)
		return false;
	name->at = (size_t)(open - line) + 1;
	name->length = strcspn(line + name->at, "\"");
	return name->length > 0 && name->at + name->length < end;
}

/* "shelf T=23.1", "shelf T: 23.1": the label is no part of the name. */
static size_t without_label(const char *line, size_t length)
{
	for (size_t i = length; i > 0; i--) {
		enum meaning label = label_meaning(line + i, length - i);

		if (line[i] == ' ' && (line[length] == '=' || label == MEANS_TEMPERATURE ||
				       label == MEANS_HUMIDITY))
			return i;
	}
	return length;
}

static bool can_be_name(const char *line, size_t length)
{
	return length > 0 && strspn(line, "0123456789.+- ") < length && !is_label(line, length);
}

/* The name is all up to the first separator, whole numbers in it included: "Tub 1,23.1". */
static bool name_to_separator(const char *line, const struct number *numbers, size_t count,
			      struct naming *name)
{
	size_t length = strcspn(line, ",;:=|\t");

	if (!line[length] || *line == '{')
		return false;
	*name = (struct naming){ .length = without_label(line, length) };
	while (name->first < count && numbers[name->first].at < name->length)
		if (!numbers[name->first++].whole)
			return false;
	return name->first < count && can_be_name(line, name->length);
}

/* The name ends in front of the first value, at a separator or the first blank. */
static bool name_to_value(const char *line, const struct number *numbers, struct naming *name)
{
	size_t end = numbers[0].at, length = strcspn(line, ",;:=|\t");

	*name = (struct naming){ .first = 0 };
	if (*line == '{')
		return name_in_json(line, end, name);
	if (length >= end)
		length = strcspn(line, " ");
	name->length = without_label(line, length);
	return name->length < end && can_be_name(line, name->length);
}

/* The name is a number: "3,23.1,45.2", "Tub 3 23.1 45.2". */
static bool name_is_number(const char *line, const struct number *numbers, size_t count,
			   struct naming *name)
{
	size_t in_front = numbers[0].at;

	*name = (struct naming){ in_front, numbers[0].length, 1 };
	return numbers[0].whole && count > 1 && (count > 2 || !numbers[1].whole) &&
	       strcspn(line, ",;:=|\t") >= in_front &&
	       label_meaning(line, in_front) != MEANS_TEMPERATURE &&
	       label_meaning(line, in_front) != MEANS_HUMIDITY;
}

/* True when a value from `first` on has a point, so that whole numbers in front are
 * no values: one board prints all alike. */
static bool have_points(const struct number *numbers, size_t count, size_t first)
{
	for (size_t i = first; i < count; i++)
		if (!numbers[i].whole)
			return true;
	return false;
}

/* A label that is closed: "bat=", "\"bat\": ". */
static bool is_closed(const char *text, size_t length)
{
	while (length > 0 && text[length - 1] == ' ')
		length--;
	return length > 0 && strchr(":=", text[length - 1]);
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

/* The template of this line with that name; NULL: it has none. */
static void template_of(const char *line, const struct number *numbers, size_t count,
			const struct naming *name, char text[TEMPLATE_MOST + 1])
{
	size_t done = name ? name->at + name->length : 0, first = name ? name->first : 0, from = done;
	bool taken[QUANTITIES] = { false }, labelled = false;

	text[0] = '\0';
	if (name) {
		put(text, line, name->at);
		put_word(text, "{probe}");
	}
	for (size_t i = first; i < count; i++) {
		enum meaning label = label_meaning(line + from, numbers[i].at - from);

		labelled = labelled || label == MEANS_TEMPERATURE || label == MEANS_HUMIDITY;
		from = numbers[i].at + numbers[i].length;
	}
	for (size_t i = first; i < count; i++) {
		size_t length = numbers[i].at - done;
		enum meaning label = label_meaning(line + done, length);

		/* Words alone, which may be half a name, do not make a value something else. */
		if (label == MEANS_ELSE && !labelled && !is_closed(line + done, length))
			label = NO_WORD;
		put(text, line + done, length);
		put_word(text, field_of(label, taken));
		done = numbers[i].at + numbers[i].length;
	}
	put_word(text, line + done);
}

/* ---- the ways ---- */

size_t guess_ways(const char *line, char ways[GUESS_WAYS][TEMPLATE_MOST + 1])
{
	struct number numbers[NUMBERS];
	struct naming name;
	size_t found = find_numbers(line, numbers), count = 0;
	bool sure = found == 0; /* numbers in front belong to the name */

	if (!sure && name_to_separator(line, numbers, found, &name)) {
		template_of(line, numbers, found, &name, ways[count++]);
		sure = name.first == 0 || have_points(numbers, found, name.first);
	}
	if (!sure && name_is_number(line, numbers, found, &name)) {
		template_of(line, numbers, found, &name, ways[count++]);
		sure = name.at == 0 || have_points(numbers, found, 1);
	}
	if (!sure) {
		bool named = name_to_value(line, numbers, &name);

		template_of(line, numbers, found, named ? &name : NULL, ways[count++]);
	}
	return count;
}
