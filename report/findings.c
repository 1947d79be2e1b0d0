/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An account in words, worst first; see account.h.
 */
#include "report/account.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/alerts_text.h"
#include "report/gather.h"
#include "report/matters.h"
#include "report/timeaxis.h"

enum { TOLD = 2 };      /* so many matters are told in full */

/* A change is told from here on: °C, %, s. */
static const double CHANGED[QUANTITIES] = { 0.5, 3 };
static const double CHANGED_TIME = 1800;
static const double MUCH_UNKNOWN = 0.02; /* of the window: from here on it is told beside what is known */
static const double LONGEST_DAY = 25 * 3600 + 1; /* s: when the clocks go back */
static const double HOUR = 3600, DAY_LENGTH = 86400; /* s */

/* ---- the whole in a sentence ------------------------------------------------ */

/* A glance needs no seconds. */
static char *whole_minutes(double seconds, char buf[MEASURE_TEXT])
{
	return show_duration(seconds < 60 ? seconds : round(seconds / 60) * 60, buf);
}

/* "below its band for 3 h 20 min, lowest 38 %" */
static char *tell(const struct matter *matter, enum units units)
{
	enum quantity quantity = matter->series->series.quantity;
	bool has_band = matter->series->rule->has_band;
	char duration[MEASURE_TEXT], value[MEASURE_TEXT];

	return must_print("%s its %s for %s, %s %s%s", side_word(matter->side),
			  has_band ? "band" : "limits", whole_minutes(matter->seconds, duration),
			  matter->side == BELOW ? "lowest" : "highest",
			  show_value(matter->worst, quantity, units, value),
			  has_band && matter->beyond_limits ? ", beyond its limits" : "");
}

static bool concerns(const struct series_account *series, const bool wanted[PLACES],
		     const struct series_account *only)
{
	return (!wanted || wanted[series->series.place]) && (!only || only == series);
}

/* What is said when no series was out for long. */
static char *tell_good(const struct account *account, const bool wanted[PLACES],
		       const struct series_account *only, size_t short_ones)
{
	const char *bands = only ? "band" : "bands";
	bool known = false, has_band = false;
	double unknown = 0;
	char text[MEASURE_TEXT];

	for (size_t i = 0; i < account->count; i++) {
		const struct series_account *series = &account->series[i];

		if (!concerns(series, wanted, only))
			continue;
		known |= series->totals.known;
		has_band |= series->rule->has_band;
		unknown = fmax(unknown, series->totals.unknown);
	}
	if (!known)
		return must_copy("nothing is known of this time");
	if (!has_band)
		return must_copy("no band is set here");
	if (short_ones)
		return must_print("in its %s but for less than 5 min", bands);
	if (unknown > SHORT_SECONDS)
		return must_print("in its %s as far as is known, unknown for %s", bands,
				  whole_minutes(unknown, text));
	return must_print("in its %s all the time", bands);
}

/* The worst in full, the others counted; each with what it is about, unless that is
 * clear. */
static char *tell_all(const struct matters *matters, bool named, enum units units)
{
	char *text = must_copy("");

	for (size_t i = 0; i < matters->count && i < TOLD; i++) {
		char *phrase = named ? series_phrase(matters->list[i].series->series) : must_copy("");
		char *one = tell(&matters->list[i], units);
		char *both = must_print("%s%s%s%s%s", text, i ? "; " : "", phrase, named ? " " : "",
					one);

		free(phrase);
		free(one);
		free(text);
		text = both;
	}
	if (matters->count > TOLD) {
		char *more = must_print("%s; and %zu more", text, matters->count - TOLD);

		free(text);
		text = more;
	}
	return text;
}

/* What is not known of a series, when it is enough to matter beside what is. */
static char *add_unknown(char *text, const struct account *account, const bool wanted[PLACES],
			 const struct series_account *only)
{
	double span = account->window.to - account->window.from;
	double unknown = 0;
	char duration[MEASURE_TEXT];

	for (size_t i = 0; i < account->count; i++)
		if (concerns(&account->series[i], wanted, only))
			unknown = fmax(unknown, account->series[i].totals.unknown);
	if (unknown <= fmax(SHORT_SECONDS, MUCH_UNKNOWN * span))
		return text;
	char *all = must_print("%s; unknown for %s", text, whole_minutes(unknown, duration));

	free(text);
	return all;
}

