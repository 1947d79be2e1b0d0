/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An enclosure left alone; see outlook.h.
 */
#include "report/outlook.h"

#include <math.h>

#include "conf/band.h"
#include "conf/words.h"

static const double RECENT = 3600; /* s: a forecast begins with a reading no older than this */

static int sooner(double one, double other)
{
	return (one > other) - (one < other);
}

static int compare(const struct outlook *one, const struct outlook *other)
{
	if (one->away.verdict != other->away.verdict)
		return one->away.verdict < other->away.verdict ? -1 : 1;
	if (one->away.verdict == AWAY_UNKNOWN)
		return 0;

	int by = one->away.verdict == AWAY_NEEDS ? sooner(one->away.by, other->away.by) : 0;

	if (!by)
		by = sooner(one->forecast.leaves.low, other->forecast.leaves.low);
	return by ? by : sooner(one->forecast.leaves.median, other->forecast.leaves.median);
}

int outlook_compare(const void *one, const void *other)
{
	const struct outlook *a = one, *b = other;
	int order = compare(a, b);

	/* The enclosures lie in one array, in the order of the configuration. */
	return order ? order : (a->enclosure > b->enclosure) - (a->enclosure < b->enclosure);
}

/* ---- humidity --------------------------------------------------------------- */

/* Whether the air was known within RECENT of the end. */
static bool is_heard(const struct bins *bins, double now)
{
	for (size_t i = bins->count; i-- > 0 && bin_time(bins, i) > now - RECENT;)
		if (bins->list[i].ok > 0)
			return true;
	return false;
}

/* Since when, and how much of it, the air is known. */
static void measure_past(const struct bins *bins, struct outlook *out)
{
	for (size_t i = bins->count; i-- > 0;) {
		if (bins->list[i].ok <= 0)
			continue;
		out->past_from = bin_time(bins, i) - bins->step / 2;
		out->past_seconds += bins->list[i].ok;
	}
}

/* The rule in force so many h after the end of the window. */
static struct rule rule_then(const struct outlook_base *base, const struct enclosure *enclosure,
			     enum place place, enum quantity quantity, double hours)
{
	struct daypart_cache cache = { 0 };
	struct rule room;

	return *rule_at(&enclosure->places[place].rules[quantity], &base->conf->day, &cache,
			base->window.to + hours * 3600, &room);
}

static void foretell(const struct outlook_base *base, struct place_past *past,
		     struct outlook *out)
{
	const struct forecast_past air = {
		.inside = &past->bins,
		.room = base->room->present ? &base->room->bins : NULL,
		.mistings = &past->mistings,
		.ribbon = &past->ribbon,
		.rule = &out->rule,
		.now = base->window.to,
	};

	out->gap = GAP_SILENT;
	if (!is_heard(&past->bins, base->window.to))
		return;
	ribbon_foresee(&past->ribbon, base->conf, out->enclosure, base->window.to,
		       base->window.to + base->hours * 3600);
	measure_past(&past->bins, out);
	forecast_make(&air, base->hours, &out->forecast);
	out->away = away_judge(&out->forecast, base->hours);
	out->gap = !out->forecast.known                 ? GAP_SHORT
		   : out->away.verdict == AWAY_UNKNOWN ? GAP_GUESSED
						       : GAP_NONE;
}

/* What is to be said of one place whose humidity has a band. */
static struct outlook at_place(const struct outlook_base *base, const struct enclosure *enclosure,
			       const struct record *record, enum place place)
{
	struct outlook out = {
		.enclosure = enclosure,
		.gap = record->trouble ? GAP_NO_ARCHIVE : GAP_SILENT,
		.has_place = true,
		.place = place,
		.rule = rule_then(base, enclosure, place, HUMIDITY, 0),
		.away = { .verdict = AWAY_UNKNOWN },
	};
	const struct alert_record *told = standing_of_probe(base->standing, enclosure->name, place);
	struct place_past past;

	if (told) {
		out.gap = told->condition == FROZEN ? GAP_TOLD_FROZEN : GAP_TOLD_SILENT;
		return out;
	}
	if (!record_series(record, place, TEMPERATURE))
		out.gap = GAP_NO_THERMOMETER;
	if (place_past_make(base->conf, enclosure, record, place, base->bands, base->window,
			    FORECAST_STEP, &past)) {
		foretell(base, &past, &out);
		place_past_clear(&past);
	}
	return out;
}

