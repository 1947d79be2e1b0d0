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
#include "conf/utf8.h"
#include "report/alerts_text.h"
#include "report/timeaxis.h"

enum { NAMED = 3 };     /* so many are told of, the others counted */

static const double LONG_WINDOW = 36 * 3600; /* s */
static const double ALL_KNOWN = 0.995; /* a share of what is known that is as good as all */

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

/* Arabic, Hebrew and their like run from right to left (Unicode blocks of bidirectional
 * classes R and AL, from memory). */
static bool runs_leftwards(uint32_t code)
{
	return (code >= 0x590 && code <= 0x8ff) || (code >= 0xfb1d && code <= 0xfdff) ||
	       (code >= 0xfe70 && code <= 0xfefe) || (code >= 0x10800 && code <= 0x10fff) ||
	       (code >= 0x1e800 && code <= 0x1efff);
}

/* The label; a number after one that runs leftwards would be drawn before it (Unicode
 * Standard Annex 9, rule W2), but for a left-to-right mark.  Malloc'ed. */
static char *label_before_text(const char *label)
{
	bool leftwards = false;

	for (const char *at = label; *at;)
		leftwards |= runs_leftwards(utf8_take(&at));
	return must_print("%s%s", label, leftwards ? "\u200e" : "");
}

static size_t count_need(const struct morning *morning, enum need need)
{
	size_t count = 0;

	for (size_t i = 0; i < morning->count; i++)
		count += morning->lines[i].need == need && !morning->lines[i].enclosure->is_room;
	return count;
}

/* "Third tub too dry for 6 h 10 min, Incubator dangerously hot and 2 more" */
static char *name_all(const struct morning *morning, enum need need, bool complaints)
{
	char *text = must_copy("");
	size_t named = 0, left = 0;

	for (size_t i = 0; i < morning->count; i++) {
		const struct morning_line *line = &morning->lines[i];

		if (line->need != need || line->enclosure->is_room)
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

static char *tell_silence(const struct morning *morning)
{
	double heard = 0;
	char at[TICK_TEXT];

	for (size_t i = 0; i < morning->count; i++)
		heard = fmax(heard, morning->lines[i].heard);
	if (heard <= 0)
		return tell_nothing(morning);
	return must_print(morning_is_past(morning) ? "Nobody was watching: nothing was recorded after %s."
						   : "Nobody is watching: nothing is recorded since %s.",
			  brief_instant(heard, morning->base.window, at));
}

/* The only one there is: "Third tub needs you: too dry since 04:20." */
static char *tell_need_of_one(const struct morning *morning)
{
	bool past = morning_is_past(morning);
	const struct morning_line *line = &morning->lines[0];

	if (line->enclosure->is_room)
		line = &morning->lines[1];
	if (line->need != NEED_LOOK)
		return must_print("%s %s you.", line->enclosure->label,
				  past ? "did not need" : "does not need");
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

static char *tell_needs(const struct morning *morning, size_t look, size_t all)
{
	bool past = morning_is_past(morning);
	char *some = number(look), *of = number(all);
	char *names = look ? name_all(morning, NEED_LOOK, true) : NULL;
	const char *verb = past ? "needed" : look < 2 ? "needs" : "need";
	char *text = names ? must_print("%s of %s %s you: %s.", some, of, verb, names)
			   : must_print("%s of the %s %s you%s.", some, of, verb, when(morning));

	free(some);
	free(of);
	free(names);
	return text;
}

/* "Two are out of their bands, not for long yet: ...", "One was out of its band for
 * a while: ..." */
static char *tell_out(const struct morning *morning, enum need need, size_t count)
{
	bool lasts = need == NEED_OUT && !morning_is_past(morning);
	char *some = number(count);
	char *names = name_all(morning, need, false);
	char *text = must_print("%s %s out of %s%s: %s.", some,
				lasts ? (count == 1 ? "is" : "are") : count == 1 ? "was" : "were",
				count == 1 ? "its band" : "their bands",
				need == NEED_STRAYED ? " for a while"
				: lasts		     ? ", not for long yet"
						     : " at the end, not for long", names);

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

	if (!all)
		return must_copy("No enclosure is configured.");
	if (all_silent(morning))
		return tell_silence(morning);
	if (all == 1)
		return tell_need_of_one(morning);
	char *text = tell_needs(morning, count_need(morning, NEED_LOOK), all);

	text[0] = (char)toupper((unsigned char)text[0]);
	return text;
}

/* That all is well, if it is. */
static char *tell_good(const struct morning *morning)
{
	size_t all = count_all(morning);

	if (!all || count_need(morning, NEED_NOTHING) != all)
		return must_copy("");
	return must_print("%s in %s bands%s.", all == 1 ? "It was" : "All were",
			  all == 1 ? "its" : "their",
			  morning_known(morning) > ALL_KNOWN ? "" : " as far as is known");
}

char *morning_others(const struct morning *morning)
{
	size_t out = count_need(morning, NEED_OUT), strayed = count_need(morning, NEED_STRAYED);
	char *text = out       ? tell_out(morning, NEED_OUT, out)
		     : strayed ? tell_out(morning, NEED_STRAYED, strayed)
			       : tell_good(morning);

	if (out && strayed) {
		text = append(text, must_copy(" "));
		text = append(text, tell_out(morning, NEED_STRAYED, strayed));
	}

	for (size_t i = 0; i < morning->count; i++) {
		const struct morning_line *line = &morning->lines[i];

		if (line->enclosure->is_room && line->need == NEED_LOOK && line->complaint)
			text = append(text, must_print("%sThe room: %s.", *text ? " " : "",
						       line->complaint));
	}
	return text;
}

/* "Third tub", "Room"; Warmside itself when it concerns none. */
static const char *label_of(const struct conf *conf, const char *name)
{
	if (strcmp(name, "room") == 0)
		return "Room";
	for (size_t i = 0; i < conf->enclosure_count; i++)
		if (strcmp(conf->enclosures[i].name, name) == 0)
			return conf->enclosures[i].label;
	return *name ? name : "Warmside";
}

/* Whether a message told of it, as far as the log of the window knows; malloc'ed. */
static char *undelivered(const struct morning *morning, const struct alert_record *record)
{
	size_t count;

	if (record->joins[0] || record->time < morning->base.window.from)
		return must_copy("");
	if (!record->message[0])
		return must_copy("; no message told of it");
	alerts_deliveries(&morning->alerts, record->message, &count);
	return must_copy(count ? "" : "; its message is not delivered");
}

char *morning_standing(const struct morning *morning, const struct alert_life *life)
{
	char *phrase = alert_phrase(&life->last);
	char *since = time_text(life->last.has_since ? life->last.since : life->raised,
				morning->made);
	char *text = must_print("%s, %s since %s", label_of(morning->base.conf, life->last.enclosure),
				phrase, since);

	free(since);
	text = append(text, undelivered(morning, &life->last));
	if (life->acknowledged) {
		char *author = alert_author(&life->ack);
		char *at = time_text(life->ack.time, morning->made);

		text = append(text, must_print("; acknowledged %s", at));
		free(at);
		if (*author)
			text = append(text, must_print(", %s", author));
		free(author);
	}
	free(phrase);
	return text;
}
