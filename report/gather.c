/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Records of all enclosures; see gather.h.
 */
#include "report/gather.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/closest.h"
#include "conf/daypart.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/season.h"
#include "conf/words.h"

static const double STALE = 600; /* s: records older than this are spoken of */

void gather_note(struct gathered *gathered, const struct enclosure *enclosure,
		 const struct record *record)
{
	gathered->count += record->count > 0;
	if (record->row_size > gathered->row_size)
		gathered->row_size = record->row_size;
	gathered->shared_out |= record->shared_out;
	if (record->newest > gathered->newest)
		gathered->newest = record->newest;
	if (record->impossible) {
		fprintf(stderr, "warmside: %s: %zu rows of its archive hold numbers that cannot be; "
			"they are taken as unknown\n", enclosure->name, record->impossible);
		gathered->unreadable++;
	}
	if (record->behind) {
		if (!gathered->behind)
			fprintf(stderr, "warmside: %s\n", record->behind);
		gathered->behind = true;
		gathered->unreadable++;
	}
	if (!record->trouble)
		return;
	fprintf(stderr, "warmside: %s: %s\n", enclosure->name, record->trouble);
	*(record->missing ? &gathered->missing : &gathered->unreadable) += 1;
}

void gather(const struct request *request, gather_visit *visit, void *context,
	    struct gathered *out)
{
	const struct conf *conf = request->conf;

	*out = (struct gathered){ 0 };
	for (size_t i = 0; i < conf->enclosure_count; i++) {
		struct record record;

		record_read(conf, &conf->enclosures[i], request->window, &record);
		gather_note(out, &conf->enclosures[i], &record);
		visit(context, &conf->enclosures[i], &record);
		record_clear(&record);
	}
}

int gathered_result(const struct gathered *gathered)
{
	bool nothing = gathered->count > 0 && gathered->missing == gathered->count;

	return gathered->unreadable || nothing ? FAILED : DONE;
}

void say_window(const struct request *request)
{
	char from[MEASURE_TEXT], to[MEASURE_TEXT], span[MEASURE_TEXT];

	terminal_print(request->terminal, 0, "%s to %s (%s)",
		       show_instant_local(request->window.from, from),
		       show_instant_local(request->window.to, to),
		       show_duration(request->window.to - request->window.from, span));
	fputc('\n', request->terminal->file);
}

static const char *row_phrase(int row_size)
{
	return row_size == ROW_MINUTE ? "minute" : row_size == ROW_HOUR ? "hour" : "ten-minute";
}

char *rows_text(const struct gathered *gathered, struct window window)
{
	bool old = gathered->newest > 0 && gathered->newest < window.to - STALE;
	char *from = gathered->row_size
			     ? must_print("From %s rows; lowest and highest are of minute means.\n",
					  row_phrase(gathered->row_size))
			     : must_copy("");
	char at[MEASURE_TEXT];
	char *until = old ? must_print("The newest record is from %s; all after it is unknown.\n",
				       show_instant_local(gathered->newest, at))
			  : must_copy("");
	char *all = must_print("%s%s%s", from,
			       gathered->shared_out
				       ? "The window cuts a row at its edge: that row's time is "
					 "shared out in proportion.\n"
				       : "",
			       until);

	free(from);
	free(until);
	return all;
}

void say_lines(const struct terminal *terminal, char *text)
{
	char *rest;

	for (char *line = strtok_r(text, "\n", &rest); line; line = strtok_r(NULL, "\n", &rest))
		terminal_say(terminal, 0, line);
}

void say_rows(const struct request *request, const struct gathered *gathered)
{
	char *text = rows_text(gathered, request->window);

	if (*text)
		fputc('\n', request->terminal->file);
	say_lines(request->terminal, text);
	free(text);
}

