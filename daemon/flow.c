/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The whole way of a reading; see flow.h.  From top to bottom: a reading's
 * life, what passing time does, how things stand.
 */
#include "daemon/flow.h"

#include <math.h>

#include "conf/range.h"
#include "daemon/flow_tell.h"

enum {
	SILENT_AFTER = 600,     /* s without a valid reading, or ... */
	SILENT_POLLS = 3,       /* ... this many polls, when that is longer */
};

double silent_after(double every)
{
	return fmax(SILENT_AFTER, SILENT_POLLS * every);
}

const struct rule *flow_rule(struct flow *flow, const struct live_series *series, double time,
			     struct rule *room)
{
	return rule_at(series->rule, &flow->conf->day, &flow->cache, time, room);
}

bool flow_band(struct flow *flow, const struct live_series *series, double time,
	       struct range *band)
{
	struct rule room;
	const struct rule *rule = flow_rule(flow, series, time, &room);

	if (!rule->has_band)
		return false;
	*band = band_in(rule, cached_daypart(&flow->cache, &flow->conf->day, time).part);
	return true;
}

/* ---- a reading's life --------------------------------------------------- */

/* The difference wanted in a season is never more than that between the middles of the
 * bands it makes of both sides: at rest in the cold there is none. */
static void season_gradient(struct flow *flow, struct live_enclosure *enclosure,
			    const struct live_series *warm, const struct live_series *cool,
			    double time)
{
	struct rule rooms[2];
	const struct rule *warm_now = flow_rule(flow, warm, time, &rooms[0]);
	const struct rule *cool_now = flow_rule(flow, cool, time, &rooms[1]);
	struct rule *rule = &enclosure->gradient->rule;
	double moved = range_middle(warm_now->day) - range_middle(warm->rule->day) -
		       (range_middle(cool_now->day) - range_middle(cool->rule->day));

	*rule = gradient_rule(enclosure->conf, warm_now);
	if (warm->rule->has_band && cool->rule->has_band && moved < 0)
		rule->day.low = fmin(rule->day.low, range_middle(warm_now->day) - range_middle(cool_now->day));
	if (rule->day.low <= 0)
		rule->day.low = -INFINITY;
}

/* The difference between warm and cool side, whenever one of both is read. */
static void judge_gradient(struct flow *flow, struct live_enclosure *enclosure, double time)
{
	struct live_gradient *gradient = enclosure->gradient;
	const struct live_series *warm = NULL, *cool = NULL;

	for (size_t s = 0; s < enclosure->count; s++) {
		const struct live_series *series = &enclosure->series[s];

		if (series->key.quantity != TEMPERATURE || !series->judged.has_last ||
		    is_silent(flow, series))
			continue;
		if (series->key.place == WARM_SIDE)
			warm = series;
		else if (series->key.place == COOL_SIDE)
			cool = series;
	}
	if (!warm || !cool)
		return; /* nobody knows: neither lost nor there */
	/* At night nothing is wanted, and so nothing is back either. */
	if (cached_daypart(&flow->cache, &flow->conf->day, time).part != DAY)
		return;
	if (warm->rule->season_count > 0 || cool->rule->season_count > 0)
		season_gradient(flow, enclosure, warm, cool, time);
	judge_reading(&gradient->judged, TEMPERATURE, &gradient->rule, &flow->conf->day,
		      &flow->cache, silent_after(fmax(warm->every, cool->every)), 0,
		      (struct sample){ time, warm->judged.last.value - cool->judged.last.value });
	struct wanted wanted = wanted_of_gradient(&gradient->judged);
	const struct slot slot = gradient_slot(enclosure);

	tell_slot(flow, &slot, &wanted);
}

/* A value that counts, at one place that it concerns.  Of what is only shown there
 * are no minutes. */
static void series_take(struct flow *flow, struct live_enclosure *enclosure, size_t index,
			struct sample sample)
{
	struct live_series *series = &enclosure->series[index];

	minutes_take(enclosure->minutes, index, sample.time, sample.value);
	if (flow->sink.sample && index < enclosure->count)
		flow->sink.sample(flow->sink.context, (size_t)(enclosure - flow->enclosures),
				  series->key, sample);
	/* Whoever is not silent is watched: readings too far apart for the archive
	 * to say what was between them still count for the alert. */
	judge_reading(&series->judged, series->key.quantity, series->rule, &flow->conf->day,
		      &flow->cache, silent_after(series->every),
		      series->key.place == HOT_SPOT ? 0 : longest_line(series->every), sample);
	tell_series(flow, enclosure, series);
	if (enclosure->due->followed && series->key.place == enclosure->due->place)
		due_take(&enclosure->due->air, series->key.quantity, sample);
	if (enclosure->conf->gradient.present && series->key.quantity == TEMPERATURE)
		judge_gradient(flow, enclosure, sample.time);
}

