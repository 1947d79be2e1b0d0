/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An account in words, worst first; see account.h.
 */
#include "report/account.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/gather.h"
#include "report/matters.h"

enum { TOLD = 2 };      /* so many matters are told in full */

/* A change is told from here on: °C, %, s. */
static const double CHANGED[QUANTITIES] = { 0.5, 3 };
static const double CHANGED_TIME = 1800;
static const double MUCH_UNKNOWN = 0.02; /* of the window: from here on it is told beside what is known */
static const double LONGEST_DAY = 25 * 3600 + 1; /* s: when the clocks go back */
static const double HOUR = 3600, DAY_LENGTH = 86400; /* s */

/* ---- the whole in a sentence ------------------------------------------------ */

/* "below its band for 3 h 20 min, lowest 38 %" */
static char *tell(const struct matter *matter, enum units units)
{
	enum quantity quantity = matter->series->series.quantity;
	bool has_band = matter->series->has_band;
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
		       const struct series_account *only, double short_seconds)
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
		has_band |= series->has_band;
		unknown = fmax(unknown, series->totals.unknown);
	}
	if (!known)
		return must_copy("nothing is known of this time");
	if (!has_band)
		return must_copy("no band is set here");
	if (short_seconds > 0)
		return short_seconds < SHORT_SECONDS
			       ? must_print("in its %s but for less than 5 min", bands)
			       : must_print("out of its %s now and then, for %s in all", bands,
					    whole_minutes(short_seconds, text));
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
	text = matters.count ? tell_all(&matters, !only, units)
			     : tell_good(account, wanted, only, matters.short_seconds);
	if (matters.count || matters.short_seconds > 0)
		text = add_unknown(text, account, wanted, only);
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

/* What of a change the band's own explains: that it follows, or still lags behind, is no
 * news. */
static double explained(double change, double moved)
{
	return change * moved > 0 ? fmin(fabs(change), fabs(moved)) : 0;
}

static char *add_moved(char *text, const char *by)
{
	char *all = must_print("%s (its band moved by %s)", text, by);

	free(text);
	return all;
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

	if (!earlier->windows || !series->totals.known ||
	    series->totals.unknown > (window.to - window.from) / 2) {
		free(text);
		return NULL;
	}
	double wanted = explained(change, series->moved);

	if (fabs(change) - wanted >= CHANGED[quantity]) {
		text = join(text, must_print("%s %s", show_difference(fabs(change), quantity, units, value),
					     words[quantity][change < 0]));
		if (wanted >= CHANGED[quantity])
			text = add_moved(text, show_difference(fabs(series->moved), quantity, units, value));
	}
	if (earlier->has_band && series->has_band) {
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
			    : must_print("%s than in the same hours of %zu of the 7 days before",
					 text, earlier->windows);

	free(text);
	return all;
}
