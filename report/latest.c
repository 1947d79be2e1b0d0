/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * now.json; see latest.h.
 */
#include "report/latest.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/band.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/json.h"

/* A state, or null where there is nothing to judge by: "" then. */
static bool take_state(const json_t *object, char state[STATE_TEXT])
{
	const json_t *member = json_object_get(object, "state");
	const char *text = json_is_null(member) ? "" : json_string_value(member);

	if (!text || strlen(text) >= STATE_TEXT)
		return false;
	memcpy(state, text, strlen(text) + 1);
	return true;
}

static json_t *state_to_json(const char *state)
{
	return *state ? json_string(state) : json_null();
}

/* A number that may be null. */
static bool take_number(const json_t *object, const char *key, bool *present, double *value)
{
	const json_t *member = json_object_get(object, key);

	*present = json_is_number(member);
	if (*present)
		*value = json_number_value(member);
	return *present || json_is_null(member);
}

/* An instant that may be null. */
static bool take_instant(const json_t *object, const char *key, bool *present, double *instant)
{
	return take_number(object, key, present, instant) && (!*present || is_instant(*instant));
}

/* [low, high] that may be null. */
static bool take_range(const json_t *object, const char *key, bool *present, struct range *range)
{
	const json_t *member = json_object_get(object, key);
	const json_t *low = json_array_get(member, 0), *high = json_array_get(member, 1);

	*present = json_array_size(member) == 2 && json_is_number(low) && json_is_number(high);
	if (*present)
		*range = (struct range){ json_number_value(low), json_number_value(high) };
	return *present ? range->low <= range->high : json_is_null(member);
}

static bool take_place(const json_t *object, struct latest_place *out)
{
	const char *place = json_string_value(json_object_get(object, "place"));
	const char *quantity = json_string_value(json_object_get(object, "quantity"));

	out->series.computed = json_is_true(json_object_get(object, "computed"));
	return place && quantity && place_from_word(place, &out->series.place) &&
	       quantity_from_word(quantity, &out->series.quantity) &&
	       take_state(object, out->state) &&
	       take_number(object, "value", &out->has_value, &out->value) &&
	       take_instant(object, "time", &out->has_time, &out->time) &&
	       take_range(object, "band", &out->has_band, &out->band) &&
	       take_range(object, "limits", &out->has_limits, &out->limits);
}

static bool take_enclosure(const json_t *object, struct latest_enclosure *out)
{
	const char *name = json_string_value(json_object_get(object, "name"));
	const json_t *places = json_object_get(object, "places"), *place;
	size_t i;

	const json_t *shelved = json_object_get(object, "shelved_until");

	if (!name || !take_state(object, out->state) || !json_is_array(places))
		return false;
	out->shelved = json_is_number(shelved) && is_instant(json_number_value(shelved));
	out->shelved_until = json_number_value(shelved);
	out->name = must_copy(name);
	out->places = must_calloc(json_array_size(places), sizeof *out->places);
	json_array_foreach(places, i, place)
		if (!take_place(place, &out->places[out->count++]))
			return false;
	return true;
}

static void take_buses(const json_t *buses, struct latest *out)
{
	const json_t *bus;
	size_t i;

	out->lost = must_calloc(json_array_size(buses), sizeof *out->lost);
	json_array_foreach(buses, i, bus) {
		const char *name = json_string_value(json_object_get(bus, "name"));

		if (name && json_is_false(json_object_get(bus, "open")))
			out->lost[out->lost_count++] = must_copy(name);
	}
}

/* A lost port is the trouble of many. */
static void take_trouble(struct latest *out, const char *probe, const char *text)
{
	for (size_t i = 0; i < out->trouble_count; i++) {
		struct latest_trouble *at = &out->troubles[i];

		if (strcmp(at->text, text) != 0)
			continue;
		char *more = must_print("%s, %s", at->probes, probe);

		free(at->probes);
		at->probes = more;
		return;
	}
	out->troubles[out->trouble_count++] =
		(struct latest_trouble){ must_copy(probe), must_copy(text) };
}

