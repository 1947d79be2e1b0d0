/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Mistings that will be due: a reminder before it is too dry; see flow.h and
 * flow_tell.h.
 */
#include <math.h>
#include <string.h>

#include "daemon/flow_tell.h"

enum { SURE = 3 }; /* looks in a row that must agree before what stands changes */

static const double EVERY = 600;           /* s between two looks at an enclosure */
static const double LAW_LASTS = 14 * 86400.0; /* s: what is older says nothing of today */
static const double RECEDES = 2 * 3600.0;  /* s later than told: it was wrong, or is not so any more */
static const double EVENING = 3600;        /* s before quiet hours: what they would hold is told */

/* ---- what is known ----------------------------------------------------------- */

/* A hide is misted by itself, and its air is not the enclosure's. */
static const struct drying_record *record_for(const struct live_enclosure *enclosure,
					      const struct drying_record *records, size_t count)
{
	for (size_t i = 0; i < count; i++)
		if (strcmp(records[i].enclosure, enclosure->conf->name) == 0)
			return records[i].has_law && records[i].place != HUMID_HIDE ? &records[i]
										    : NULL;
	return NULL;
}

/* What was heard at another place, or told of it, says nothing of this one. */
static void follow_air(struct flow *flow, struct live_enclosure *enclosure, bool followed,
		       enum place place)
{
	struct live_due *due = enclosure->due;

	if (!followed || !due->followed || due->place != place)
		due->air = (struct due_air){ 0 };
	if (followed && due->place != place) {
		due->looks = 0;
		tell_due_over(flow, enclosure);
	}
	due->followed = followed;
	if (followed)
		due->place = place;
}

void flow_laws(struct flow *flow, const struct drying_record *records, size_t count)
{
	for (size_t e = 0; e < flow->conf->enclosure_count; e++) {
		struct live_enclosure *enclosure = &flow->enclosures[e];
		struct live_due *due = enclosure->due;
		const struct drying_record *record = record_for(enclosure, records, count);

		if (enclosure->conf->is_room) {
			follow_air(flow, enclosure, count > 0, ROOM_AIR);
			continue;
		}
		bool has_law = record && enclosure->conf->misting_due > 0;

		if (!has_law && !due->has_law && !due->followed)
			continue; /* nothing is written where nothing changes: see live.h */
		due->has_law = has_law;
		if (due->has_law) {
			due->record = *record;
			due->record.list = NULL;
			due->record.count = 0;
		}
		follow_air(flow, enclosure, due->has_law,
			   due->has_law ? record->place : due->place);
	}
}

static const struct live_series *series_at(const struct live_enclosure *enclosure,
					   enum place place, enum quantity quantity)
{
	for (size_t s = 0; s < enclosure->count; s++)
		if (enclosure->series[s].key.place == place &&
		    enclosure->series[s].key.quantity == quantity &&
		    !enclosure->series[s].key.computed)
			return &enclosure->series[s];
	return NULL;
}

const struct live_series *due_series(const struct live_enclosure *enclosure)
{
	return series_at(enclosure, enclosure->due->place, HUMIDITY);
}

bool due_has_law(const struct flow *flow, const struct live_enclosure *enclosure)
{
	return enclosure->due->has_law && flow->now - enclosure->due->record.to <= LAW_LASTS;
}

/* NULL where no probe of it gives both quantities. */
static const struct live_enclosure *measured_room(const struct flow *flow)
{
	for (size_t e = 0; e < flow->conf->enclosure_count; e++) {
		const struct live_enclosure *room = &flow->enclosures[e];

		if (room->conf->is_room && series_at(room, ROOM_AIR, TEMPERATURE) &&
		    series_at(room, ROOM_AIR, HUMIDITY))
			return room;
	}
	return NULL;
}

/* Whether what is heard at a place is no air to reckon with. */
static bool is_doubted(const struct flow *flow, const struct live_enclosure *enclosure,
		       enum place place)
{
	return flow->probes[enclosure->conf->places[place].probe].frozen ||
	       enclosure->places[place].silence.stands;
}

/* ---- what is told of it ------------------------------------------------------ */

/* Quiet hours are a "day" of their own. */
static bool is_quiet(const struct flow *flow, double time)
{
	return flow->conf->has_quiet && daypart_at(&flow->conf->quiet, time).part == DAY;
}

/* What is raised now goes when others had their time to join it. */
static bool may_tell(const struct flow *flow)
{
	return !is_quiet(flow, flow->now) && !is_quiet(flow, flow->now + flow->conf->gather);
}

/* How long before it is too dry it is told, s: what would be told in quiet hours, in which
 * nobody is, in the hour before them. */