static char *finding(const struct account *account, const bool wanted[PLACES],
		     const struct series_account *only, enum units units)
{
	struct matters matters;
	char *text;

	matters_find(account, wanted, only, &matters);
	text = matters.count ? add_unknown(tell_all(&matters, !only, units), account, wanted, only)
			     : tell_good(account, wanted, only, matters.short_ones);
	text[0] = (char)toupper((unsigned char)text[0]);
	return text;
}

char *account_finding(const struct account *account, const bool wanted[PLACES],
		      enum units units)
{
	return finding(account, wanted, NULL, units);
}

char *series_finding(const struct account *account, const struct series_account *series,
		     enum units units)
{
	return finding(account, NULL, series, units);
}

/* ---- the worst in half a sentence -------------------------------------------- */

/* "warm side ", when more than one place has a band of the quantity. */
static char *where(const struct account *account, const struct series_account *series)
{
	size_t count = 0;

	for (size_t i = 0; i < account->count; i++)
		count += account->series[i].rule->has_band &&
			 account->series[i].series.quantity == series->series.quantity;
	return count > 1 ? must_print("%s ", place_phrase(series->series.place)) : must_copy("");
}

/* It is still so, and not for a moment only. */
static bool lasts(const struct matter *matter)
{
	const struct episode *episode = &matter->series->episode;

	return matter->series->beyond_now[matter->side] ||
	       (episode->lasts && episode->side == matter->side &&
		episode->seconds >= SHORT_SECONDS);
}

/* Since when the watch has it, when it has told of it; else since when the rows have. */
static double lasting_since(const struct account *account, const struct matter *matter)
{
	struct series series = matter->series->series;

	for (size_t i = 0; i < account->standing_count; i++) {
		const struct alert_record *record = &account->standing[i]->last;

		if (record->has_place && record->place == series.place && record->has_quantity &&
		    record->quantity == series.quantity && record->has_since)
			return record->since;
	}
	return matter->series->episode.older ? NAN : matter->series->episode.from;
}

/* "0.4 °C " with its blank, or nothing where it would be 0; malloc'ed. */
static char *distance_text(double distance, enum quantity quantity, enum units units)
{
	char none[MEASURE_TEXT], text[MEASURE_TEXT];

	show_difference(0, quantity, units, none);
	show_difference(distance, quantity, units, text);
	return strcmp(text, none) == 0 ? must_copy("") : must_print("%s ", text);
}

static char *complain(const struct account *account, const struct matter *matter, bool brief,
		      enum units units)
{
	const struct series_account *series = matter->series;
	enum quantity quantity = series->series.quantity;
	const char *wrong = complaint_phrase(quantity, matter->side == BELOW, matter->unsafe);
	double since = lasts(matter) ? lasting_since(account, matter) : NAN;
	char *place = brief ? must_copy("") : where(account, series);
	char text[MEASURE_TEXT], at[TICK_TEXT];
	char *distance = distance_text(series->episode.distance, quantity, units);
	char *begun = isnan(since) ? NULL : time_text(since, account->window.to);
	char *all;

	const struct extreme *danger = &series->danger[matter->side];
	const char *was = lasts(matter) ? "" : "was ";

	if (matter->unsafe && brief)
		all = must_print("%s%s", was, wrong);
	else if (matter->unsafe)
		all = must_print("%s%s%s, %s at %s", place, was, wrong,
				 show_value(danger->value, quantity, units, text),
				 brief_instant(danger->at, account->window, at));
	else if (begun)
		all = must_print("%s%s%s since %s", place, distance, wrong, begun);
	else
		all = must_print("%s%s for %s", place, wrong, whole_minutes(matter->seconds, text));
	free(begun);
	free(distance);
	free(place);
	return all;
}

/* All silent: since the last reading of any.  Some: of the one that has been so longest. */
static const struct series_account *silent_one(const struct account *account, bool *all)
{
	const struct series_account *first = NULL, *last = NULL;
	size_t silent = 0;

	for (size_t i = 0; i < account->count; i++) {
		const struct series_account *series = &account->series[i];

		if (!series->silent)
			continue;
		silent++;
		if (!first || series->silent_since < first->silent_since)
			first = series;
		if (!last || series->silent_since > last->silent_since)
			last = series;
	}
	*all = silent == account->count;
	return *all ? last : first;
}