/* ---- temperature ------------------------------------------------------------ */

static const struct bin *latest_of(const struct bins *bins)
{
	for (size_t i = bins->count; i-- > 0;)
		if (bins->list[i].ok > 0)
			return &bins->list[i];
	return NULL;
}

/* Places whose temperature has a lower limit and could be foretold. */
static void list_untold(const struct outlook_base *base, const struct enclosure *enclosure,
			struct power_cut *out)
{
	for (enum place place = 0; place < PLACES; place++)
		out->untold[place] = place != HOT_SPOT &&
				     rule_then(base, enclosure, place, TEMPERATURE, 0).has_limits &&
				     has_series(base->conf, enclosure, place, TEMPERATURE);
}

/* One place of the enclosure, if it is to pass its limit before what is found already. */
static void cut_power_at(const struct outlook_base *base, const struct enclosure *enclosure,
			 const struct cooling_air *air, size_t i, enum place place,
			 struct power_cut *found)
{
	struct power_cut cut = *found;
	const struct bin *now = latest_of(&air->places[i]);

	if (!found->untold[place] || !is_heard(&air->places[i], base->window.to) ||
	    standing_of_probe(base->standing, enclosure->name, place) ||
	    !cooling_find(air, i, &cut.cooling))
		return;
	cut.known = true;
	cut.untold[place] = found->untold[place] = false;
	cut.place = place;
	cut.limit = rule_then(base, enclosure, place, TEMPERATURE, 0).limits.low;
	cut.from = now->celsius;
	cut.hours = cooling_hours(cut.cooling.quick, cut.from, base->coldest, cut.limit);
	if (!found->known || cut.hours < found->hours)
		*found = cut;
}

static void cut_power(const struct outlook_base *base, const struct enclosure *enclosure,
		      const struct record *record, struct power_cut *out)
{
	struct bins places[PLACES];
	enum place place_of[PLACES];
	struct cooling_air air = { places, 0, base->room_temperature };

	*out = (struct power_cut){ 0 };
	list_untold(base, enclosure, out);
	if (!base->room_temperature)
		return;
	for (size_t i = 0; i < record->count; i++) {
		const struct series_rows *rows = &record->series[i];

		if (rows->series.quantity != TEMPERATURE || !rows->count)
			continue;
		place_of[air.count] = rows->series.place;
		bins_make(NULL, rows, base->window, FORECAST_STEP, &places[air.count++]);
	}
	for (size_t i = 0; i < air.count; i++)
		cut_power_at(base, enclosure, &air, i, place_of[i], out);
	for (size_t i = 0; i < air.count; i++)
		bins_clear(&places[i]);
}

void outlook_make(const struct outlook_base *base, const struct enclosure *enclosure,
		  const struct record *record, struct outlook *out)
{
	*out = (struct outlook){ .enclosure = enclosure, .gap = GAP_NO_BAND,
				 .away = { .verdict = AWAY_UNKNOWN } };
	for (int place = 0; place < PLACES; place++) {
		if (!record_series(record, (enum place)place, HUMIDITY) ||
		    !(rule_then(base, enclosure, (enum place)place, HUMIDITY, 0).has_band ||
		      rule_then(base, enclosure, (enum place)place, HUMIDITY, base->hours).has_band))
			continue;

		struct outlook here = at_place(base, enclosure, record, (enum place)place);

		if (!out->has_place || compare(&here, out) < 0)
			*out = here;
	}
	cut_power(base, enclosure, record, &out->cut);
}