/* What a probe gave reaches a series that it feeds. */
static void feed_series(struct flow *flow, const struct live_user *user,
			const struct passed *passed, double heard)
{
	struct live_enclosure *enclosure = &flow->enclosures[user->enclosure];
	struct live_series *series = &enclosure->series[user->series];
	struct passed computed;

	if (series->key.computed) {
		computed = flow_compute(flow, series, passed);
		if (computed.count == 0)
			return;
		passed = &computed;
	}
	if (heard - series->heard > longest_line(series->every))
		series->speaking = heard;
	series->heard = fmax(series->heard, heard);
	for (size_t i = 0; i < passed->count; i++)
		series_take(flow, enclosure, user->series, passed->samples[i]);
}

/* A value of a probe reaches every place the probe sits at. */
static void spread(struct flow *flow, size_t probe, enum quantity quantity, double every,
		   const struct passed *passed, double heard)
{
	struct live_probe *live = &flow->probes[probe];

	for (size_t i = 0; i < passed->count; i++)
		coverage_take(&live->coverage[quantity], longest_line(every), silent_after(every),
			      passed->samples[i].time);
	live->gates[quantity].patchy = !coverage_is_good(&live->coverage[quantity]);

	for (size_t u = 0; u < live->user_count; u++) {
		const struct live_user *user = &flow->users[live->first_user + u];

		if (flow->enclosures[user->enclosure].series[user->series].fed == quantity)
			feed_series(flow, user, passed, heard);
	}
}

/* From here on is noted what comes in place of its next reading. */
static void note_good(const struct flow *flow, size_t probe, double time)
{
	struct live_probe *live = &flow->probes[probe];

	live->has_good = true;
	live->good = time;
	live->missed = live->strays = (struct misses){ 0 };
}

void flow_reading(struct flow *flow, const struct reading *reading)
{
	const struct probe *probe = &flow->conf->probes[reading->probe];
	struct live_probe *live = &flow->probes[reading->probe];
	double every = flow->conf->buses[probe->bus].every;

	flow->now = fmax(flow->now, reading->time);
	live->counters.read++;
	live->last = *reading;
	live->has_last = true;
	live->frozen = repeat_take(&live->repeat, reading);
	bool counts = false;

	for (int q = 0; q < QUANTITIES; q++) {
		if (!reading->has[q])
			continue;
		struct passed passed =
			gate_take(&live->gates[q], (enum quantity)q, &probe->correction[q], every,
				  (struct sample){ reading->time, reading->value[q] });

		if (passed.failed)
			flow_failed(flow, probe->bus, reading->probe, passed.cause);
		counts |= passed.count > 0;
		/* Only what counts is heard: a probe that gives nothing else is silent. */
		spread(flow, reading->probe, (enum quantity)q, every, &passed,
		       passed.count > 0 ? reading->time : -INFINITY);
	}
	if (counts)
		note_good(flow, reading->probe, reading->time);
}

/* ---- what passing time does --------------------------------------------- */

void flow_release(struct flow *flow)
{
	for (size_t p = 0; p < flow->conf->probe_count; p++)
		for (int q = 0; q < QUANTITIES; q++) {
			double every = flow->conf->buses[flow->conf->probes[p].bus].every;
			struct passed passed =
				gate_release(&flow->probes[p].gates[q], every, flow->now);

			if (passed.count)
				spread(flow, p, (enum quantity)q, every, &passed, -INFINITY);
		}
}

bool is_silent(const struct flow *flow, const struct live_series *series)
{
	return flow->now - series->heard >= silent_after(series->every);
}

/* How a place is heard. */
struct hearing {
	bool here;              /* a probe sits there */
	bool silent;            /* one of its series is silent ... */
	bool patchy;            /* ... or answers only now and then ... */
	bool wild;              /* ... or gives values that cannot be */
	double since;           /* ... since then */
	bool steady;            /* all are well known again */
	double speaking;        /* since when all are heard */
	size_t probe;
};

static struct hearing hear(const struct flow *flow, const struct live_enclosure *enclosure,
			   enum place place)
{
	struct hearing hearing = { .steady = true, .since = INFINITY, .speaking = -INFINITY };

	for (size_t s = 0; s < enclosure->count; s++) {
		const struct live_series *series = &enclosure->series[s];
		const struct coverage *coverage =
			&flow->probes[series->probe].coverage[series->key.quantity];

		if (series->key.place != place || series->key.computed)
			continue;
		hearing.here = true;
		hearing.probe = series->probe;
		if (is_silent(flow, series)) {
			hearing.silent = true;
			hearing.since = fmin(hearing.since, series->heard);
		} else if (coverage_is_patchy(coverage)) {
			hearing.patchy = true;
			hearing.since = fmin(hearing.since, coverage->good);
		}
		hearing.wild |= flow->probes[series->probe].gates[series->key.quantity].doubt >=
				DOUBTFUL;
		hearing.steady &= enclosure->places[place].patchy ? coverage_is_good(coverage)
								  : coverage_is_steady(coverage);
		hearing.speaking = fmax(hearing.speaking, series->speaking);
	}
	return hearing;
}

