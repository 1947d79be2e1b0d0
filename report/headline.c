/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The morning's answer in a sentence; see morning.h.
 */
#include "report/morning.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/timeaxis.h"

enum { NAMED = 3 };     /* so many are told of, the others counted */

static const double LONG_WINDOW = 36 * 3600; /* s */

/* "two", "twelve", "13"; malloc'ed. */
static char *number(size_t count)
{
	static const char *const words[] = { "none", "one", "two",   "three", "four",   "five",
					     "six",  "seven", "eight", "nine",  "ten", "eleven",
					     "twelve" };

	if (count < sizeof words / sizeof *words)
		return must_copy(words[count]);
	return must_print("%zu", count);
}

static char *append(char *text, char *more)
{
	char *both = must_print("%s%s", text, more);

	free(text);
	free(more);
	return both;
}

/* Whether a line belongs to what is told. */
typedef bool line_test(const struct morning_line *line);

static bool needs_look(const struct morning_line *line)
{
	return line->need == NEED_LOOK;
}

static bool is_out(const struct morning_line *line)
{
	return line->need == NEED_OUT;
}

static bool has_strayed(const struct morning_line *line)
{
	return line->need == NEED_STRAYED && !line->endangered;
}

static bool was_endangered(const struct morning_line *line)
{
	return line->endangered && line->need != NEED_LOOK && line->need != NEED_ASIDE;
}

static bool was_in_danger(const struct morning_line *line)
{
	return line->unsafe || line->endangered;
}

static bool is_shelved(const struct morning_line *line)
{
	return line->need == NEED_ASIDE && !line->enclosure->out_of_service;
}

static bool is_out_of_service(const struct morning_line *line)
{
	return line->need == NEED_ASIDE && line->enclosure->out_of_service;
}

static bool says_nothing(const struct morning_line *line)
{
	return line->need == NEED_UNTOLD && !line->enclosure->out_of_service;
}

static size_t count_lines(const struct morning *morning, line_test *test)
{
	size_t count = 0;

	for (size_t i = 0; i < morning->count; i++)
		count += !morning->lines[i].enclosure->is_room && test(&morning->lines[i]);
	return count;
}

/* "Third tub too dry for 6 h 10 min, Incubator dangerously hot and 2 more" */
static char *name_all(const struct morning *morning, line_test *test, bool complaints)
{
	char *text = must_copy("");
	size_t named = 0, left = 0;

	for (size_t i = 0; i < morning->count; i++) {
		const struct morning_line *line = &morning->lines[i];

		if (!test(line) || line->enclosure->is_room)
			continue;
		if (named == NAMED) {
			left++;
			continue;
		}
		text = append(text, must_copy(named++ ? ", " : ""));
		text = append(text, label_before_text(line->enclosure->label));
		if (complaints && line->brief)
			text = append(text, must_print(" %s", line->brief));
	}
	if (left)
		text = append(text, must_print(" and %zu more", left));
	return text;
}

static bool all_silent(const struct morning *morning)
{
	for (size_t i = 0; i < morning->count; i++)
		if (!morning->lines[i].silent)
			return false;
	return morning->count > 0;
}

/* Nothing was heard in the window. */
static char *tell_nothing(const struct morning *morning)
{
	const struct gathered *gathered = &morning->gathered;
	char text[MEASURE_TEXT];

	if (gathered->newest <= 0)
		return must_copy(gathered->unreadable ? "No record can be read."
						      : "Nothing has been recorded yet.");
	if (gathered->newest <= morning->base.window.from)
		return must_print("Nothing was recorded in this time; the newest record is of %s.",
				  show_instant_local(gathered->newest, text));
	return must_copy("Nothing was recorded in this time.");
}

/* Of priority `now`, and not of the silence itself; NULL when there is none. */
static const struct alert_life *gravest_standing(const struct morning *morning)
{
	for (size_t i = 0; i < morning->standing_count; i++) {
		const struct alert_record *record = &morning->standing[i]->last;

		if (record->priority == NOW && record->condition != SILENT)
			return morning->standing[i];
	}
	return NULL;
}

