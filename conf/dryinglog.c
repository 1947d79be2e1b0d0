/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Records of dryings and their lines; see dryinglog.h.
 */
#include "conf/dryinglog.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "conf/memory.h"
#include "conf/words.h"

static const char *const verdicts[DRYING_VERDICTS] = {
	[DRYING_FITTED] = "fitted", [DRYING_SHORT] = "short", [DRYING_GAPS] = "gaps",
	[DRYING_WET] = "wet",	    [DRYING_FLAT] = "flat",   [DRYING_SLOW] = "slow",
	[DRYING_RAGGED] = "ragged",
};

static const char *const reaches[] = {
	[REACH_UNTOLD] = "untold", [REACH_SEEN] = "seen", [REACH_FORETOLD] = "foretold",
	[REACH_NEVER] = "never",
};

enum { REACHES = sizeof reaches / sizeof *reaches };

/* What a probe and the air may be at most; what is beyond it was not written by us. */
static const struct range PERCENT = { -50, 150 };
static const struct range DEGREES = { -100, 100 }; /* as conf/air.h knows it */
static const struct range DENSITY = { -1000, 1000 };
static const struct range RATE = { 1e-6, 1e4 };         /* 1/h */
static const struct range WATER = { 1e-3, 1e9 };        /* g/m³ */
static const struct range HOURS = { 1e-3, 1e4 };
static const struct range FREEDOM = { 1, 1e300 };
static const struct range NOT_NEGATIVE = { 0, 1e300 };
static const struct range INSTANT = { 0, 1e12 };

/* ---- records to lines ------------------------------------------------------ */

static json_t *number(bool present, double value)
{
	return present && isfinite(value) ? json_real(value) : json_null();
}

const char *drying_verdict_word(enum drying_verdict verdict)
{
	return verdicts[verdict];
}

const char *reach_word(enum reach reach)
{
	return reaches[reach];
}

bool is_reached(const struct reached *reached)
{
	return reached->reach == REACH_SEEN || reached->reach == REACH_FORETOLD;
}

static json_t *reached_to_json(const struct reached *reached)
{
	return json_pack("{s:s,s:o}", "reach", reaches[reached->reach], "hours",
			 number(is_reached(reached), reached->hours));
}

static json_t *drying_to_json(const struct drying *d)
{
	bool fitted = d->verdict == DRYING_FITTED;
	json_t *object = json_pack("{s:f,s:f,s:f,s:f,s:f,s:s,s:o,s:o,s:o,s:o}", "at", d->at,
				   "before", d->before, "top", d->top, "from", d->from,
				   "to", d->to, "verdict", verdicts[d->verdict],
				   "celsius", number(true, d->celsius),
				   "room", number(d->has_room, d->room),
				   "edge", reached_to_json(&d->edge),
				   "limit", reached_to_json(&d->limit));

	if (!fitted)
		return object;
	json_t *fit = json_pack("{s:f,s:f,s:f,s:f,s:f,s:f,s:f,s:o}",
				"time_constant", d->time_constant,
				"time_constant_error", d->time_constant_error,
				"floor", d->floor, "floor_error", d->floor_error,
				"drop", d->drop, "freedom", d->freedom,
				"floor_humidity", d->floor_humidity,
				"air_changes",
				number(d->has_air_changes, d->air_changes));

	json_object_set_new(object, "fit", fit);
	return object;
}

static json_t *law_to_json(const struct drying_record *r)
{
	if (!r->has_law)
		return json_null();
	return json_pack("{s:f,s:f,s:o}", "airing", r->law.airing, "exchange", r->law.exchange,
			 "capacity", number(true, r->law.capacity));
}

char *drying_to_line(const struct drying_record *r)
{
	json_t *list = json_array(), *hours = json_array();

	for (size_t i = 0; i < r->count; i++)
		json_array_append_new(list, drying_to_json(&r->list[i]));
	for (int hour = 0; hour < HOURS_A_DAY; hour++)
		json_array_append_new(hours, number(r->has_hour[hour], r->celsius[hour]));

	json_t *object = json_pack("{s:s,s:s,s:f,s:f,s:f,s:o,s:o,s:o}", "enclosure", r->enclosure,
				   "place", place_word(r->place), "from", r->from, "to", r->to,
				   "known", r->known, "law", law_to_json(r), "celsius", hours,
				   "dryings", list);
	char *line = json_dumps(object, JSON_COMPACT | JSON_REAL_PRECISION(15));

	json_decref(object);
	return line;
}

/* ---- lines to records ------------------------------------------------------ */

/* A number within the range. */
static bool take(const json_t *object, const char *key, struct range range, double *out)
{
	const json_t *member = json_object_get(object, key);

	if (!json_is_number(member))
		return false;
	*out = json_number_value(member);
	return *out >= range.low && *out <= range.high;
}

/* The same, or null. */
static bool take_or_null(const json_t *object, const char *key, struct range range, bool *present,
			 double *out)
{
	*present = !json_is_null(json_object_get(object, key));
	return !*present || take(object, key, range, out);
}

static bool take_word(const json_t *object, const char *key, const char *const words[], size_t count,
		      size_t *out)
{
	const char *word = json_string_value(json_object_get(object, key));

	for (*out = 0; word && *out < count; ++*out)
		if (strcmp(word, words[*out]) == 0)
			return true;
	return false;
}

