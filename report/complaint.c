/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is worst of an enclosure in half a sentence; see account.h.
 */
#include "report/account.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/alerts_text.h"
#include "report/gather.h"
#include "report/matters.h"
#include "report/timeaxis.h"

/* "warm side ", when more than one place has a band of the quantity; "hot spot
 * (computed) ". */
static char *where(const struct account *account, const struct series_account *series)
{
	size_t count = 0;

	for (size_t i = 0; i < account->count; i++)
		count += account->series[i].has_band &&
			 account->series[i].series.quantity == series->series.quantity;
	if (series->series.computed)
		return must_print("%s (computed) ", place_phrase(series->series.place));
	return count > 1 ? must_print("%s ", place_phrase(series->series.place)) : must_copy("");
}

/* It is still so, and not for a moment only. */
static bool lasts(const struct matter *matter)
{
	const struct episode *episode = &matter->series->episode;

	if (matter->unsafe)
		return matter->series->beyond_now[matter->side];
	return episode->lasts && episode->side == matter->side &&
	       (episode->seconds >= SHORT_SECONDS || series_wears_out(matter->series));
}

/* Its band on that side: of limits, silence and the like the since is another. */
static bool is_about(const struct alert_record *record, const struct matter *matter)
{
	struct series series = matter->series->series;
	enum condition condition = matter->side == BELOW ? BELOW_BAND : ABOVE_BAND;

	return record->has_place && record->place == series.place && record->has_quantity &&
	       record->quantity == series.quantity && record->has_condition &&
	       record->condition == condition;
}

/* Since when the watch has it, when it has told of it; else since when the rows have. */
static double lasting_since(const struct account *account, const struct matter *matter)
{
	for (size_t i = 0; i < account->standing_count; i++) {
		const struct alert_record *record = &account->standing[i]->last;

		if (is_about(record, matter) && record->has_since)
			return record->since;
	}
	const struct episode *episode = &matter->series->episode;

	return !episode->lasts || episode->side != matter->side || episode->older ? NAN
										  : episode->from;
}

/* "0.4 °C " with its blank, or nothing where it would be 0; malloc'ed. */
static char *distance_text(double distance, enum quantity quantity, enum units units)
{
	char none[MEASURE_TEXT], text[MEASURE_TEXT];

	show_difference(0, quantity, units, none);
	show_difference(distance, quantity, units, text);
	return strcmp(text, none) == 0 ? must_copy("") : must_print("%s ", text);
}

/* ", silent since 05:00", of what no probe measures ", unknown since 05:00", or nothing;
 * malloc'ed. */
static char *silence_text(const struct account *account, const struct series_account *series)
{
	char at[TICK_TEXT];

	if (!series->silent)
		return must_copy("");
	return must_print(", %s since %s", series->series.computed ? "unknown" : "silent",
			  brief_instant(series->silent_since, account->window, at));
}

/* "dangerously hot, 41.2 °C at 03:10"; what is over was so, and of what nobody sees any more
 * that is said too. */
static char *complain_of_danger(const struct account *account, const struct matter *matter,
				bool brief, enum units units)
{
	const struct series_account *series = matter->series;
	const struct extreme *danger = &series->danger[matter->side];
	const char *wrong = complaint_phrase(series->series.quantity, matter->side == BELOW, true);
	bool present = lasts(matter) && !series->silent;
	char value[MEASURE_TEXT], at[TICK_TEXT];
	char *place = where(account, series);
	char *silence = silence_text(account, series);
	char *all;

	show_value(danger->value, series->series.quantity, units, value);
	brief_instant(danger->at, account->window, at);
	if (!brief)
		all = must_print("%s%s%s, %s at %s%s", place, present ? "" : "was ", wrong, value, at,
				 silence);
	else if (present)
		all = must_copy(wrong);
	else
		all = must_print("was %s at %s%s", wrong, at, silence);
	free(silence);
	free(place);
	return all;
}

static char *complain(const struct account *account, const struct matter *matter, bool brief,
		      enum units units)
{
	const struct series_account *series = matter->series;
	enum quantity quantity = series->series.quantity;
	const char *wrong = complaint_phrase(quantity, matter->side == BELOW, false);
	double since = lasts(matter) ? lasting_since(account, matter) : NAN;
	bool is_out = series->episode.lasts && series->episode.side == matter->side;
	char duration[MEASURE_TEXT];

