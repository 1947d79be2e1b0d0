/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lines -> template; see guess.h.
 */
#include "daemon/guess.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/value.h"
#include "daemon/guess_line.h"
#include "daemon/layouts.h"
#include "daemon/lines.h"

/* Above this nothing lives, in °C; in °F it is a cold room. */
static const double fahrenheit_from = 50;

/* ---- all lines ---- */

/* A template that is tried, and how well it does. */
struct trial {
	struct guess guess;
	size_t likely;          /* lines whose values are those of a home */
	size_t skipped;         /* fields {} */
};

static void try_line(struct trial *trial, const char *line)
{
	struct line_values values;
	bool likely = true;

	if (!line_match(&trial->guess.compiled, line, &values))
		return;
	for (int q = 0; q < QUANTITIES; q++) {
		/* 85 °C as °F is beyond what a probe in °C can read; so leave room for both. */
		bool hot = q == TEMPERATURE && values.has[q] && values.value[q] > fahrenheit_from;

		if (values.has[q] && !hot && !is_plausible((enum quantity)q, values.value[q]))
			return;
		trial->guess.fahrenheit = trial->guess.fahrenheit || hot;
		likely = likely &&
			 (!values.has[q] || layout_likely((enum quantity)q, values.value[q]));
	}
	trial->guess.matching++;
	trial->likely += likely;
}

static size_t quantities_of(const struct trial *trial)
{
	return (size_t)trial->guess.compiled.reads[TEMPERATURE] +
	       trial->guess.compiled.reads[HUMIDITY];
}

/* Most lines first; then what a home is like, then what tells more. */
static bool is_better(const struct trial *one, const struct trial *other)
{
	if (one->guess.matching != other->guess.matching)
		return one->guess.matching > other->guess.matching;
	if (one->likely != other->likely)
		return one->likely > other->likely;
	if (quantities_of(one) != quantities_of(other))
		return quantities_of(one) > quantities_of(other);
	if (one->guess.compiled.names_probe != other->guess.compiled.names_probe)
		return one->guess.compiled.names_probe;
	return one->skipped < other->skipped;
}

static bool compile(const char *text, struct line_template *out)
{
	char *wrong = template_read(text, out);
	bool good = !wrong;

	free(wrong);
	return good;
}

static void try_template(const char *text, char *const *lines, size_t count, struct trial *best)
{
	struct trial trial = { .likely = 0 };

	if (strcmp(text, best->guess.text) == 0 || !compile(text, &trial.guess.compiled))
		return;
	for (size_t i = 0; i < trial.guess.compiled.count; i++)
		trial.skipped += trial.guess.compiled.field[i] == FIELD_SKIP;
	for (size_t i = 0; i < count; i++)
		try_line(&trial, lines[i]);
	if (!is_better(&trial, best))
		return;
	*best = trial;
	snprintf(best->guess.text, sizeof best->guess.text, "%.*s", TEMPLATE_MOST, text);
}

bool guess_template(char *const *lines, size_t count, struct guess *out)
{
	struct trial best = { .guess.matching = GUESS_LEAST - 1, .likely = count,
			      .skipped = 0 };

	for (size_t i = 0; i < count; i++) {
		char ways[GUESS_WAYS][TEMPLATE_MOST + 1];
		size_t found = guess_ways(lines[i], ways);

		for (size_t w = 0; w < found; w++)
			try_template(ways[w], lines, count, &best);
	}
	*out = best.guess;
	return out->matching >= GUESS_LEAST;
}

/* ---- counters ---- */

static bool is_number(const char *text)
{
	return *text && strspn(text, "0123456789.") == strlen(text);
}

bool guess_counts(const struct guess *guess, char *const *lines, size_t count)
{
	struct line_values values;
	size_t matching = 0;
	double last = -1, present;

	for (size_t i = 0; i < count; i++) {
		if (!line_match(&guess->compiled, lines[i], &values))
			continue;
		present = is_number(values.token) ? strtod(values.token, NULL) : -1;
		if (present <= last)
			return false;
		last = present;
		matching++;
	}
	return matching >= GUESS_COUNT;
}

void guess_drop_name(struct guess *guess)
{
	static const char field[] = "{probe}";
	char *at = strstr(guess->text, field);

	if (!at)
		return;
	memmove(at + 2, at + sizeof field - 1, strlen(at + sizeof field - 1) + 1);
	at[1] = '}';
	guess->counter = compile(guess->text, &guess->compiled);
}
