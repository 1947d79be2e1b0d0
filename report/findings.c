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
#include "report/timeaxis.h"

enum { TOLD = 2 };      /* so many matters are told in full */

/* A change is told from here on: °C, %, s. */
static const double CHANGED[QUANTITIES] = { 0.5, 3 };
static const double CHANGED_TIME = 1800;
static const double LONGEST_DAY = 25 * 3600 + 1; /* s: when the clocks go back */

/* One series out on one side. */
struct matter {
	const struct series_account *series;
	enum side side;
	double seconds, worst, weight;
	bool beyond_limits, unsafe;
};

static bool matter_of(const struct series_account *series, enum side side, struct matter *out)
{
	const struct rule *rule = series->rule;
	double seconds = side == BELOW ? series->totals.low : series->totals.high;
	double edge = side == BELOW ? fmin(rule->day.low, rule->night.low)
				    : fmax(rule->day.high, rule->night.high);
	double worst = side == BELOW ? series->least.value : series->most.value;
	double width = fmax(rule->day.high - rule->day.low, 1);

	if (!rule->has_band || seconds <= 0)
		return false;
	*out = (struct matter){
		.series = series,
		.side = side,
		.seconds = seconds,
		.worst = worst,
		.weight = seconds * (0.1 + fabs(worst - edge) / width),
		.beyond_limits = series->beyond[side] > 0,
		.unsafe = series_unsafe(series, side),
	};
	return true;
}

static int worst_first(const void *a, const void *b)
{
	const struct matter *one = a, *other = b;

	if (one->unsafe != other->unsafe)
		return one->unsafe ? -1 : 1;
	return (one->weight < other->weight) - (one->weight > other->weight);
}

/* Short of SHORT_SECONDS, and of a tenth of the window, and within the limits:
 * told in passing. */
static bool is_short(const struct matter *matter, struct window window)
{
	return matter->seconds < fmin(SHORT_SECONDS, (window.to - window.from) / 10) &&
	       !matter->beyond_limits;
}

/* The matters of some places, or of one series only, worst first. */
struct matters {
	struct matter list[MAX_SERIES * SIDES];
	size_t count, short_ones;
};

static void find_matters(const struct account *account, const bool wanted[PLACES],
			 const struct series_account *only, struct matters *out)
{
	*out = (struct matters){ 0 };
	for (size_t i = 0; i < account->count; i++)
		for (int side = 0; side < SIDES; side++) {
			const struct series_account *series = &account->series[i];
			struct matter *matter = &out->list[out->count];

			if ((wanted && !wanted[series->series.place]) ||
			    (only && only != series) ||
			    !matter_of(series, (enum side)side, matter))
				continue;
			if (is_short(matter, account->window))
				out->short_ones++;
			else
				out->count++;
		}
	qsort(out->list, out->count, sizeof *out->list, worst_first);
}

/* ---- the whole in a sentence ------------------------------------------------ */

/* "below its band for 3 h 20 min, lowest 38 %" */
static char *tell(const struct matter *matter, enum units units)
{
	enum quantity quantity = matter->series->series.quantity;
	char duration[MEASURE_TEXT], value[MEASURE_TEXT];

	return must_print("%s its band for %s, %s %s%s", side_word(matter->side),
			  show_duration(matter->seconds, duration),
			  matter->side == BELOW ? "lowest" : "highest",
			  show_value(matter->worst, quantity, units, value),
			  matter->beyond_limits ? ", beyond its limits" : "");
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

		if ((wanted && !wanted[series->series.place]) || (only && only != series))
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
				  show_duration(unknown, text));
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

static char *finding(const struct account *account, const bool wanted[PLACES],
		     const struct series_account *only, enum units units)
{
	struct matters matters;
	char *text;

	find_matters(account, wanted, only, &matters);
	text = matters.count ? tell_all(&matters, !only, units)
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

/* A glance needs no seconds. */
static char *whole_minutes(double seconds, char buf[MEASURE_TEXT])
{
	return show_duration(seconds < 60 ? seconds : round(seconds / 60) * 60, buf);
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

static bool lasts(const struct matter *matter)
{
	const struct episode *episode = &matter->series->episode;

	return episode->lasts && episode->side == matter->side;
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

static char *complain(const struct account *account, const struct matter *matter, bool brief,
		      enum units units)
{
	const struct series_account *series = matter->series;
	enum quantity quantity = series->series.quantity;
	const char *wrong = complaint_phrase(quantity, matter->side == BELOW, matter->unsafe);
	double since = lasts(matter) ? lasting_since(account, matter) : NAN;
	char *place = brief ? must_copy("") : where(account, series);
	char text[MEASURE_TEXT], at[TICK_TEXT];
	char *begun = isnan(since) ? NULL : time_text(since, account->window.to);
	char *all;

	if (matter->unsafe && brief)
		all = must_copy(wrong);
	else if (matter->unsafe)
		all = must_print("%s%s, %s at %s", place, wrong,
				 show_value(matter->worst, quantity, units, text),
				 brief_instant(matter->side == BELOW ? series->least.at
								     : series->most.at,
					       account->window, at));
	else if (begun)
		all = must_print("%s%s %s since %s", place,
				 show_difference(series->episode.distance, quantity, units, text),
				 wrong, begun);
	else
		all = must_print("%s%s for %s", place, wrong, whole_minutes(matter->seconds, text));
	free(begun);
	free(place);
	return all;
}

static char *complain_of_silence(const struct account *account)
{
	const struct series_account *first = NULL;
	double since = account->window.from;
	size_t silent = 0;
	char at[TICK_TEXT];

	for (size_t i = 0; i < account->count; i++) {
		if (!account->series[i].silent)
			continue;
		if (!silent++)
			first = &account->series[i];
		since = fmax(since, account->series[i].silent_since);
	}
	if (!silent)
		return NULL;
	const char *who = silent == account->count ? "no reading"
						   : place_phrase(first->series.place);
	const char *what = silent == account->count ? "" : " silent";

	if (since <= account->window.from)
		return must_print("%s%s in all this time", who, what);
	return must_print("%s%s since %s", who, what, brief_instant(since, account->window, at));
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

/* What is going on comes before what is over, but danger before all. */
static const struct matter *first_matter(const struct matters *matters)
{
	if (!matters->count || matters->list[0].unsafe)
		return matters->count ? &matters->list[0] : NULL;
	for (size_t i = 0; i < matters->count; i++)
		if (lasts(&matters->list[i]))
			return &matters->list[i];
	return &matters->list[0];
}

char *account_complaint(const struct account *account, bool brief, enum units units)
{
	const struct matter *worst;
	struct matters matters;
	char *silence;

	if (account->need != NEED_LOOK && account->need != NEED_STRAYED)
		return NULL;
	find_matters(account, NULL, NULL, &matters);
	worst = first_matter(&matters);
	if (worst && (worst->unsafe || lasts(worst)))
		return complain(account, worst, brief, units);
	silence = complain_of_silence(account);
	if (silence)
		return silence;
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
	char *all = !of_days ? must_print("%s than in the time before, as long", text)
		    : earlier->windows == EARLIER_DAYS
			    ? must_print("%s than in the same hours of the %d days before", text,
					 EARLIER_DAYS)
			    : must_print("%s than in the same hours of %zu of the days before",
					 text, earlier->windows);

	free(text);
	return all;
}
