/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The values of one section; see value.h.
 */
#include "conf/value.h"

#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/closest.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/utf8.h"

enum { NAME_MOST = 40 };

void complain(struct resolve *resolve, const struct statement *at, const char *format, ...)
{
	const struct script *script = resolve->script;
	size_t index = (size_t)(at - script->list);
	char *place = script_place(script, at->kind == STATEMENT_OPEN ? index : at->inside);
	char *text = NULL;
	va_list arguments;

	va_start(arguments, format);
	if (vasprintf(&text, format, arguments) < 0)
		text = must_copy(format);
	va_end(arguments);
	fault_add(resolve->faults, at->file, at->line, "%s%s%s", place, *place ? ": " : "", text);
	free(text);
	free(place);
}

char *shown(const struct statement *value, char buf[SHOWN_TEXT])
{
	char brief[BRIEF_TEXT];

	snprintf(buf, SHOWN_TEXT, "%s = \"%s\"", value->name, utf8_brief(value->text, brief));
	return buf;
}

/* The statement of a key whose text can be used. */
static enum said find(struct section section, const char *key, const struct statement **value)
{
	*value = section_value(section, key);
	if (!*value)
		return ABSENT;
	return (*value)->spoiled ? FAULTY : GIVEN;
}

enum said take_text(struct resolve *resolve, struct section section, const char *key, size_t most,
		    const char **out)
{
	const struct statement *value;
	enum said said = find(section, key, &value);

	if (said != GIVEN)
		return said;
	if (*value->text == '\0' || !utf8_is_line(value->text, most)) {
		complain(resolve, value, "%s must be one line of 1 to %zu characters", key, most);
		return FAULTY;
	}
	*out = value->text;
	return GIVEN;
}

enum said take_choice(struct resolve *resolve, struct section section, const char *key,
		      const char *const words[], size_t count, size_t *out)
{
	const struct statement *value;
	enum said said = find(section, key, &value);
	char *list = NULL;
	char buf[SHOWN_TEXT];

	if (said != GIVEN)
		return said;
	for (size_t i = 0; i < count; i++)
		if (strcmp(words[i], value->text) == 0) {
			*out = i;
			return GIVEN;
		}
	for (size_t i = 0; i < count; i++) {
		char *longer =
			list ? must_print("%s%s%s", list, i + 1 == count ? " or " : ", ", words[i])
			     : must_copy(words[i]);

		free(list);
		list = longer;
	}
	complain(resolve, value, "%s must be %s", shown(value, buf), list);
	free(list);
	return FAULTY;
}

enum said take_whole(struct resolve *resolve, struct section section, const char *key, int low,
		     int high, int *out)
{
	const struct statement *value;
	enum said said = find(section, key, &value);
	char buf[SHOWN_TEXT];
	double number;

	if (said != GIVEN)
		return said;
	if (!parse_number(value->text, &number) || number != floor(number) || number < low ||
	    number > high) {
		complain(resolve, value, "%s must be a whole number from %d to %d",
			 shown(value, buf), low, high);
		return FAULTY;
	}
	*out = (int)number;
	return GIVEN;
}

/* "0s", "0 min": parse_duration() knows no such thing, but no delay at all
 * can be wanted, and elsewhere it is a matter of range. */
static bool is_zero_duration(const char *text)
{
	text += strspn(text, " ");
	return *text == '0' && strspn(text + 1, " dhmins") == strlen(text + 1) && text[1] != '\0';
}

enum said take_duration(struct resolve *resolve, struct section section, const char *key,
			double low, double high, double *out)
{
	const struct statement *value;
	enum said said = find(section, key, &value);
	char buf[SHOWN_TEXT], least[MEASURE_TEXT], most[MEASURE_TEXT];
	double seconds = 0;

	if (said != GIVEN)
		return said;
	if (!parse_duration(value->text, &seconds) && !is_zero_duration(value->text)) {
		complain(resolve, value,
			 "%s is no duration; write it like \"90s\", \"45min\", \"6h\" or \"2d\"",
			 shown(value, buf));
		return FAULTY;
	}
	if (seconds < low || seconds > high) {
		complain(resolve, value, "%s must lie between %s and %s", shown(value, buf),
			 show_duration(low, least), show_duration(high, most));
		return FAULTY;
	}
	*out = seconds;
	return GIVEN;
}

enum said take_difference(struct resolve *resolve, struct section section, const char *key,
			  enum quantity quantity, double most, double *out)
{
	const struct statement *value;
	enum said said = find(section, key, &value);
	char buf[SHOWN_TEXT], text[MEASURE_TEXT];
	double difference;

	if (said != GIVEN)
		return said;
	if (!parse_difference(value->text, quantity, &difference) || difference <= 0) {
		complain(resolve, value, "%s is no difference above 0; write it like %s",
			 shown(value, buf),
			 quantity == TEMPERATURE ? "\"4 C\" or \"7 F\"" : "\"5 %\"");
		return FAULTY;
	}
	if (difference > most) {
		complain(resolve, value, "%s must be at most %s", shown(value, buf),
			 show_difference(most, quantity, resolve->conf->units, text));
		return FAULTY;
	}
	*out = difference;
	return GIVEN;
}

