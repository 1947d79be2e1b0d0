/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A small configuration made by hand; see world.h.
 */
#include "tests/world.h"

#include <string.h>

static char bus_name[] = "board", probe_a[] = "a", probe_r[] = "r", snake[] = "example snake",
	    t3[] = "T3", third[] = "Third tub", room[] = "room", phone[] = "phone",
	    nowhere[] = "http://127.0.0.1:9/";

static void place_probe(struct enclosure *enclosure, enum place place, size_t probe)
{
	enclosure->places[place].watched = true;
	enclosure->places[place].probe = probe;
}

void world_make(struct world *w)
{
	const struct rule damp = {
		.has_band = true, .day = { 45, 60 }, .night = { 45, 65 },
		.has_limits = true, .limits = { 25, 85 },
		.patience = 3600, .limits_patience = 7200, .deadband = 3, .off_delay = 300,
	};
	const struct rule warm = {
		.has_band = true, .day = { 24, 28 }, .night = { 21, 26 },
		.has_limits = true, .limits = { 15, 36 },
		.patience = 3600, .limits_patience = 7200, .deadband = 0.5, .off_delay = 300,
	};

	memset(w, 0, sizeof *w);
	w->bus = (struct bus){ .name = bus_name, .speaks = SPEAKS_LINES, .every = 60 };
	w->probes[0] = (struct probe){ .name = probe_a, .gives = { true, true },
				       .correction = { { 0, 1 }, { 0, 1 } } };
	w->probes[1] = w->probes[0];
	w->probes[1].name = probe_r;
	w->species = (struct species){ .name = snake };
	w->enclosures[0] = (struct enclosure){ .name = t3, .label = third,
					       .species = &w->species, .build = TUB,
					       .has_build = true };
	place_probe(&w->enclosures[0], COOL_SIDE, 0);
	w->enclosures[0].places[COOL_SIDE].rules[HUMIDITY] = damp;
	w->enclosures[0].places[COOL_SIDE].rules[TEMPERATURE] = warm;
	w->enclosures[1] = (struct enclosure){ .name = room, .label = room, .is_room = true };
	place_probe(&w->enclosures[1], ROOM_AIR, 1);
	w->webhook = (struct webhook){ .name = phone, .endpoint = nowhere };
	w->conf = (struct conf){
		.day = { 8 * 3600, 20 * 3600, 5400 },
		.archive = { 10 * 86400.0, 90 * 86400.0, 1095 * 86400.0 },
		.buses = &w->bus, .bus_count = 1,
		.probes = w->probes, .probe_count = 2,
		.species = &w->species, .species_count = 1,
		.enclosures = w->enclosures, .enclosure_count = 2,
		.webhooks = &w->webhook, .webhook_count = 1,
	};
}
