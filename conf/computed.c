/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where a humidity is computed; see computed.h.
 */
#include "conf/computed.h"

#include "conf/season.h"
#include "conf/words.h"

/* The places that share one air, the best source first. */
static const enum place sharing[] = { COOL_SIDE, WARM_SIDE, HOT_SPOT };

enum { SHARING = sizeof sharing / sizeof *sharing };

static bool shares_air(enum place place)
{
	for (size_t i = 0; i < SHARING; i++)
		if (sharing[i] == place)
			return true;
	return false;
}

bool computed_source(const struct conf *conf, const struct enclosure *enclosure, enum place place,
		     enum place *source)
{
	if (!shares_air(place) || !has_series(conf, enclosure, place, TEMPERATURE) ||
	    has_series(conf, enclosure, place, HUMIDITY))
		return false;
	for (size_t i = 0; i < SHARING; i++)
		if (has_series(conf, enclosure, sharing[i], TEMPERATURE) &&
		    has_series(conf, enclosure, sharing[i], HUMIDITY)) {
			*source = sharing[i];
			return true;
		}
	return false;
}

bool computed_is_wanted(const struct conf *conf, const struct enclosure *enclosure,
			enum place place)
{
	const struct rule *rule = &enclosure->places[place].rules[HUMIDITY];
	enum place source;

	return rule_ever_judges(rule) &&
	       computed_source(conf, enclosure, place, &source);
}