enum said take_time_of_day(struct resolve *resolve, struct section section, const char *key,
			   int *out)
{
	const struct statement *value;
	enum said said = find(section, key, &value);
	char buf[SHOWN_TEXT];

	if (said != GIVEN)
		return said;
	if (!parse_time_of_day(value->text, out)) {
		complain(resolve, value,
			 "%s is no time of day; write it from \"00:00\" to \"23:59\"",
			 shown(value, buf));
		return FAULTY;
	}
	return GIVEN;
}

bool is_plausible(enum quantity quantity, double value)
{
	return quantity == TEMPERATURE ? value >= -40 && value <= 85 : value >= 0 && value <= 100;
}

enum said take_range(struct resolve *resolve, struct section section, const char *key,
		     enum quantity quantity, struct range *out)
{
	static const char *const like[QUANTITIES] = { "\"26..30 C\" or \"79..86 F\"",
						      "\"45..60 %\"" };
	static const char *const whole[QUANTITIES] = { "-40..85 C (-40..185 F)", "0..100 %" };
	const struct statement *value;
	enum said said = find(section, key, &value);
	char buf[SHOWN_TEXT];
	struct range range;

	if (said != GIVEN)
		return said;
	if (!parse_range(value->text, quantity, &range) || range.low >= range.high) {
		complain(resolve, value, "%s is no range; write it from low to high, like %s",
			 shown(value, buf), like[quantity]);
		return FAULTY;
	}
	if (!is_plausible(quantity, range.low) || !is_plausible(quantity, range.high)) {
		complain(resolve, value, "%s must lie within %s", shown(value, buf),
			 whole[quantity]);
		return FAULTY;
	}
	*out = range;
	return GIVEN;
}

bool has_key(struct resolve *resolve, struct section section, const char *key, const char *example)
{
	const struct statement *head = section_head(section);

	if (section_value(section, key))
		return true;
	if (!head->unsure && !resolve->script->garbled)
		complain(resolve, head, "%s is missing; write %s = %s", key, key, example);
	return false;
}

const char *take_name(struct resolve *resolve, struct section section)
{
	const struct statement *head = section_head(section);
	const char *name = head->text ? head->text : "";
	size_t length = strlen(name);

	if (!head->text || head->spoiled)
		return name;
	if (length == 0 || length > NAME_MOST || name[0] == ' ' || name[length - 1] == ' ' ||
	    strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 -_") !=
		    length)
		complain(resolve, head,
			 "a name is made of 1 to %d letters a-z, digits, blanks, - and _, with no "
			 "blank at its ends%s",
			 NAME_MOST,
			 strcmp(head->name, "enclosure") == 0 ? "; a label may be anything" : "");
	return name;
}

/* True when a section of that kind and name was written, but could not count. */
static bool was_dropped(const struct script *script, const char *name)
{
	for (size_t i = 0; i < script->count; i++) {
		const struct statement *statement = &script->list[i];

		if (statement->dropped && statement->kind == STATEMENT_OPEN && statement->text &&
		    strcmp(statement->text, name) == 0)
			return true;
	}
	return false;
}

static const struct titles *titles_of(struct resolve *resolve, const char *kind)
{
	static const char *const kinds[REFERRED] = { "bus", "probe", "species" };
	size_t count = section_count(resolve->top, kind), k = 0;

	while (k < REFERRED - 1 && strcmp(kinds[k], kind) != 0)
		k++;
	struct titles *titles = &resolve->known[k];

	if (titles->count > 0)
		return titles;
	for (size_t i = 0; i < count; i++) {
		const struct statement *head = section_head(section_at(resolve->top, kind, i));

		if (head->text)
			titles_add(titles, head->text, i);
	}
	titles_sort(titles);
	return titles;
}

static void unknown_reference(struct resolve *resolve, const struct statement *value,
			      const char *kind)
{
	size_t count = section_count(resolve->top, kind);
	struct closest closest = closest_begin(value->text);
	char buf[SHOWN_TEXT];

	for (size_t i = 0; i < count; i++) {
		const struct statement *head = section_head(section_at(resolve->top, kind, i));

		if (head->text)
			closest_try(&closest, head->text);
	}
	bool species = strcmp(kind, "species") == 0;

	if (closest.best)
		complain(resolve, value, "%s names no %s; did you mean \"%s\"?", shown(value, buf),
			 kind, closest.best);
	else if (species && count > 0)
		complain(resolve, value, "%s names no species; \"warmside species\" lists the %zu that "
			 "are known, and species \"name\" { ... } adds one", shown(value, buf), count);
	else if (species)
		complain(resolve, value, "%s names no species, and none is known: "
			 "include(\"species.conf\") takes in the shipped ones", shown(value, buf));
	else
		complain(resolve, value, "%s names no %s; write one: %s \"name\" { ... }",
			 shown(value, buf), kind, kind);
}

enum said take_reference(struct resolve *resolve, struct section section, const char *key,
			 const char *kind, size_t *index)
{
	const struct statement *value;
	enum said said = find(section, key, &value);
	size_t found;

	if (said != GIVEN)
		return said;
	found = titles_find(titles_of(resolve, kind), value->text, SIZE_MAX);
	if (found != SIZE_MAX) {
		*index = found;
		return GIVEN;
	}
	if (!resolve->script->incomplete && !was_dropped(resolve->script, value->text) &&
	    !faults_full(resolve->faults))
		unknown_reference(resolve, value, kind);
	return FAULTY;
}
