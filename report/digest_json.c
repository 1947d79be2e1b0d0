/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The morning look as JSON; see digest.h.
 */
#include "report/digest.h"

#include <stdlib.h>

#include "conf/memory.h"
#include "conf/words.h"
#include "report/json.h"

static const char *need_word(enum need need)
{
	static const char *const words[] = {
		[NEED_LOOK] = "look",
		[NEED_OUT] = "out",
		[NEED_STRAYED] = "strayed",
		[NEED_ASIDE] = "aside",
		[NEED_NOTHING] = "nothing",
		[NEED_UNTOLD] = "no band",
	};

	return words[need];
}

/* A text made for it, which is freed; NULL becomes null. */
static json_t *take_text(char *text)
{
	json_t *value = json_text(text);

	free(text);
	return value;
}

/* What "dangerously" is said of; null when nothing is. */
static json_t *danger_json(const struct series_account *series)
{
	for (int side = 0; side < SIDES; side++)
		if (series_unsafe(series, (enum side)side))
			return json_pack("{s:o,s:o}",
					 "value", json_number(true, series->danger[side].value),
					 "time", json_instant(series->danger[side].at));
	return json_null();
}

static json_t *mistings_json(const struct mistings *mistings)
{
	json_t *list = json_array();

	for (size_t i = 0; i < mistings->count; i++)
		json_array_append_new(list, json_instant(mistings->list[i].at));
	return list;
}

/* That it is out at the end of what is known, else null; since: null when it was so
 * before the window. */
static json_t *lasting_json(const struct episode *episode)
{
	if (!episode->lasts)
		return json_null();
	return json_pack("{s:s,s:o,s:o,s:o}",
			 "side", side_word(episode->side),
			 "since", episode->older ? json_null() : json_instant(episode->from),
			 "seconds", json_number(true, episode->seconds),
			 "distance", json_number(true, episode->distance));
}

/* What it is compared with, or null. */
static json_t *before_json(const struct earlier *earlier)
{
	if (!earlier->windows)
		return json_null();
	return json_pack("{s:I,s:o,s:o,s:o}",
			 "windows", (json_int_t)earlier->windows,
			 "mean", json_number(true, earlier->mean),
			 "low_seconds", json_number(earlier->has_band, earlier->low),
			 "high_seconds", json_number(earlier->has_band, earlier->high));
}

static json_t *series_json(const struct account *account, const struct series_account *series,
			   enum units units)
{
	const struct totals *t = &series->totals;
	json_t *object = json_totals(series->series, t);

	json_object_set_new(object, "min_time", t->known ? json_instant(series->least.at) : json_null());
	json_object_set_new(object, "max_time", t->known ? json_instant(series->most.at) : json_null());
	json_object_set_new(object, "latest", json_number(t->known, series->latest.value));
	json_object_set_new(object, "latest_time",
			    t->known ? json_instant(series->latest.at) : json_null());
	json_object_set_new(object, "silent_since",
			    series->silent ? json_instant(series->silent_since) : json_null());
	json_object_set_new(object, "excursions",
			    t->has_band ? json_integer((json_int_t)series->excursions.count)
					: json_null());
	json_object_set_new(object, "lasting", lasting_json(&series->episode));
	json_object_set_new(object, "before", before_json(&series->earlier));
	json_object_set_new(object, "danger", danger_json(series));
	json_object_set_new(object, "mistings", series->series.quantity == HUMIDITY
							? mistings_json(&series->mistings)
							: json_null());
	json_object_set_new(object, "finding", take_text(series_finding(account, series, units)));
	json_object_set_new(object, "change",
			    take_text(series_change(series, account->window, units)));
	return object;
}

static json_t *account_json(const struct account *account, const struct morning_line *line,
			    enum units units)
{
	const struct enclosure *at = account->enclosure;
	json_t *places = json_array();

	for (size_t i = 0; i < account->count; i++)
		json_array_append_new(places, series_json(account, &account->series[i], units));
	return json_pack("{s:s,s:s,s:o,s:o,s:s,s:o,s:o,s:o,s:o,s:b,s:o}",
			 "name", at->name,
			 "label", at->label,
			 "species", json_text(at->species ? at->species->name : NULL),
			 "build", json_text(at->has_build ? build_word(at->build) : NULL),
			 "need", need_word(account->need),
			 "complaint", json_text(line->complaint),
			 "finding", take_text(account_finding(account, NULL, units)),
			 "known", json_number(account->count > 0, account->known),
			 "shelved_until", account->shelved ? json_instant(account->shelved->until)
							   : json_null(),
			 "out_of_service", at->out_of_service,
			 "places", places);
}

static json_t *standing_json(const struct morning *morning)
{
	json_t *list = json_array();

	for (size_t i = 0; i < morning->standing_count; i++)
		json_array_append_new(list, alert_to_json(&morning->standing[i]->last));
	return list;
}

void digest_json(struct morning *morning, FILE *out)
{
	size_t count = morning->base.conf->enclosure_count;
	json_t **made = must_calloc(count, sizeof *made);
	json_t *enclosures = json_array();

	for (size_t i = 0; i < count; i++) {
		struct account account;

		morning_account(morning, i, &account);
		made[i] = account_json(&account, &morning->lines[i], morning->base.conf->units);
		account_clear(&account);
	}
	morning_sort(morning);
	for (size_t i = 0; i < count; i++)
		json_array_append_new(enclosures, made[morning->lines[i].order]);
	free(made);
	json_print(json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}",
			     "from", json_instant(morning->base.window.from),
			     "to", json_instant(morning->base.window.to),
			     "made", json_instant(morning->made),
			     "headline", take_text(morning_headline(morning)),
			     "others", take_text(morning_others(morning)),
			     "known", json_number(true, morning_known(morning)),
			     "standing", standing_json(morning),
			     "enclosures", enclosures), out);
}