static char *complain_of_silence(const struct account *account)
{
	bool all;
	const struct series_account *one = silent_one(account, &all);
	char at[TICK_TEXT];

	if (account->record.trouble && !account->record.missing)
		return must_copy("its record cannot be read");
	if (!one)
		return NULL;
	const char *who = all ? "no reading" : place_phrase(one->series.place);
	const char *what = all ? "" : " silent";

	if (one->silent_since <= account->window.from)
		return must_print("%s%s in all this time", who, what);
	return must_print("%s%s since %s", who, what,
			  brief_instant(one->silent_since, account->window, at));
}

static bool is_unwatched(const struct account *account)
{
	bool all;

	return silent_one(account, &all) && all;
}

static char *complain_of_alert(const struct account *account, bool brief)
{
	const struct alert_life *life = account->standing[0];
	char *phrase = alert_phrase(&life->last);
	char *since = time_text(life->raised, account->window.to);
	char *text = brief ? must_copy(phrase) : must_print("%s, told %s", phrase, since);

	free(since);
	free(phrase);
	return text;
}

/* Present danger comes first, then past danger, what is going on, what is over. */
static const struct matter *first_matter(const struct matters *matters)
{
	for (size_t i = 0; i < matters->count; i++)
		if (matters->list[i].unsafe && lasts(&matters->list[i]))
			return &matters->list[i];
	if (matters->count && matters->list[0].unsafe)
		return &matters->list[0];
	for (size_t i = 0; i < matters->count; i++)
		if (lasts(&matters->list[i]))
			return &matters->list[i];
	return matters->count ? &matters->list[0] : NULL;
}

char *account_complaint(const struct account *account, bool brief, enum units units)
{
	const struct matter *worst;
	struct matters matters;
	char *silence;

	if (account->need == NEED_NOTHING || account->need == NEED_UNTOLD)
		return NULL;
	matters_find(account, NULL, NULL, &matters);
	worst = first_matter(&matters);
	silence = complain_of_silence(account);
	if (silence && (is_unwatched(account) || !worst || !(worst->unsafe || lasts(worst))))
		return silence;
	free(silence);
	if (worst && (worst->unsafe || lasts(worst)))
		return complain(account, worst, brief, units);
	if (account->standing_count)
		return complain_of_alert(account, brief);
	return worst ? complain(account, worst, brief, units) : must_copy("out of its band now and then");
}

/* ---- against the days before -------------------------------------------------- */

static char *join(char *text, char *more)
{
	char *both = must_print("%s%s%s", text, *text ? ", " : "", more);

	free(text);
	free(more);
	return both;
}

static char *add_time(char *text, double seconds, double before, const char *side)
{
	char duration[MEASURE_TEXT];

	if (fabs(seconds - before) < CHANGED_TIME)
		return text;
	return join(text, must_print("%s %s %s its band",
				     whole_minutes(fabs(seconds - before), duration),
				     seconds > before ? "more" : "less", side));
}

char *series_change(const struct series_account *series, struct window window, enum units units)
{
	static const char *const words[QUANTITIES][2] = { { "warmer", "cooler" },
							  { "damper", "drier" } };
	enum quantity quantity = series->series.quantity;
	const struct earlier *earlier = &series->earlier;
	double change = series->totals.mean - earlier->mean;
	char *text = must_copy("");
	char value[MEASURE_TEXT];

	if (!earlier->windows || !series->totals.known) {
		free(text);
		return NULL;
	}
	if (fabs(change) >= CHANGED[quantity])
		text = join(text, must_print("%s %s", show_difference(fabs(change), quantity, units, value),
					     words[quantity][change < 0]));
	if (earlier->has_band && series->rule->has_band) {
		text = add_time(text, series->totals.low, earlier->low, "below");
		text = add_time(text, series->totals.high, earlier->high, "above");
	}
	if (!*text) {
		free(text);
		return NULL;
	}
	bool of_days = window.to - window.from < LONGEST_DAY;
	char *all = !of_days ? must_print("%s than in the %.0f days before", text,
					  ceil((window.to - window.from - HOUR) / DAY_LENGTH))
		    : earlier->windows == EARLIER_DAYS
			    ? must_print("%s than in the same hours of the %d days before", text,
					 EARLIER_DAYS)
			    : must_print("%s than in the same hours of %zu of the days before",
					 text, earlier->windows);

	free(text);
	return all;
}