static void take_troubles(const json_t *probes, struct latest *out)
{
	const json_t *probe;
	size_t i;

	out->troubles = must_calloc(json_array_size(probes), sizeof *out->troubles);
	json_array_foreach(probes, i, probe) {
		const char *name = json_string_value(json_object_get(probe, "name"));
		const char *text = json_string_value(json_object_get(probe, "trouble"));

		if (name && text)
			take_trouble(out, name, text);
	}
}

bool latest_from_json(const json_t *root, struct latest *out)
{
	const json_t *time = json_object_get(root, "time");
	const json_t *enclosures = json_object_get(root, "enclosures"), *enclosure;
	size_t i;

	if (!json_is_number(time) || !is_instant(json_number_value(time)) ||
	    !json_is_array(enclosures))
		return false;
	*out = (struct latest){
		.time = json_number_value(time),
		.enclosures = must_calloc(json_array_size(enclosures), sizeof *out->enclosures),
	};
	json_array_foreach(enclosures, i, enclosure)
		if (!take_enclosure(enclosure, &out->enclosures[out->count++])) {
			latest_clear(out);
			return false;
		}
	take_buses(json_object_get(root, "buses"), out);
	take_troubles(json_object_get(root, "probes"), out);
	return true;
}

void latest_clear(struct latest *latest)
{
	for (size_t i = 0; i < latest->count; i++) {
		free(latest->enclosures[i].name);
		free(latest->enclosures[i].places);
	}
	for (size_t i = 0; i < latest->lost_count; i++)
		free(latest->lost[i]);
	free(latest->lost);
	for (size_t i = 0; i < latest->trouble_count; i++) {
		free(latest->troubles[i].probes);
		free(latest->troubles[i].text);
	}
	free(latest->troubles);
	free(latest->enclosures);
	*latest = (struct latest){ 0 };
}

static json_t *place_to_json(const struct latest_place *place)
{
	json_t *object = json_pack(
		"{s:s,s:s,s:o,s:o,s:o,s:o,s:o}",
		"place", place_word(place->series.place),
		"quantity", quantity_word(place->series.quantity),
		"value", json_number(place->has_value, place->value),
		"time", place->has_time ? json_instant(place->time) : json_null(),
		"state", state_to_json(place->state),
		"band", json_range(place->has_band, place->band),
		"limits", json_range(place->has_limits, place->limits));

	json_computed(object, place->series);
	return object;
}

json_t *latest_to_json(const struct latest *latest)
{
	json_t *enclosures = json_array();

	for (size_t i = 0; i < latest->count; i++) {
		const struct latest_enclosure *at = &latest->enclosures[i];
		json_t *places = json_array();

		for (size_t n = 0; n < at->count; n++)
			json_array_append_new(places, place_to_json(&at->places[n]));
		json_t *object = json_pack("{s:s,s:o,s:o}", "name", at->name, "state",
					   state_to_json(at->state), "places", places);

		if (at->shelved)
			json_object_set_new(object, "shelved_until",
					    json_instant(at->shelved_until));
		json_array_append_new(enclosures, object);
	}
	return json_pack("{s:o,s:o}", "time", json_instant(latest->time), "enclosures", enclosures);
}

static int rank_of(const char *state)
{
	static const char *const worst_first[] = { "unsafe", "straying", "silent", "frozen" };
	int ranks = (int)(sizeof worst_first / sizeof *worst_first);

	for (int i = 0; i < ranks; i++)
		if (strcmp(state, worst_first[i]) == 0)
			return i;
	return *state ? ranks : ranks + 1; /* what nobody judges comes last */
}

/* Wanted somewhere, and never heard of: as bad as silent. */
static int rank_of_place(const struct latest_place *place)
{
	bool unheard = !place->has_value && (place->has_band || place->has_limits);

	return rank_of(unheard ? "silent" : place->state);
}

/* How far outside its band, in widths of the band. */
static double widths_out(const struct latest_place *place)
{
	if (!place->has_value || !place->has_band)
		return 0;
	return fabs(band_distance(place->band, place->value)) /
	       fmax(place->band.high - place->band.low, 1);
}

int latest_compare(const struct latest_place *a, const struct latest_place *b)
{
	int difference = rank_of_place(a) - rank_of_place(b);

	if (difference)
		return difference;

	double deeper = widths_out(b) - widths_out(a);

	return (deeper > 0) - (deeper < 0);
}
