/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rule in force on a keeper's day.  A keeper's day lasts from one change
 * to day to the next and bears the local date on which it begins, so that a
 * band never moves at midnight.  Dates are days since 1970-01-01.  Pure.
 *
 * A season comes and goes by its weight: 0 the ordinary rule, 1 the season's.
 * Edges of band and limits lie between the two in that proportion, so both
 * being valid, all between are.  A band, or limits, that the place does not
 * have else come whole: with any weight where it has neither, else with the
 * full one.  What is no edge is the season's as soon as it has any weight.
 */
#ifndef WARMSIDE_CONF_SEASON_H
#define WARMSIDE_CONF_SEASON_H

#include "conf/model.h"

/* The number of a civil date.  Days past the end of their month are those of
 * the next: 02-29 is 03-01 in a year without it.  Month 1..12. */
int civil_day(int year, int month, int day);

/* The year in which a day lies. */
int civil_year(int date);

/* The first and the last date (the day it is over) of a YEARLY season that
 * begins in that year. */
void season_of_year(const struct season_dates *dates, int year, int *from, int *to);

/* 0..1.  With a ramp of n days it is 0 on the first date, 1/n a day later, and
 * 1/n on the day before the last. */
double season_weight(const struct season_dates *dates, int date);

/* The rule in force: the rule itself when nothing ever changes it, else `room`,
 * filled; its texts belong to the configuration. */
const struct rule *rule_on(const struct rule *rule, int date, struct rule *room);

/* Whether a day band lies lower by more than a cool spell does: a rest.  Of one that
 * there is only in the season, whether all of it is cold.  For temperatures. */
bool rule_rests(const struct rule *ordinary, const struct rule *now);

/* Whether the warm or the cool side rests so in that season, over the ordinary rules of
 * its enclosure or species.  (A lamp that is dark makes no rest.) */
bool season_rests(const struct season *season, const struct rule *ordinary[PLACES]);

/* Whether they do on that keeper's day. */
bool enclosure_rests(const struct enclosure *enclosure, int date);

/* The season that has moved band or limits there on that keeper's day, of several the
 * last; NULL: none has. */
const struct season *season_moving(const struct enclosure *enclosure, enum place place,
				   enum quantity quantity, int date);

/* True when it has a band, or limits, on any day of any year. */
bool rule_ever_judges(const struct rule *rule);
bool rule_ever_has_band(const struct rule *rule);

/* Whether a rule, or any of the configuration, changes with the beginning of that
 * day: a step of a ramp, a beginning or an end. */
bool rule_steps(const struct rule *rule, int date);
bool seasons_step(const struct conf *conf, int date);

#endif
