/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What page and digest of a morning both say; see morning.h.
 */
#include "report/morning.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/utf8.h"
#include "conf/words.h"
#include "report/alerts_text.h"

/* Arabic, Hebrew and their like run from right to left (Unicode blocks of bidirectional
 * classes R and AL, from memory). */
static bool runs_leftwards(uint32_t code)
{
	return (code >= 0x590 && code <= 0x8ff) || (code >= 0xfb1d && code <= 0xfdff) ||
	       (code >= 0xfe70 && code <= 0xfefe) || (code >= 0x10800 && code <= 0x10fff) ||
	       (code >= 0x1e800 && code <= 0x1efff);
}

char *label_before_text(const char *label)
{
	bool leftwards = false;

	for (const char *at = label; *at;)
		leftwards |= runs_leftwards(utf8_take(&at));
	return must_print("%s%s", label, leftwards ? "\u200e" : "");
}

const char *shown_label(const struct enclosure *enclosure)
{
	return enclosure->is_room ? "Room" : enclosure->label;
}

static const double ALL_KNOWN = 0.995; /* from here on nobody is told that some is not */

const char morning_caution[] =
	"This is a watch, not a thermostat: it switches nothing. Every heater needs its own "
	"thermostat and an independent cut-off, a sick animal an exotics veterinarian, and "
	"mains work the local code and a licensed electrician.";

const char *need_title(enum need need, bool past)
{
	switch (need) {
	case NEED_LOOK:
		return past ? "Needed you" : "Need you";
	case NEED_OUT:
		return past ? "Out at the end, within what is tolerated"
			    : "Out now, within what is tolerated";
	case NEED_STRAYED:
		return "Out for a while";
	case NEED_ASIDE:
		return "Shelved or out of service";
	case NEED_NOTHING:
		return "In their bands";
	case NEED_UNTOLD:
		break;
	}
	return "Without a band";
}

bool line_is_known(const struct morning_line *line)
{
	return line->known > ALL_KNOWN;
}

char *line_words(const struct morning_line *line)
{
	const char *aside = line->enclosure->out_of_service ? "out of service"
			    : line->shelved		? "shelved"
							: NULL;

	if (aside)
		return must_print("%s%s%s", aside, line->complaint ? "; " : "",
				  line->complaint ? line->complaint : "");
	if (line->complaint)
		return must_copy(line->complaint);
	if (!line->watched)
		return must_copy("no probe sits here");
	if (line->known <= 0)
		return must_copy("nothing is known");
	if (line->need == NEED_UNTOLD)
		return must_copy("no band is set");
	if (line->known < 0.5) {
		char share[MEASURE_TEXT];

		return must_print("in its bands, but only %s is known",
				  show_share(line->known, share));
	}
	return must_copy(line_is_known(line) ? "in its bands" : "in its bands as far as is known");
}

char *morning_span(const struct morning *morning)
{
	struct window window = morning->base.window;
	char from[MEASURE_TEXT], to[MEASURE_TEXT], made[MEASURE_TEXT], span[MEASURE_TEXT];
	char known[MEASURE_TEXT];

	return must_print("%s to %s (%s), %s of it known. Made %s.",
			  show_instant_local(window.from, from), show_instant_local(window.to, to),
			  show_duration(window.to - window.from, span),
			  show_share(morning_known(morning), known),
			  show_instant_local(morning->made, made));
}

/* "19.7 °C, between 18.1 °C and 21.1 °C" */
static char *air_of(const struct series_account *series, enum units units)
{
	enum quantity quantity = series->series.quantity;
	char now[MEASURE_TEXT], least[MEASURE_TEXT], most[MEASURE_TEXT];

	return must_print("%s, between %s and %s", show_value(series->latest.value, quantity, units, now),
			  show_value(series->least.value, quantity, units, least),
			  show_value(series->most.value, quantity, units, most));
}

