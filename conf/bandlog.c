/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Band-log records and their lines; see bandlog.h.
 */
#include "conf/bandlog.h"

#include <math.h>
#include <string.h>

#include <jansson.h>

#include "conf/band.h"
#include "conf/measure.h"
#include "conf/words.h"

struct band_record band_record_of(const struct conf *conf, const struct enclosure *enclosure,
				  struct series series, double time)
{
	struct daypart_cache cache = { 0 };
	struct rule room;
	const struct rule *rule = rule_at(&enclosure->places[series.place].rules[series.quantity],
					  &conf->day, &cache, time, &room);
	struct band_record record = {
		.time = time,
		.series = series,
		.has_band = rule->has_band,
		.day = rule->day,
		.night = rule->night,
		.has_limits = rule->has_limits,
		.limits = rule->limits,
		.clock = conf->day,
	};

	strncpy(record.enclosure, enclosure->name, sizeof record.enclosure - 1);
	return record;
}

static json_t *range_or_null(bool present, struct range range)
{
	return present ? json_pack("[f,f]", range.low, range.high) : json_null();
}

/* A line has 15 digits, and the edges of a ramp more. */
static bool same_range(struct range a, struct range b)
{
	return fabs(a.low - b.low) < 1e-9 && fabs(a.high - b.high) < 1e-9;
}

bool band_same(const struct band_record *a, const struct band_record *b)
{
	return strcmp(a->enclosure, b->enclosure) == 0 && a->series.place == b->series.place &&
	       a->series.quantity == b->series.quantity && a->has_band == b->has_band &&
	       a->has_limits == b->has_limits &&
	       (!a->has_band || (same_range(a->day, b->day) && same_range(a->night, b->night))) &&
	       (!a->has_limits || same_range(a->limits, b->limits)) &&
	       a->clock.from == b->clock.from && a->clock.to == b->clock.to &&
	       a->clock.changeover == b->clock.changeover;
}

char *band_to_line(const struct band_record *r)
{
	json_t *object = json_pack(
		"{s:f,s:s,s:s,s:s,s:o,s:o,s:o,s:i,s:i,s:f}",
		"time", r->time,
		"enclosure", r->enclosure,
		"place", place_word(r->series.place),
		"quantity", quantity_word(r->series.quantity),
		"day", range_or_null(r->has_band, r->day),
		"night", range_or_null(r->has_band, r->night),
		"limits", range_or_null(r->has_limits, r->limits),
		"day_from", r->clock.from,
		"day_to", r->clock.to,
		"changeover", r->clock.changeover);
	char *line = json_dumps(object, JSON_COMPACT | JSON_REAL_PRECISION(15));

	json_decref(object);
	return line;
}

/* [low, high], or null for none. */
static bool take_range(const json_t *object, const char *key, bool *present, struct range *range)
{
	const json_t *member = json_object_get(object, key);
	const json_t *low = json_array_get(member, 0), *high = json_array_get(member, 1);

	*present = json_array_size(member) == 2 && json_is_number(low) && json_is_number(high);
	if (*present)
		*range = (struct range){ json_number_value(low), json_number_value(high) };
	return *present ? range->low <= range->high : json_is_null(member);
}

static bool take_series(const json_t *object, struct band_record *out)
{
	const char *name = json_string_value(json_object_get(object, "enclosure"));
	const char *place = json_string_value(json_object_get(object, "place"));
	const char *quantity = json_string_value(json_object_get(object, "quantity"));

	if (!name || strlen(name) >= sizeof out->enclosure || !place || !quantity)
		return false;
	memcpy(out->enclosure, name, strlen(name) + 1);
	return place_from_word(place, &out->series.place) &&
	       quantity_from_word(quantity, &out->series.quantity);
}

static bool take_clock(const json_t *object, struct day *out)
{
	const json_t *from = json_object_get(object, "day_from");
	const json_t *to = json_object_get(object, "day_to");
	const json_t *changeover = json_object_get(object, "changeover");

	if (!json_is_integer(from) || !json_is_integer(to) || !json_is_number(changeover))
		return false;
	*out = (struct day){ (int)json_integer_value(from), (int)json_integer_value(to),
			     json_number_value(changeover) };
	return out->from >= 0 && out->from < 86400 && out->to >= 0 && out->to < 86400 &&
	       out->changeover >= 0;
}

bool band_from_line(const char *line, struct band_record *out)
{
	json_t *object = json_loads(line, JSON_REJECT_DUPLICATES, NULL);
	const json_t *time = json_object_get(object, "time");
	struct band_record record = { 0 };
	bool has_night = false;
	bool good = json_is_number(time) && is_instant(json_number_value(time)) &&
		    take_series(object, &record) &&
		    take_range(object, "day", &record.has_band, &record.day) &&
		    take_range(object, "night", &has_night, &record.night) &&
		    has_night == record.has_band &&
		    take_range(object, "limits", &record.has_limits, &record.limits) &&
		    take_clock(object, &record.clock);

	if (good) {
		record.time = json_number_value(time);
		*out = record;
	}
	json_decref(object);
	return good;
}
