/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rule of one quantity at one place: what a species says, overridden
 * key by key by what an enclosure says, -> struct rule with its defaults.
 */
#ifndef WARMSIDE_CONF_RESOLVE_RULE_H
#define WARMSIDE_CONF_RESOLVE_RULE_H

#include "conf/value.h"

enum wish_key { WISH_DAY, WISH_NIGHT, WISH_LIMITS, WISH_PATIENCE, WISH_LIMITS_PATIENCE,
		WISH_DAILY, WISH_DEADBAND, WISH_ON_DELAY, WISH_OFF_DELAY, WISH_SOURCE,
		WISH_KEYS };

/* One key as written, or not written. */
struct wish {
	enum said said;
	bool own;                       /* written by whom the rule is for, not taken over */
	const char *season;             /* the season in which it is written; NULL: in none */
	const struct statement *at;     /* when GIVEN */
	struct range range;             /* day, night, limits */
	double number;                  /* durations, deadband */
	const char *text;               /* source */
};

struct wishes {
	struct wish keys[WISH_KEYS];
};

/* Reads the temperature and humidity sections of a place. */
void wishes_read(struct resolve *resolve, struct section place, struct wishes out[QUANTITIES]);

/* Those of every place that an enclosure, species or season speaks of. */
void wishes_read_places(struct resolve *resolve, struct section section,
			struct wishes out[PLACES][QUANTITIES]);

/* What comes of a species' wishes when an enclosure has its own. */
struct wishes wishes_override(const struct wishes *species, const struct wishes *own);

/* The finished rule; complains where values do not go together.  The rule
 * owns its source. */
struct rule rule_from_wishes(struct resolve *resolve, const struct wishes *wishes,
			     enum quantity quantity);

#endif
