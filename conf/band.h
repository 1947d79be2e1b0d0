/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The band in force at an instant, and what of a straight line between two
 * readings lies below and above it.  Pure.
 */
#ifndef WARMSIDE_CONF_BAND_H
#define WARMSIDE_CONF_BAND_H

#include "conf/daypart.h"
#include "conf/model.h"
#include "conf/season.h"

/* The band of a rule in a part of the day.  In the changeover it runs from
 * the lower of the two lower edges to the higher of the two upper edges.
 * Only for rules with a band. */
struct range band_in(const struct rule *rule, enum daypart part);

/* The rule in force at an instant; see rule_on() in season.h. */
const struct rule *rule_at(const struct rule *rule, const struct day *day,
			   struct daypart_cache *cache, double instant, struct rule *room);

/* What a straight line did against a range. */
struct share {
	double below, above;    /* s */
	double out;             /* integral of the distance outside, °C s or % s */
};

/* The line runs from value a to value b in `seconds` (> 0).  Exactly on an
 * edge is inside. */
struct share band_share(struct range range, double a, double b, double seconds);

/* How far value lies outside: negative below, positive above, 0 inside. */
double band_distance(struct range range, double value);

#endif