bool is_patchy(const struct flow *flow, const struct live_enclosure *enclosure,
	       enum place place)
{
	const struct hearing hearing = hear(flow, enclosure, place);

	return hearing.patchy && !hearing.silent;
}

static void mind_silence(struct flow *flow, struct slot *slot, const struct hearing *hearing,
			 bool whole)
{
	struct alert *alert = &slot->enclosure->places[slot->place].silence;
	bool due = hearing->silent || hearing->patchy;
	/* On its way back it is as grave as it was. */
	bool grave = due ? whole : alert->priority == NOW;

	if (!due && !alert->stands)
		return;
	struct wanted wanted =
		wanted_of_silence(due, hearing->here && (due || !hearing->steady), grave,
				  hearing->since, hearing->here ? hearing->speaking : flow->now);

	slot->kind = SLOT_SILENCE;
	slot->alert = alert;
	slot->enclosure->places[slot->place].patchy |= hearing->patchy || hearing->wild;
	tell_slot(flow, slot, &wanted);
	slot->enclosure->places[slot->place].patchy &= alert->stands;
}

static void mind_place(struct flow *flow, struct live_enclosure *enclosure, enum place place,
		       bool whole)
{
	struct live_place *at = &enclosure->places[place];
	const struct hearing hearing = hear(flow, enclosure, place);
	bool frozen = hearing.here && flow->probes[hearing.probe].frozen;
	struct slot slot = { .enclosure = enclosure, .place = place };

	mind_silence(flow, &slot, &hearing, whole);
	if (frozen || at->frozen.stands) {
		struct wanted wanted = wanted_of_upkeep(
			frozen, FROZEN, flow->probes[hearing.probe].repeat.since, flow->now);

		slot.kind = SLOT_FROZEN;
		slot.alert = &at->frozen;
		tell_slot(flow, &slot, &wanted);
	}
}

/* Whether anything is to be said of an enclosure's probes, or has been: so it is
 * with hardly any at hardly any time.  What is computed is no probe's. */
static bool probes_matter(const struct flow *flow, const struct live_enclosure *enclosure,
			  bool *whole)
{
	bool matter = false;
	size_t silent = 0, measured = 0;

	for (size_t s = 0; s < enclosure->count; s++) {
		const struct live_series *series = &enclosure->series[s];
		const struct live_probe *probe = &flow->probes[series->probe];
		const struct live_place *at = &enclosure->places[series->key.place];

		if (series->key.computed)
			continue;
		measured++;
		silent += is_silent(flow, series);
		matter |= probe->frozen || at->silence.stands || at->frozen.stands ||
			  coverage_is_patchy(&probe->coverage[series->key.quantity]);
	}
	*whole = silent == measured;
	return matter || silent > 0;
}

static void mind_places(struct flow *flow, struct live_enclosure *enclosure)
{
	bool whole;

	if (!probes_matter(flow, enclosure, &whole))
		return;
	for (int p = 0; p < PLACES; p++)
		mind_place(flow, enclosure, (enum place)p, whole);
}

void hand_minute(void *context, const struct closed_minute *minute)
{
	struct minute_for *to = context;

	to->flow->sink.minute(to->flow->sink.context, to->enclosure, minute);
}

void flow_tick(struct flow *flow, double now)
{
	flow->now = fmax(flow->now, now);
	flow_release(flow);
	for (size_t e = 0; e < flow->conf->enclosure_count; e++) {
		struct minute_for to = { flow, e };

		mind_places(flow, &flow->enclosures[e]);
		minutes_close(flow->enclosures[e].minutes, flow->now, hand_minute, &to);
	}
	due_tick(flow);
	stand_tick(flow);
	matters_tick(flow);
}

/* ---- how things stand ---------------------------------------------------- */

/* A computed value is no fresher than the older of the two it is made of. */
static bool is_frozen(const struct flow *flow, const struct live_series *series)
{
	return flow->probes[series->probe].frozen ||
	       (series->key.computed && flow->probes[series->source_probe].frozen);
}

const char *flow_state(struct flow *flow, const struct live_series *series)
{
	static const char *const words[] = {
		[UNJUDGED] = NULL, [IN_BAND] = "in band", [STRAYING] = "straying",
		[UNSAFE] = "unsafe",
	};

	if (is_silent(flow, series))
		return "silent";
	if (!series->judged.has_last)
		return NULL;
	enum standing standing = judge_value(series->rule, &flow->conf->day, &flow->cache,
					     series->judged.last);

	if (is_frozen(flow, series) && standing != UNSAFE && standing != STRAYING)
		return "frozen";
	return words[standing];
}