static bool take_reached(const json_t *object, const char *key, struct reached *out)
{
	const json_t *member = json_object_get(object, key);
	size_t reach;
	bool present;

	if (!take_word(member, "reach", reaches, REACHES, &reach) ||
	    !take_or_null(member, "hours", NOT_NEGATIVE, &present, &out->hours))
		return false;
	out->reach = (enum reach)reach;
	return present == is_reached(out);
}

static bool take_fit(const json_t *fit, struct drying *out)
{
	return take(fit, "time_constant", HOURS, &out->time_constant) &&
	       take(fit, "time_constant_error", NOT_NEGATIVE, &out->time_constant_error) &&
	       take(fit, "floor", DENSITY, &out->floor) &&
	       take(fit, "floor_error", NOT_NEGATIVE, &out->floor_error) &&
	       take(fit, "drop", DENSITY, &out->drop) &&
	       take(fit, "freedom", FREEDOM, &out->freedom) &&
	       take(fit, "floor_humidity", PERCENT, &out->floor_humidity) &&
	       take_or_null(fit, "air_changes", NOT_NEGATIVE, &out->has_air_changes,
			    &out->air_changes);
}

static bool take_drying(const json_t *object, struct drying *out)
{
	const json_t *fit = json_object_get(object, "fit");
	size_t verdict;
	bool has_celsius;

	*out = (struct drying){ 0 };
	if (!take(object, "at", INSTANT, &out->at) || !take(object, "before", PERCENT, &out->before) ||
	    !take(object, "top", PERCENT, &out->top) || !take(object, "from", INSTANT, &out->from) ||
	    !take(object, "to", INSTANT, &out->to) || out->to < out->from ||
	    !take_word(object, "verdict", verdicts, DRYING_VERDICTS, &verdict) ||
	    !take_or_null(object, "celsius", DEGREES, &has_celsius, &out->celsius) ||
	    !take_or_null(object, "room", DENSITY, &out->has_room, &out->room) ||
	    !take_reached(object, "edge", &out->edge) || !take_reached(object, "limit", &out->limit))
		return false;
	if (!has_celsius)
		out->celsius = NAN;
	out->verdict = (enum drying_verdict)verdict;
	if (out->verdict == DRYING_FITTED)
		return has_celsius && take_fit(fit, out);
	return !fit;
}

/* In order of time, and begun between the record's ends. */
static bool take_list(const json_t *list, struct drying_record *out)
{
	double last = out->from;

	if (!json_is_array(list))
		return false;
	out->list = must_calloc(json_array_size(list), sizeof *out->list);
	for (size_t i = 0; i < json_array_size(list); i++) {
		struct drying *drying = &out->list[out->count++];

		if (!take_drying(json_array_get(list, i), drying) || drying->at < last ||
		    drying->at >= out->to)
			return false;
		last = drying->at;
	}
	return true;
}

static bool take_law(const json_t *object, struct drying_record *out)
{
	const json_t *law = json_object_get(object, "law");
	bool finite;

	out->has_law = !json_is_null(law);
	if (!out->has_law)
		return true;
	if (!take(law, "airing", RATE, &out->law.airing) ||
	    !take(law, "exchange", RATE, &out->law.exchange) ||
	    !take_or_null(law, "capacity", WATER, &finite, &out->law.capacity))
		return false;
	if (!finite)
		out->law.capacity = INFINITY;
	return true;
}

static bool take_hours(const json_t *hours, struct drying_record *out)
{
	if (json_array_size(hours) != HOURS_A_DAY)
		return false;
	for (size_t hour = 0; hour < HOURS_A_DAY; hour++) {
		const json_t *member = json_array_get(hours, hour);

		if (json_is_null(member))
			continue;
		out->has_hour[hour] = true;
		out->celsius[hour] = json_number_value(member);
		if (!json_is_number(member) || out->celsius[hour] < DEGREES.low ||
		    out->celsius[hour] > DEGREES.high)
			return false;
	}
	return true;
}

static bool take_record(const json_t *object, struct drying_record *out)
{
	const char *name = json_string_value(json_object_get(object, "enclosure"));
	const char *place = json_string_value(json_object_get(object, "place"));

	if (!name || !*name || strlen(name) >= sizeof out->enclosure || !place ||
	    !place_from_word(place, &out->place))
		return false;
	memcpy(out->enclosure, name, strlen(name) + 1);
	return take(object, "from", INSTANT, &out->from) && take(object, "to", INSTANT, &out->to) &&
	       out->from < out->to && take(object, "known", NOT_NEGATIVE, &out->known) &&
	       out->known <= out->to - out->from && take_law(object, out) &&
	       take_hours(json_object_get(object, "celsius"), out) &&
	       take_list(json_object_get(object, "dryings"), out);
}

bool drying_from_line(const char *line, struct drying_record *out)
{
	json_t *object = json_loads(line, JSON_REJECT_DUPLICATES, NULL);
	struct drying_record record = { 0 };
	bool good = take_record(object, &record);

	json_decref(object);
	if (good)
		*out = record;
	else
		free(record.list);
	return good;
}