/* "T1, T3 and T5": whose label it is. */
static char *sharers(const struct conf *conf, const char *label, size_t left)
{
	char *text = must_copy("");

	for (size_t i = 0; i < conf->enclosure_count; i++) {
		if (strcmp(conf->enclosures[i].label, label) != 0)
			continue;
		left--;
		char *more = must_print("%s%s%s", text, conf->enclosures[i].name,
					left > 1 ? ", " : left == 1 ? " and " : "");

		free(text);
		text = more;
	}
	return text;
}

static void say_unknown(const struct conf *conf, const char *name)
{
	struct closest closest = closest_begin(name);

	for (size_t i = 0; i < conf->enclosure_count; i++)
		closest_try(&closest, conf->enclosures[i].name);
	for (size_t i = 0; i < conf->enclosure_count; i++)
		closest_try(&closest, conf->enclosures[i].label);
	fprintf(stderr, "warmside: no enclosure is named or labelled %s; ", name);
	if (closest.best) {
		fprintf(stderr, "did you mean %s?\n", closest.best);
		return;
	}
	fprintf(stderr, "there %s", conf->enclosure_count == 1 ? "is" : "are");
	for (size_t i = 0; i < conf->enclosure_count; i++)
		fprintf(stderr, "%s %s", i ? "," : "", conf->enclosures[i].name);
	fputc('\n', stderr);
}

const struct enclosure *enclosure_named(const struct conf *conf, const char *name)
{
	const struct enclosure *found = find_enclosure(conf, name);
	size_t count = 0;

	if (found)
		return found;
	for (size_t i = 0; i < conf->enclosure_count; i++)
		if (strcmp(conf->enclosures[i].label, name) == 0) {
			found = &conf->enclosures[i];
			count++;
		}
	if (count == 1)
		return found;
	if (count > 1) {
		char *names = sharers(conf, name, count);

		fprintf(stderr, "warmside: %s are %s labelled %s; say the name of the one that is "
			"meant\n", names, count == 2 ? "both" : "all", name);
		free(names);
	} else {
		say_unknown(conf, name);
	}
	return NULL;
}

char *enclosure_title(const struct enclosure *enclosure)
{
	if (strcmp(enclosure->name, enclosure->label) == 0)
		return must_copy(enclosure->name);
	return must_print("%s · %s", enclosure->name, enclosure->label);
}

/* Whether a season has any weight within a window. */
static bool season_within(const struct day *day, const struct season *season, struct window window)
{
	for (int date = daypart_at(day, window.from).date; daypart_begin(day, date) < window.to; date++)
		if (season_weight(&season->dates, date) > 0)
			return true;
	return false;
}

char *seasons_within(const struct day *day, const struct enclosure *enclosure,
		     struct window window)
{
	char *names = NULL;
	size_t count = 0;

	for (size_t i = 0; i < enclosure->season_count; i++) {
		const struct season *season = &enclosure->seasons[i];

		if (!season_within(day, season, window))
			continue;
		char *longer = count++ ? must_print("%s, %s", names, season->name)
				       : must_copy(season->name);

		free(names);
		names = longer;
	}
	if (!count)
		return NULL;
	char *all = must_print("%s %s", count > 1 ? "seasons" : "season", names);

	free(names);
	return all;
}

char *series_phrase(struct series series)
{
	return must_print("%s %s%s", place_phrase(series.place), quantity_word(series.quantity),
			  series.computed ? " (computed)" : "");
}

char *degree_hours_text(double degree_hours, enum quantity quantity, enum units units)
{
	char text[MEASURE_TEXT];

	/* As a temperature is rounded in conf/show.c, but humidities have no tenths there. */
	if (quantity == HUMIDITY)
		return must_print("%.1f %% h", round(round(degree_hours * 1e6) / 1e5) / 10);
	return must_print("%s h", show_difference(degree_hours, quantity, units, text));
}

char *whole_minutes(double seconds, char buf[MEASURE_TEXT])
{
	/* Half a minute may be a hair less, as a sum; all other words round it up. */
	double minutes = round(round(seconds * 1e6) / 1e6 / 60);

	return show_duration(seconds < 60 ? seconds : minutes * 60, buf);
}