static double lead_of(const struct flow *flow, const struct live_enclosure *enclosure)
{
	double lead = enclosure->conf->misting_due;

	if (!flow->conf->has_quiet || is_quiet(flow, flow->now))
		return lead;
	double begin = daypart_at(&flow->conf->quiet, flow->now).until;

	if (begin - flow->now > EVENING)
		return lead;
	return daypart_at(&flow->conf->quiet, begin).until + lead - flow->now;
}

static struct due foretell(struct flow *flow, const struct live_enclosure *enclosure,
			   const struct live_series *series, double horizon)
{
	const struct live_enclosure *room = measured_room(flow);
	const struct due_question question = {
		.record = &enclosure->due->record,
		.air = &enclosure->due->air,
		.room = room ? &room->due->air : NULL,
		.rule = series->rule,
		.day = &flow->conf->day,
		.now = flow->now,
	};

	if (is_doubted(flow, enclosure, series->key.place) ||
	    (room && is_doubted(flow, room, ROOM_AIR)))
		return (struct due){ .answer = DUE_UNTOLD };
	return due_foretell(&question, &flow->cache, horizon);
}

/* Whether what was told is still to come, or nobody can say otherwise before it was to be. */
static bool still_comes(const struct flow *flow, const struct live_enclosure *enclosure,
			const struct due *due)
{
	const struct live_due *live = enclosure->due;
	double until = fmax(live->at, flow->now + enclosure->conf->misting_due) + RECEDES;

	return due->answer == DUE_UNTOLD ? flow->now < live->at
					 : due->answer == DUE_THEN && due->at <= until;
}

/* A message a day is a reminder; more would be a nuisance. */
static bool was_told_lately(const struct live_due *due, double now)
{
	return due->alert.raises[0] != 0 && now - due->alert.raises[0] < DUE_APART;
}

/* Below its band, by the mean of half an hour: one reading of a poor probe is not enough. */
static bool is_too_dry(struct flow *flow, const struct live_enclosure *enclosure,
		       const struct live_series *series)
{
	const struct due_air *air = &enclosure->due->air;
	struct range band;

	if (series->alert.stands && series->alert.side == BELOW)
		return true;
	return due_is_heard(air, flow->now) && flow_band(flow, series, flow->now, &band) &&
	       due_humidity(air) < band.low;
}

static bool was_misted(const struct live_due *due)
{
	return due->air.rose && due->air.rose_at > due->alert.since;
}

static struct due look(struct flow *flow, const struct live_enclosure *enclosure,
		       const struct live_series *series, double lead)
{
	const struct live_due *live = enclosure->due;
	double horizon = fmax(enclosure->conf->misting_due, lead);

	if (!due_has_law(flow, enclosure) || !series || !rule_ever_has_band(series->rule))
		return (struct due){ .answer = DUE_UNTOLD };
	if (live->alert.stands)
		horizon = fmax(horizon, live->at - flow->now) + RECEDES;
	return foretell(flow, enclosure, series, horizon);
}

static void mind(struct flow *flow, struct live_enclosure *enclosure)
{
	struct live_due *live = enclosure->due;
	const struct live_series *series = due_series(enclosure);
	const struct slot slot = due_slot(enclosure);
	double lead = lead_of(flow, enclosure);
	struct due due = look(flow, enclosure, series, lead);
	bool stood = live->alert.stands;
	/* Once it is too dry that is its own matter, with its own patience. */
	bool over = (series && is_too_dry(flow, enclosure, series)) ||
		    (stood && was_misted(live));
	/* What is as good as there is the band's own matter too. */
	bool comes = !over && due.answer == DUE_THEN && due.at <= flow->now + lead &&
		     due.at > flow->now + EVERY;
	bool differs = stood ? !still_comes(flow, enclosure, &due) : comes;

	live->looks = differs ? live->looks + 1 : 0;
	bool sure = live->looks >= SURE &&
		    (stood || (may_tell(flow) && !was_told_lately(live, flow->now)));

	if (!stood && sure) {
		live->at = due.at;
		live->edge = due.edge;
	}
	struct wanted wanted = wanted_of_misting(!stood && sure, !over && stood != sure,
						 flow->now);

	tell_slot(flow, &slot, &wanted);
	if (live->alert.stands != stood)
		live->looks = 0;
}

void due_tick(struct flow *flow)
{
	for (size_t e = 0; e < flow->conf->enclosure_count; e++) {
		struct live_enclosure *enclosure = &flow->enclosures[e];

		if (enclosure->conf->misting_due <= 0 || flow->now < enclosure->due->next)
			continue;
		enclosure->due->next = flow->now + EVERY;
		mind(flow, enclosure);
	}
}
