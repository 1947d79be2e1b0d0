/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Likely slips; see remarks.h.
 */
#include "conf/remarks.h"

#include <stdlib.h>

#include "conf/alertlog.h"
#include "conf/computed.h"
#include "conf/layout.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/remark_season.h"
#include "conf/remark_species.h"
#include "conf/season.h"
#include "conf/words.h"

/* "T1 warm side"; the room is one place; malloc'ed. */
static char *seat_of(const struct enclosure *enclosure, enum place place)
{
	return enclosure->is_room ? must_copy("the room")
				  : must_print("%s %s", enclosure->name, place_phrase(place));
}

static void remark_probe(const struct conf *conf, size_t probe, struct faults *remarks)
{
	char *first = NULL;

	for (size_t e = 0; e < conf->enclosure_count; e++)
		for (int p = 0; p < PLACES; p++) {
			const struct enclosure *enclosure = &conf->enclosures[e];

			if (!enclosure->places[p].watched || enclosure->places[p].probe != probe)
				continue;
			char *seat = seat_of(enclosure, (enum place)p);

			if (first)
				fault_add(remarks, "", 0,
					  "probe \"%s\" sits at two places: %s, and %s; is one of "
					  "them another probe's?",
					  conf->probes[probe].name, first, seat);
			free(first);
			first = seat;
		}
	if (!first)
		fault_add(remarks, "", 0, "probe \"%s\" sits nowhere: it is asked and not kept",
			  conf->probes[probe].name);
	free(first);
}

/* No fault: the clock may be wrong instead, and a watch that does not begin is worse.  A computer
 * without a clock of its own wakes in a past in which every day is to come: before 2026, when there
 * was no such key, nothing is said. */
static void remark_calibrated(const struct probe *probe, double now, struct faults *remarks)
{
	static const double clock_is_set = 1767225600; /* 2026-01-01T00:00:00Z */
	char day[MEASURE_TEXT];

	if (probe->has_calibrated && now >= clock_is_set && probe->calibrated > now)
		fault_add(remarks, "", 0,
			  "probe \"%s\": calibrated = \"%.10s\" is a day to come; write the day on "
			  "which it was last tested in salts, or is this computer's clock wrong?",
			  probe->name, show_instant_local(probe->calibrated, day));
}

/* A band that nothing is held against must not look like one that is. */
static void remark_humidity(const struct conf *conf, const struct enclosure *enclosure,
			    enum place place, struct faults *remarks)
{
	const struct rule *rule = &enclosure->places[place].rules[HUMIDITY];

	enum place source;

	if (!enclosure->places[place].watched || !rule_ever_judges(rule) ||
	    has_series(conf, enclosure, place, HUMIDITY))
		return;
	if (computed_source(conf, enclosure, place, &source))
		fault_add(remarks, "", 0,
			  "enclosure \"%s\": the humidity of its %s is computed from that of its "
			  "%s, and judged",
			  enclosure->name, place_phrase(place), place_phrase(source));
	else
		fault_add(remarks, "", 0,
			  "enclosure \"%s\": the humidity of its %s is not judged: the probe there "
			  "gives none, and it cannot be computed from another place's",
			  enclosure->name, place_phrase(place));
}

/* Whoever waits to be told must not wait in vain. */
static void remark_misting(const struct conf *conf, const struct enclosure *enclosure,
			   struct faults *remarks)
{
	for (int p = 0; p < PLACES; p++)
		if (p != HUMID_HIDE && rule_ever_has_band(&enclosure->places[p].rules[HUMIDITY]) &&
		    has_series(conf, enclosure, (enum place)p, HUMIDITY))
			return;
	if (enclosure->misting_due > 0 && !enclosure->out_of_service)
		fault_add(remarks, "", 0,
			  "enclosure \"%s\": no misting is told as due: no probe gives a humidity "
			  "that has a band, but for that of a humid hide",
			  enclosure->name);
}

/* Nor for want of what dries the enclosures. */
static void remark_misting_room(const struct conf *conf, struct faults *remarks)
{
	bool asked = false, known = false;

	for (size_t e = 0; e < conf->enclosure_count; e++) {
		const struct enclosure *enclosure = &conf->enclosures[e];

		if (enclosure->is_room)
			known = has_series(conf, enclosure, ROOM_AIR, TEMPERATURE) &&
				has_series(conf, enclosure, ROOM_AIR, HUMIDITY);
		else
			asked |= enclosure->misting_due > 0 && !enclosure->out_of_service;
	}
	if (asked && !known)
		fault_add(remarks, "", 0, "no misting is told as due: no probe of the room gives both "
			  "temperature and humidity, and the room's air is what dries an enclosure");
}

static void remark_enclosure(const struct conf *conf, const struct enclosure *enclosure,
			     double now, struct faults *remarks)
{
	struct series series[MAX_SERIES];
	size_t count = enclosure_series(conf, enclosure, series), judged = 0;

	for (size_t s = 0; s < count; s++) {
		const struct rule *rule =
			&enclosure->places[series[s].place].rules[series[s].quantity];

		judged += rule_ever_judges(rule);
	}
	for (int p = 0; p < PLACES; p++)
		remark_humidity(conf, enclosure, (enum place)p, remarks);
	if (enclosure->is_room)
		return; /* nobody has to live in it */
	remark_misting(conf, enclosure, remarks);
	remark_seasons(conf, enclosure, now, remarks);
	remark_species(conf, enclosure, remarks);
	if (enclosure->out_of_service)
		fault_add(remarks, "", 0,
			  "enclosure \"%s\" is out of service: it is recorded, and nobody is told "
			  "of it",
			  enclosure->name);
	if (count == 0)
		fault_add(remarks, "", 0, "enclosure \"%s\" has no probe: it is not watched",
			  enclosure->name);
	else if (judged == 0)
		fault_add(remarks, "", 0,
			  "enclosure \"%s\" is drawn but never judged: no species and no band "
			  "reaches a place with a probe",
			  enclosure->name);
}

/* Silence must be good news: what no webhook is told of is said here. */
static void remark_webhooks(const struct conf *conf, struct faults *remarks)
{
	enum priority least = NOW;

	for (size_t w = 0; w < conf->webhook_count; w++) {
		bool held_back = w > 0 && conf->webhooks[w - 1].escalate > 0;

		if (!held_back && conf->webhooks[w].priority < least)
			least = conf->webhooks[w].priority;
	}
	if (conf->webhook_count == 0)
		fault_add(remarks, "", 0,
			  "there is no webhook: alerts go into the alert log and nobody is told");
	else if (least > UPKEEP)
		fault_add(remarks, "", 0,
			  "no webhook is told of alerts less urgent than %s: those go into the "
			  "alert log only",
			  priority_word(least));
}

void conf_remarks(const struct conf *conf, double now, struct faults *remarks)
{
	/* What all depends on comes first. */
	if (!conf->state)
		fault_add(remarks, "", 0,
			  "no state folder is named, and without one nothing is watched; "
			  "state = \"/var/lib/warmside\" would");
	remark_webhooks(conf, remarks);
	for (size_t p = 0; p < conf->probe_count; p++)
		remark_probe(conf, p, remarks);
	for (size_t p = 0; p < conf->probe_count; p++)
		remark_calibrated(&conf->probes[p], now, remarks);
	for (size_t e = 0; e < conf->enclosure_count; e++)
		remark_enclosure(conf, &conf->enclosures[e], now, remarks);
	remark_misting_room(conf, remarks);
}
