/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Enum members to words and back; see words.h.
 */
#include "conf/words.h"

#include <string.h>

static const struct {
	const char *word, *phrase, *brief;
} places[PLACES] = {
	[HOT_SPOT] = { "hot_spot", "hot spot", "hot" },
	[WARM_SIDE] = { "warm_side", "warm side", "warm" },
	[COOL_SIDE] = { "cool_side", "cool side", "cool" },
	[HUMID_HIDE] = { "humid_hide", "humid hide", "hide" },
	[EGGS] = { "eggs", "eggs", "eggs" },
	[ROOM_AIR] = { "room", "room air", "room" },
};

static const char *const quantities[QUANTITIES] = {
	[TEMPERATURE] = "temperature",
	[HUMIDITY] = "humidity",
};

static const char *const builds[BUILDS] = {
	[TUB] = "tub",       [GLASS] = "glass",       [SCREEN] = "screen",
	[PVC] = "pvc",       [MELAMINE] = "melamine", [TABLE] = "table",
	[INCUBATOR] = "incubator",
};

const char *place_word(enum place place)
{
	return places[place].word;
}

const char *place_phrase(enum place place)
{
	return places[place].phrase;
}

const char *place_short(enum place place)
{
	return places[place].brief;
}

const char *quantity_word(enum quantity quantity)
{
	return quantities[quantity];
}

const char *build_word(enum build build)
{
	return builds[build];
}

bool place_from_word(const char *word, enum place *place)
{
	for (int i = 0; i < PLACES; i++)
		if (strcmp(word, places[i].word) == 0) {
			*place = (enum place)i;
			return true;
		}
	return false;
}

bool quantity_from_word(const char *word, enum quantity *quantity)
{
	for (int i = 0; i < QUANTITIES; i++)
		if (strcmp(word, quantities[i]) == 0) {
			*quantity = (enum quantity)i;
			return true;
		}
	return false;
}

const char *complaint_phrase(enum quantity quantity, bool below, bool limits)
{
	if (quantity == HUMIDITY)
		return below ? (limits ? "dangerously dry" : "too dry")
			     : (limits ? "dangerously damp" : "too damp");
	return below ? (limits ? "dangerously cold" : "too cold")
		     : (limits ? "dangerously hot" : "too hot");
}

bool has_series(const struct conf *conf, const struct enclosure *enclosure,
		enum place place, enum quantity quantity)
{
	const struct place_conf *at = &enclosure->places[place];

	return at->watched && conf->probes[at->probe].gives[quantity];
}

size_t enclosures_proper(const struct conf *conf)
{
	size_t count = conf->enclosure_count; /* the room comes last */

	return count > 0 && conf->enclosures[count - 1].is_room ? count - 1 : count;
}

const struct enclosure *find_enclosure(const struct conf *conf, const char *name)
{
	for (size_t i = 0; i < conf->enclosure_count; i++)
		if (strcmp(conf->enclosures[i].name, name) == 0)
			return &conf->enclosures[i];
	return NULL;
}
