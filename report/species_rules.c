/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rules as lines of a text; see species_rules.h.
 */
#include "report/species_rules.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "conf/words.h"
#include "report/fill.h"

enum {
	INDENT = 2, GAP = 2,
	SPEAKER_WIDTH = 9,      /* "enclosure" */
	NARROW = 60,            /* columns; below it a source goes on below its value */
};

char *told_value(const struct told *told, enum source_key key, enum units units,
		 char buf[MEASURE_TEXT])
{
	if (!is_range(key))
		return show_duration(rule_duration(told->rule, key), buf);
	return show_range(rule_range(told->rule, key), told->quantity, units, buf);
}

bool telling_has(const struct telling *telling, enum place place, enum quantity quantity)
{
	for (size_t i = 0; i < telling->count; i++)
		if (!telling->list[i].season && telling->list[i].place == place &&
		    telling->list[i].quantity == quantity)
			return true;
	return false;
}

char *listed(char *list, const char *more)
{
	char *longer = must_print("%s%s%s", list, *list ? ", " : "", more);

	free(list);
	return longer;
}

void say_strong(const struct terminal *terminal, const char *text)
{
	struct fill fill = fill_begin(terminal, 0, INDENT);

	fill_text(&fill, INK_STRONG, 0, text);
	fill_break(&fill);
}

/* Columns of the widest key and of the widest value. */
struct widths {
	size_t key, value;
};

static struct widths measure(const struct terminal *terminal, const struct telling *telling,
			     enum units units)
{
	struct widths widths = { 0 };

	for (size_t i = 0; i < telling->count; i++)
		for (int key = 0; key < SOURCE_KEYS; key++) {
			const struct told *told = &telling->list[i];
			const char *word = source_word((enum source_key)key);
			char text[MEASURE_TEXT];
			size_t columns;

			if (!told->has[key])
				continue;
			columns = terminal_columns(
				terminal, told_value(told, (enum source_key)key, units, text));
			if (columns > widths.value)
				widths.value = columns;
			if (strlen(word) > widths.key)
				widths.key = strlen(word);
		}
	return widths;
}

/* The blanks that follow a text in a column of that width. */
static size_t gap_behind(const struct terminal *terminal, const char *text, size_t width)
{
	size_t columns = terminal_columns(terminal, text);

	return (columns < width ? width - columns : 0) + GAP;
}

static void print_key(const struct terminal *terminal, const struct told *told, enum source_key key,
		      enum units units, struct widths widths, bool speakers)
{
	size_t source_at = INDENT + widths.key + GAP + widths.value + GAP +
			   (speakers ? SPEAKER_WIDTH + GAP : 0);
	bool narrow = terminal->width && terminal->width < NARROW;
	struct fill fill = fill_begin(terminal, INDENT, narrow ? INDENT + GAP : source_at);
	const char *speaker = speaker_word(told->by[key]);
	const char *source = told->source[key] ? told->source[key]
			     : told->by[key] != BUILT_IN ? "no source is given"
			     : speakers			 ? ""
							 : speaker;
	char text[MEASURE_TEXT];

	fill_text(&fill, INK_QUIET, 0, source_word(key));
	told_value(told, key, units, text);
	fill_text(&fill, INK_PLAIN, gap_behind(terminal, source_word(key), widths.key), text);
	if (speakers)
		fill_text(&fill, told->by[key] == ENCLOSURE_SAYS ? INK_STRONG : INK_QUIET,
			  gap_behind(terminal, text, widths.value), speaker);
	if (narrow)
		fill_break(&fill);
	fill_text(&fill, INK_QUIET,
		  speakers ? gap_behind(terminal, speaker, SPEAKER_WIDTH)
			   : gap_behind(terminal, text, widths.value), source);
	fill_break(&fill);
}

/* What the season makes of it, where one is in force. */
static void print_today(const struct terminal *terminal, const struct told *told, enum units units,
			size_t key_width)
{
	const struct rule *today = &told->today;
	struct fill fill = fill_begin(terminal, INDENT, INDENT + key_width + GAP);
	char day[MEASURE_TEXT], night[MEASURE_TEXT], limits[MEASURE_TEXT];
	char *text;

	if (!told->in_season)
		return;
	text = must_print("%s%s%s%s%s%s%s",
			  today->has_band ? show_range(today->day, told->quantity, units, day) : "",
			  today->has_band ? " by day, " : "",
			  today->has_band ? show_range(today->night, told->quantity, units, night) : "",
			  today->has_band ? " by night" : "",
			  today->has_band && today->has_limits ? ", " : "",
			  today->has_limits ? "limits " : "",
			  today->has_limits ? show_range(today->limits, told->quantity, units, limits)
					    : "");
	fill_text(&fill, INK_STRONG, 0, "today");
	fill_text(&fill, INK_STRONG, gap_behind(terminal, "today", key_width), text);
	fill_break(&fill);
	free(text);
}

/* A species' hot spot is what its lamp shines on; an enclosure's own band is of whatever
 * its probe lies in. */
static const char *surface_words(const struct told *told)
{
	bool surface = told->place == HOT_SPOT && told->quantity == TEMPERATURE &&
		       told->has[SOURCE_DAY] && told->by[SOURCE_DAY] == SPECIES_SAYS;

	return surface ? ", of the surface as an infrared thermometer reads it" : "";
}

void print_rules(const struct terminal *terminal, const struct telling *telling,
		 const char *season, enum units units, bool speakers)
{
	struct widths widths = measure(terminal, telling, units);

	for (size_t i = 0; i < telling->count; i++) {
		const struct told *told = &telling->list[i];

		if (season ? !told->season || strcmp(told->season, season) != 0
			   : told->season != NULL)
			continue;
		if (!season)
			fputc('\n', terminal->file);
		terminal_print(terminal, 0, "%s %s%s", place_phrase(told->place),
			       quantity_word(told->quantity), surface_words(told));
		for (int key = 0; key < SOURCE_KEYS; key++)
			if (told->has[key])
				print_key(terminal, told, (enum source_key)key, units, widths,
					  speakers);
		print_today(terminal, told, units, widths.key);
	}
}

void print_season(const struct terminal *terminal, const struct telling *telling,
		  const struct season *season, enum units units, bool speakers)
{
	char *dates = dates_text(&season->dates);
	struct fill fill = fill_begin(terminal, 0, INDENT);

	fputc('\n', terminal->file);
	fill_text(&fill, INK_STRONG, 0, "season");
	fill_text(&fill, INK_STRONG, 1, season->name);
	fill_text(&fill, INK_PLAIN, 1, "·");
	fill_text(&fill, INK_PLAIN, 1, dates);
	if (season->dates.kind == UNDATED)
		fill_text(&fill, INK_PLAIN, 1, "until an enclosure gives them");
	fill_break(&fill);
	free(dates);
	print_rules(terminal, telling, season->name, units, speakers);
}