	if (matter->unsafe)
		return complain_of_danger(account, matter, brief, units);
	char *place = brief ? must_copy("") : where(account, series);
	char *distance = is_out ? distance_text(series->episode.distance, quantity, units)
				: must_copy("");
	char *begun = isnan(since) ? NULL : time_text(since, account->window.to);
	char *all = begun ? must_print("%s%s%s since %s", place, distance, wrong, begun)
			  : must_print("%s%s for %s", place, wrong,
				       whole_minutes(matter->seconds, duration));

	free(begun);
	free(distance);
	free(place);
	return all;
}

/* All silent: since the last reading of any.  Some: of the one that has been so longest.
 * What is computed is silent because another is. */
static const struct series_account *silent_one(const struct account *account, bool *all)
{
	const struct series_account *first = NULL, *last = NULL;
	size_t silent = 0;

	for (size_t i = 0; i < account->count; i++) {
		const struct series_account *series = &account->series[i];

		if (!series->silent)
			continue;
		silent++;
		if (series->series.computed)
			continue;
		if (!first || series->silent_since < first->silent_since)
			first = series;
		if (!last || series->silent_since > last->silent_since)
			last = series;
	}
	*all = silent == account->count;
	return *all ? last : first;
}

static char *complain_of_silence(const struct account *account, bool brief)
{
	bool all;
	const struct series_account *one = silent_one(account, &all);
	char at[TICK_TEXT];

	if (account->record.trouble && !account->record.missing)
		return must_copy(brief ? "with a record that cannot be read"
				       : "its record cannot be read");
	if (!one)
		return NULL;
	const char *who = !all ? place_phrase(one->series.place) : brief ? "silent" : "no reading";
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

/* Of those that stand; of equals one of danger, then the oldest.  NULL: there is none but of
 * what is to come. */
static const struct alert_life *gravest(const struct account *account)
{
	const struct alert_life *first = NULL;

	for (size_t i = 0; i < account->standing_count; i++) {
		const struct alert_record *one = &account->standing[i]->last;

		if (alert_is_reminder(one))
			continue;
		if (!first || one->priority > first->last.priority ||
		    (one->priority == first->last.priority && alert_is_of_danger(one) &&
		     !alert_is_of_danger(&first->last)))
			first = account->standing[i];
	}
	return first;
}

static char *complain_of_alert(const struct account *account, bool brief)
{
	const struct alert_life *life = gravest(account);
	char *phrase = alert_phrase(&life->last);
	char *since = time_text(life->raised, account->window.to);
	char *text = brief ? must_print("(%s)", phrase) : must_print("%s, told %s", phrase, since);

	free(since);
	free(phrase);
	return text;
}

/* An alert that the animal is in danger, or about to be. */
static bool is_grave(const struct account *account)
{
	const struct alert_life *life = gravest(account);

	return life && life->last.priority == NOW && alert_is_of_danger(&life->last);
}

/* It is a reason to look, and not merely out for a moment. */
static bool presses(const struct account *account, const struct matter *matter)
{
	if (!lasts(matter))
		return false;
	for (size_t i = 0; i < account->standing_count; i++)
		if (is_about(&account->standing[i]->last, matter))
			return true;
	return series_wears_out(matter->series);
}

/* Present danger, past danger, what presses, what is going on, what is over: in that order. */
static int rank_of(const struct account *account, const struct matter *matter)
{
	return matter->unsafe && lasts(matter)	  ? 4
	       : matter->unsafe		  ? 3
	       : presses(account, matter) ? 2
	       : lasts(matter)		  ? 1
					  : 0;
}

static const struct matter *first_matter(const struct account *account,
					 const struct matters *matters)
{
	const struct matter *first = NULL;

	for (size_t i = 0; i < matters->count; i++)
		if (!first || rank_of(account, &matters->list[i]) > rank_of(account, first))
			first = &matters->list[i];
	return first;
}

/* What is worst must not be hidden by what merely lasts. */
char *account_complaint(const struct account *account, bool brief, enum units units)
{
	const struct matter *worst;
	struct matters matters;
	char *silence;

	if (account->need == NEED_NOTHING || account->need == NEED_UNTOLD)
		return NULL;
	matters_find(account, NULL, NULL, &matters);
	worst = first_matter(account, &matters);
	if (worst && worst->unsafe && (lasts(worst) || !is_grave(account)))
		return complain(account, worst, brief, units);
	if (is_grave(account))
		return complain_of_alert(account, brief);
	if (worst && presses(account, worst) && !is_unwatched(account))
		return complain(account, worst, brief, units);
	silence = complain_of_silence(account, brief);
	if (silence)
		return silence;
	if (gravest(account))
		return complain_of_alert(account, brief);
	return worst ? complain(account, worst, brief, units) : must_copy("out of its band now and then");
}