char *morning_air(const struct account *room, enum units units)
{
	char *text = NULL;

	for (size_t i = 0; i < room->count; i++) {
		if (!room->series[i].totals.known)
			continue;
		char *one = air_of(&room->series[i], units);
		char *both = text ? must_print("%s; %s", text, one)
				  : must_print("Room air: %s", one);

		free(one);
		free(text);
		text = both;
	}
	if (!text)
		return NULL;
	char *sentence = must_print("%s.", text);

	free(text);
	return sentence;
}

const char *standing_title(const struct morning *morning)
{
	size_t count = morning->standing_count;

	if (morning->log_unreadable)
		return "The alert log cannot be read: what stands is not known.";
	if (morning->alerts.missing)
		return "There is no alert log yet.";

	if (morning_is_past(morning))
		return count == 0   ? "No alert stood at the end."
		       : count == 1 ? "One alert stood at the end"
				    : "Alerts that stood at the end";
	return count == 0 ? "No alert stands." : count == 1 ? "One alert stands" : "Alerts that stand";
}

/* "Third tub", "Room"; Warmside itself when it concerns none. */
static const char *label_of(const struct conf *conf, const char *name)
{
	const struct enclosure *enclosure = find_enclosure(conf, name);

	if (enclosure)
		return shown_label(enclosure);
	return !*name ? "Warmside" : strcmp(name, "room") == 0 ? "Room" : name;
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

/* "; acknowledged 07:10, anna: misted it", or nothing; malloc'ed. */
static char *acknowledged(const struct morning *morning, const struct alert_life *life)
{
	if (!life->acknowledged)
		return must_copy("");
	char *author = alert_author(&life->ack);
	char *at = time_text(life->ack.time, morning->made);
	char *text = must_print("; acknowledged %s%s%s", at, *author ? ", " : "", author);

	free(at);
	free(author);
	return text;
}

char *morning_raised(const struct morning *morning, const struct alert_life *life)
{
	char *phrase = alert_phrase(&life->last);
	char *at = time_text(life->raised, morning->made);
	char *text = must_print("%s, %s, raised %s",
				label_of(morning->base.conf, life->last.enclosure), phrase, at);

	free(phrase);
	free(at);
	return text;
}

char *morning_standing(const struct morning *morning, const struct alert_life *life)
{
	char *phrase = alert_phrase(&life->last);
	char *since = time_text(life->last.has_since ? life->last.since : life->raised,
				morning->made);
	char *untold = undelivered(morning, &life->last);
	char *seen = acknowledged(morning, life);
	char *text = must_print("%s, %s%s%s%s%s",
				label_of(morning->base.conf, life->last.enclosure), phrase,
				alert_is_reminder(&life->last) ? ", told " : " since ", since,
				untold, seen);

	free(phrase);
	free(since);
	free(untold);
	free(seen);
	return text;
}

void account_changes(const struct account *account, enum units units, note_visit *visit,
		     void *context)
{
	for (size_t i = 0; i < account->count; i++) {
		const struct series_account *series = &account->series[i];
		char *change = series_change(series, account->window, units);

		if (!change)
			continue;
		char *phrase = series_phrase(series->series);
		char *text = must_print("%s: %s", phrase, change);

		text[0] = (char)toupper((unsigned char)text[0]);
		visit(context, text);
		free(text);
		free(phrase);
		free(change);
	}
}

void account_notes(const struct account *account, note_visit *visit, void *context)
{
	char at[MEASURE_TEXT];

	if (account->shelved) {
		char *text = must_print("Its alerts are shelved until %s",
					show_instant_local(account->shelved->until, at));

		visit(context, text);
		free(text);
	}
	if (account->enclosure->out_of_service)
		visit(context, "Out of service: recorded, never alerted");
	if (account->record.impossible)
		visit(context, "Its archive is damaged: numbers that cannot be are taken as unknown");
	if (account->record.trouble)
		visit(context, account->record.missing ? "There is no record of it yet"
						       : account->record.trouble);
}
