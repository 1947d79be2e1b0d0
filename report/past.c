/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The air of the days before; see past.h.
 */
#include "report/past.h"

#include <stdio.h>

#include "conf/season.h"

static const double AHEAD = 14 * 86400.0; /* s: so far a drying is foretold at most */

const struct series_rows *record_series(const struct record *record, enum place place,
					enum quantity quantity)
{
	for (size_t i = 0; i < record->count; i++)
		if (record->series[i].series.place == place &&
		    record->series[i].series.quantity == quantity)
			return &record->series[i];
	return NULL;
}

void room_past_read(const struct conf *conf, struct window window, double step,
		    struct room_past *out)
{
	*out = (struct room_past){ 0 };
	for (size_t i = 0; i < conf->enclosure_count; i++) {
		const struct enclosure *room = &conf->enclosures[i];
		const struct series_rows *humidity, *temperature;
		struct record record;

		if (!room->is_room || !room->places[ROOM_AIR].watched)
			continue;
		record_read(conf, room, window, &record);
		if (record.trouble && !record.missing)
			fprintf(stderr, "warmside: %s\n", record.trouble);
		humidity = record_series(&record, ROOM_AIR, HUMIDITY);
		temperature = record_series(&record, ROOM_AIR, TEMPERATURE);
		if (humidity && humidity->count > 0 && temperature) {
			bins_make(humidity, temperature, window, step, &out->bins);
			for (size_t k = 0; k < out->bins.count; k++)
				out->present |= out->bins.list[k].ok > 0;
		}
		record_clear(&record);
	}
}

void room_past_clear(struct room_past *past)
{
	bins_clear(&past->bins);
	*past = (struct room_past){ 0 };
}

bool place_past_make(const struct conf *conf, const struct enclosure *enclosure,
		     const struct record *record, enum place place,
		     const struct band_list *bands, struct window window, double step,
		     struct place_past *out)
{
	const struct series_rows *humidity = record_series(record, place, HUMIDITY);
	const struct series_rows *temperature = record_series(record, place, TEMPERATURE);

	if (!humidity || humidity->count == 0 || !temperature)
		return false;
	*out = (struct place_past){ .place = place };
	bins_make(humidity, temperature, window, step, &out->bins);
	mistings_find(humidity, temperature, &out->mistings);
	ribbon_make(bands, conf, enclosure,
		    (struct series){ .place = place, .quantity = HUMIDITY },
		    window.to + AHEAD, &out->ribbon);
	return true;
}

void place_past_clear(struct place_past *past)
{
	bins_clear(&past->bins);
	mistings_clear(&past->mistings);
	ribbon_clear(&past->ribbon);
}

bool humid_place(const struct conf *conf, const struct enclosure *enclosure, enum place *out)
{
	static const enum place order[] = { COOL_SIDE, WARM_SIDE, EGGS, HOT_SPOT, HUMID_HIDE };
	bool found = false;

	for (size_t i = sizeof order / sizeof *order; i-- > 0;) {
		const struct place_conf *at = &enclosure->places[order[i]];

		if (!at->watched || !conf->probes[at->probe].gives[HUMIDITY])
			continue;
		if (found && !rule_ever_has_band(&at->rules[HUMIDITY]) &&
		    rule_ever_has_band(&enclosure->places[*out].rules[HUMIDITY]))
			continue;
		*out = order[i];
		found = true;
	}
	return found;
}
