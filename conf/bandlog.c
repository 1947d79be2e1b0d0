/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Changes of bands as lines; see bandlog.h.
 */
#include "conf/bandlog.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "conf/words.h"

struct band_change band_change_now(const struct conf *conf, const struct enclosure *enclosure,
				   struct series series, double time)
{
	const struct rule *rule = &enclosure->places[series.place].rules[series.quantity];
	struct band_change change = {
		.time = time,
		.series = series,
		.has_band = rule->has_band,
		.has_limits = rule->has_limits,
		.hours = conf->day,
	};

	snprintf(change.enclosure, sizeof change.enclosure, "%s", enclosure->name);
	if (rule->has_band) {
		change.day = rule->day;
		change.night = rule->night;
	}
	if (rule->has_limits)
		change.limits = rule->limits;
	return change;
}

static bool same_range(struct range a, struct range b)
{
	return a.low == b.low && a.high == b.high;
}

bool band_change_same(const struct band_change *a, const struct band_change *b)
{
	return strcmp(a->enclosure, b->enclosure) == 0 && a->series.place == b->series.place &&
	       a->series.quantity == b->series.quantity && a->has_band == b->has_band &&
	       a->has_limits == b->has_limits && same_range(a->day, b->day) &&
	       same_range(a->night, b->night) && same_range(a->limits, b->limits) &&
	       a->hours.from == b->hours.from && a->hours.to == b->hours.to &&
	       a->hours.changeover == b->hours.changeover;
}

static json_t *range_or_null(bool present, struct range range)
{
	return present ? json_pack("[f,f]", range.low, range.high) : json_null();
}

char *band_change_line(const struct band_change *c)
{
	json_t *object = json_pack(
		"{s:f,s:s,s:s,s:s,s:o,s:o,s:o,s:i,s:i,s:f}", "time", c->time, "enclosure",
		c->enclosure, "place", place_word(c->series.place), "quantity",
		quantity_word(c->series.quantity), "day", range_or_null(c->has_band, c->day),
		"night", range_or_null(c->has_band, c->night), "limits",
		range_or_null(c->has_limits, c->limits), "day_from", c->hours.from, "day_to",
		c->hours.to, "changeover", c->hours.changeover);
	char *line = json_dumps(object, JSON_COMPACT | JSON_REAL_PRECISION(12));

	json_decref(object);
	return line;
}

/* A pair of numbers, or null for none. */
static bool take_range(json_t *object, const char *key, bool *present, struct range *range)
{
	json_t *member = json_object_get(object, key);

	*present = json_is_array(member);
	if (!*present)
		return json_is_null(member);
	return json_unpack(member, "[F,F]", &range->low, &range->high) == 0;
}

static bool from_json(json_t *object, struct band_change *c)
{
	const char *enclosure, *place, *quantity;
	bool has_night;

	if (json_unpack(object, "{s:F,s:s,s:s,s:s,s:i,s:i,s:F}", "time", &c->time, "enclosure",
			&enclosure, "place", &place, "quantity", &quantity, "day_from",
			&c->hours.from, "day_to", &c->hours.to, "changeover",
			&c->hours.changeover) != 0 ||
	    strlen(enclosure) >= sizeof c->enclosure ||
	    !place_from_word(place, &c->series.place) ||
	    !quantity_from_word(quantity, &c->series.quantity) ||
	    !take_range(object, "day", &c->has_band, &c->day) ||
	    !take_range(object, "night", &has_night, &c->night) || has_night != c->has_band ||
	    !take_range(object, "limits", &c->has_limits, &c->limits))
		return false;
	memcpy(c->enclosure, enclosure, strlen(enclosure) + 1);
	return true;
}

bool band_change_parse(const char *line, struct band_change *out)
{
	json_t *object = json_loads(line, JSON_REJECT_DUPLICATES, NULL);
	struct band_change change = { 0 };
	bool good = object && from_json(object, &change);

	json_decref(object);
	if (good)
		*out = change;
	return good;
}

struct band_change *bandlog_read(const char *path, size_t *count)
{
	FILE *file = fopen(path, "re");
	struct band_change *list = NULL, change;
	char *line = NULL;
	size_t room = 0;

	*count = 0;
	while (file && getline(&line, &room, file) >= 0)
		if (band_change_parse(line, &change)) {
			list = must_resize(list, *count + 1, sizeof *list);
			list[(*count)++] = change;
		}
	free(line);
	if (file)
		fclose(file);
	return list;
}