/* What nobody was there to see the end of must not be lost with the readings. */
static char *tell_silence(const struct morning *morning)
{
	double heard = 0;
	char at[TICK_TEXT];

	for (size_t i = 0; i < morning->count; i++)
		heard = fmax(heard, morning->lines[i].heard);
	if (heard <= 0)
		return tell_nothing(morning);
	char *text = must_print(morning_is_past(morning)
					? "Nobody was watching: nothing was recorded after %s."
					: "Nobody is watching: nothing is recorded since %s.",
				brief_instant(heard, morning->base.window, at));

	if (count_lines(morning, was_in_danger)) {
		char *names = name_all(morning, was_in_danger, false);

		text = append(text, must_print(" In danger before that: %s.", names));
		free(names);
	}
	const struct alert_life *grave = gravest_standing(morning);
	char *alert = grave ? morning_raised(morning, grave) : NULL;

	if (alert)
		text = append(text, must_print(" An alert stands: %s.", alert));
	free(alert);
	return text;
}

static const struct morning_line *room_that_needs(const struct morning *morning)
{
	for (size_t i = 0; i < morning->count; i++)
		if (morning->lines[i].enclosure->is_room && morning->lines[i].need == NEED_LOOK)
			return &morning->lines[i];
	return NULL;
}

static const char *told_of_room(const struct morning_line *room)
{
	return room->brief ? room->brief : "see below";
}

/* The only one there is: "Third tub needs you: too dry since 04:20." */
static char *tell_need_of_one(const struct morning *morning)
{
	bool past = morning_is_past(morning);
	const struct morning_line *line = &morning->lines[0];

	if (line->enclosure->is_room)
		line = &morning->lines[1];
	if (line->need != NEED_LOOK) {
		const struct morning_line *room = room_that_needs(morning);

		return must_print("%s %s you%s%s.", line->enclosure->label,
				  past ? "did not need" : "does not need",
				  room ? ", but the room: " : "", room ? told_of_room(room) : "");
	}
	return must_print("%s %s you%s%s.", line->enclosure->label, past ? "needed" : "needs",
			  line->brief ? ": " : "", line->brief ? line->brief : "");
}

/* Of a long window only its end is meant. */
static const char *when(const struct morning *morning)
{
	if (morning->base.window.to - morning->base.window.from <= LONG_WINDOW)
		return "";
	return morning_is_past(morning) ? " at the end" : " now";
}

static char *tell_needs(const struct morning *morning, size_t all)
{
	bool past = morning_is_past(morning);
	size_t look = count_lines(morning, needs_look);
	const struct morning_line *room = room_that_needs(morning);
	char *some = number(look), *of = number(all);
	char *names = look ? name_all(morning, needs_look, true) : NULL;
	const char *verb = past ? "needed" : look < 2 ? "needs" : "need";
	char *text = names  ? must_print("%s of %s %s you: %s.", some, of, verb, names)
		     : room ? must_print("none of the %s %s you, but the room: %s.", of, verb,
					 told_of_room(room))
			    : must_print("%s of the %s %s you%s.", some, of, verb, when(morning));

	free(some);
	free(of);
	free(names);
	return text;
}

/* "Two are out of their bands, within what is tolerated: ...", "One was out of its band for
 * a while: ..." */
static char *tell_out(const struct morning *morning, line_test *test)
{
	bool strayed = test == has_strayed, lasts = !strayed && !morning_is_past(morning);
	size_t count = count_lines(morning, test);
	char *some = number(count);
	char *names = name_all(morning, test, false);
	char *text = must_print("%s %s out of %s%s: %s.", some,
				lasts ? (count == 1 ? "is" : "are") : count == 1 ? "was" : "were",
				count == 1 ? "its band" : "their bands",
				strayed ? " for a while"
				: lasts ? ", within what is tolerated"
					: " at the end, within what is tolerated", names);

	text[0] = (char)toupper((unsigned char)text[0]);
	free(some);
	free(names);
	return text;
}

static size_t count_all(const struct morning *morning)
{
	size_t all = 0;

	for (size_t i = 0; i < morning->count; i++)
		all += !morning->lines[i].enclosure->is_room;
	return all;
}

char *morning_headline(const struct morning *morning)
{
	size_t all = count_all(morning);

	if (!all && room_that_needs(morning))
		return must_print("The room needs you: %s.",
				  told_of_room(room_that_needs(morning)));
	if (!all)
		return must_copy("No enclosure is configured.");
	if (all_silent(morning))
		return tell_silence(morning);
	if (all == 1)
		return tell_need_of_one(morning);
	char *text = tell_needs(morning, all);

	text[0] = (char)toupper((unsigned char)text[0]);
	return text;
}

/* Of each: of a hundred one that was unknown all night would be lost in the mean. */
static bool all_known(const struct morning *morning)
{
	for (size_t i = 0; i < morning->count; i++)
		if (morning->lines[i].watched && !line_is_known(&morning->lines[i]))
			return false;
	return true;
}

/* That all is well, if it is. */
static char *tell_good(const struct morning *morning)
{
	size_t all = count_all(morning);

	for (size_t i = 0; i < morning->count; i++)
		if (!morning->lines[i].enclosure->is_room && morning->lines[i].need != NEED_NOTHING)
			return NULL;
	if (!all || all_silent(morning))
		return NULL;
	return must_print("%s in %s bands%s.", all == 1 ? "It was" : "All were",
			  all == 1 ? "its" : "their",
			  all_known(morning) ? "" : " as far as is known");
}

/* A sentence about some of them, by their names; NULL when there are none. */
static char *tell_some(const struct morning *morning, line_test *test, const char *what,
		       bool complaints)
{
	if (!count_lines(morning, test))
		return NULL;
	char *names = name_all(morning, test, complaints);
	char *text = must_print("%s: %s.", what, names);

	free(names);
	return text;
}

static char *tell_room(const struct morning *morning)
{
	const struct morning_line *room = room_that_needs(morning);
	bool told = !count_lines(morning, needs_look) && !all_silent(morning);

	if (!room || !room->complaint || told)
		return NULL;
	return must_print("The room: %s.", room->complaint);
}

/* What has been raised since the window's end, and stands. */
static char *tell_since(const struct morning *morning)
{
	const struct alert_lives *now = &morning->alerts.standing;
	char *text = NULL;
	size_t more = 0;

	for (size_t i = 0; i < now->count; i++) {
		if (now->list[i].raised <= morning->base.until)
			continue;
		if (text)
			more++;
		else
			text = morning_raised(morning, &now->list[i]);
	}
	if (!text)
		return NULL;
	char *count = more ? must_print("; and %zu more", more) : must_copy("");
	char *all = must_print("An alert raised since then stands: %s%s.", text, count);

	free(count);
	free(text);
	return all;
}

static char *add_sentence(char *text, char *sentence)
{
	if (!sentence)
		return text;
	return append(append(text, must_copy(*text ? " " : "")), sentence);
}

char *morning_others(const struct morning *morning)
{
	char *text = must_copy("");

	text = add_sentence(text, tell_since(morning));
	text = add_sentence(text, tell_some(morning, was_endangered,
					    "In danger earlier in this time", false));
	text = add_sentence(text, tell_some(morning, is_shelved, "Shelved, not counted", true));
	text = add_sentence(text, tell_some(morning, is_out_of_service,
					    "Out of service, not counted", true));
	if (count_lines(morning, is_out))
		text = add_sentence(text, tell_out(morning, is_out));
	if (count_lines(morning, has_strayed))
		text = add_sentence(text, tell_out(morning, has_strayed));
	text = add_sentence(text, tell_some(morning, says_nothing, "No band is set, so nothing is said of",
					    false));
	text = add_sentence(text, tell_good(morning));
	return add_sentence(text, tell_room(morning));
}
