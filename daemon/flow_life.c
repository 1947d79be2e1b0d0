/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Birth, reload and end of the flow; see flow.h.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/computed.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "daemon/flow_tell.h"
#include "daemon/unshared.h"

/* By day the difference is wanted, at night and in between any will do.  It has
 * the patience of the warm side. */
struct rule gradient_rule(const struct enclosure *enclosure, const struct rule *warm)
{
	return (struct rule){
		.has_band = true,
		.day = { enclosure->gradient.least, INFINITY },
		.night = { -INFINITY, INFINITY },
		.patience = warm->patience,
		.deadband = warm->deadband,
		.on_delay = warm->on_delay,
		.off_delay = warm->off_delay,
	};
}

/* A computed series has no probe of its own: see live.h. */
static struct live_series series_begin(const struct flow *flow, const struct enclosure *enclosure,
				       struct series key)
{
	const struct conf *conf = flow->conf;
	const struct place_conf *place = &enclosure->places[key.place];
	struct live_series series = {
		.key = key,
		.rule = &place->rules[key.quantity],
		.probe = place->probe,
		.fed = key.computed ? TEMPERATURE : key.quantity,
		.every = conf->buses[conf->probes[place->probe].bus].every,
		.heard = flow->now,
		.speaking = flow->now,
	};

	if (key.computed && computed_source(conf, enclosure, key.place, &series.source))
		series.source_probe = enclosure->places[series.source].probe;
	return series;
}

/* What is archived, and behind it what is only shown; returns how many in all. */
static size_t keys_of(const struct conf *conf, const struct enclosure *enclosure,
		      struct series keys[MAX_SERIES], size_t *archived)
{
	size_t count = *archived = enclosure_series(conf, enclosure, keys);
	enum place source;

	for (int p = 0; p < PLACES; p++)
		if (computed_source(conf, enclosure, (enum place)p, &source) &&
		    !computed_is_wanted(conf, enclosure, (enum place)p))
			keys[count++] = (struct series){ (enum place)p, HUMIDITY, true };
	return count;
}

static void enclosure_begin(struct flow *flow, size_t index, struct live_series *series)
{
	const struct conf *conf = flow->conf;
	struct live_enclosure *live = &flow->enclosures[index];
	struct series keys[MAX_SERIES];

	live->conf = &conf->enclosures[index];
	live->series = series;
	live->places = flow->seldom[index].places;
	live->gradient = &flow->seldom[index].gradient;
	live->due = &flow->seldom[index].due;
	live->shown = keys_of(conf, live->conf, keys, &live->count);
	for (size_t s = 0; s < live->shown; s++)
		live->series[s] = series_begin(flow, live->conf, keys[s]);
	if (live->conf->gradient.present)
		live->gradient->rule = gradient_rule(
			live->conf, &live->conf->places[WARM_SIDE].rules[TEMPERATURE]);
	live->minutes = minutes_new(conf, live->conf);
}

void flow_resume(struct flow *flow, const char *enclosure, struct series series,
		 struct sample sample)
{
	struct live_enclosure *live = flow_enclosure(flow, enclosure);

	for (size_t s = 0; live && sample.time <= flow->now && s < live->count; s++)
		if (live->series[s].key.place == series.place &&
		    live->series[s].key.quantity == series.quantity)
			minutes_take(live->minutes, s, sample.time, sample.value);
}

/* Lists, probe by probe, the series that read it. */
static void index_users(struct flow *flow)
{
	size_t used = 0;

	flow->users = must_calloc(flow->series_count, sizeof *flow->users);
	for (size_t e = 0; e < flow->conf->enclosure_count; e++)
		for (size_t s = 0; s < flow->enclosures[e].shown; s++)
			flow->probes[flow->enclosures[e].series[s].probe].user_count++;
	for (size_t p = 0; p < flow->conf->probe_count; p++) {
		flow->probes[p].first_user = used;
		used += flow->probes[p].user_count;
		flow->probes[p].user_count = 0;
	}
	for (size_t e = 0; e < flow->conf->enclosure_count; e++)
		for (size_t s = 0; s < flow->enclosures[e].shown; s++) {
			struct live_probe *probe =
				&flow->probes[flow->enclosures[e].series[s].probe];

			flow->users[probe->first_user + probe->user_count++] =
				(struct live_user){ e, s };
		}
}

static void begin_enclosures(struct flow *flow)
{
	const struct conf *conf = flow->conf;
	struct series keys[MAX_SERIES];
	struct live_series *series;
	size_t archived;

	flow->enclosures = unshared_calloc(conf->enclosure_count, sizeof *flow->enclosures);
	flow->seldom = unshared_calloc(conf->enclosure_count, sizeof *flow->seldom);
	flow->series_count = 0;
	for (size_t e = 0; e < conf->enclosure_count; e++)
		flow->series_count += keys_of(conf, &conf->enclosures[e], keys, &archived);
	series = flow->series = unshared_calloc(flow->series_count, sizeof *flow->series);
	for (size_t e = 0; e < conf->enclosure_count; e++) {
		enclosure_begin(flow, e, series);
		series += flow->enclosures[e].shown;
	}
}

static void begin(struct flow *flow, const struct conf *conf)
{
	flow->conf = conf;
	flow->standing = true; /* until a look shows otherwise */
	flow->cache = (struct daypart_cache){ 0 };
	flow->buses = must_calloc(conf->bus_count, sizeof *flow->buses);
	flow->ports = must_calloc(conf->bus_count, sizeof *flow->ports);
	flow->probes = unshared_calloc(conf->probe_count, sizeof *flow->probes);
	flow->webhooks = must_calloc(conf->webhook_count, sizeof *flow->webhooks);
	for (size_t p = 0; p < conf->probe_count; p++) {
		flow->probes[p].good = flow->now;
		for (int q = 0; q < QUANTITIES; q++)
			coverage_begin(&flow->probes[p].coverage[q], flow->now);
	}
	begin_enclosures(flow);
	index_users(flow);
}

struct flow *flow_new(const struct conf *conf, const struct flow_sink *sink, double now)
{
	struct flow *flow = must_calloc(1, sizeof *flow);

	flow->sink = *sink;
	flow->now = flow->tested = now;
	begin(flow, conf);
	return flow;
}

struct live_enclosure *flow_enclosure(struct flow *flow, const char *name)
{
	for (size_t e = 0; e < flow->conf->enclosure_count; e++)
		if (strcmp(flow->enclosures[e].conf->name, name) == 0)
			return &flow->enclosures[e];
	return NULL;
}

static void drop(struct flow *flow)
{
	for (size_t b = 0; b < flow->conf->bus_count; b++)
		free(flow->ports[b].closed);
	free(flow->ports);
	for (size_t e = 0; e < flow->conf->enclosure_count; e++) {
		struct live_enclosure *enclosure = &flow->enclosures[e];

		minutes_free(enclosure->minutes);
		for (size_t s = 0; s < enclosure->shown; s++)
			judged_free(&enclosure->series[s].judged);
		judged_free(&enclosure->gradient->judged);
	}
	unshared_free(flow->enclosures, flow->conf->enclosure_count, sizeof *flow->enclosures);
	unshared_free(flow->seldom, flow->conf->enclosure_count, sizeof *flow->seldom);
	unshared_free(flow->series, flow->series_count, sizeof *flow->series);
	unshared_free(flow->probes, flow->conf->probe_count, sizeof *flow->probes);
	free(flow->buses);
	free(flow->users);
	free(flow->webhooks);
}

void flow_free(struct flow *flow)
{
	if (!flow)
		return;
	drop(flow);
	free(flow);
}

static void finish_enclosure(struct flow *flow, size_t index)
{
	struct minute_for to = { flow, index };

	minutes_finish(flow->enclosures[index].minutes, hand_minute, &to);
}

void flow_finish(struct flow *flow)
{
	flow_release(flow);
	for (size_t e = 0; e < flow->conf->enclosure_count; e++)
		finish_enclosure(flow, e);
}

/* Whether the air is heard by the same probe as before. */
static bool same_probe(const struct flow *flow, const struct flow *was,
		       const struct live_enclosure *to, const struct live_enclosure *from)
{
	const struct place_conf *new = &to->conf->places[from->due->place];
	const struct place_conf *before = &from->conf->places[from->due->place];

	return new->watched && before->watched &&
	       strcmp(flow->conf->probes[new->probe].name, was->conf->probes[before->probe].name) == 0;
}

/* Nothing was ever to be said of it, so that no byte of it was written to: see
 * struct live_seldom. */
static bool is_blank(const struct live_place *place)
{
	static const struct live_place blank;
	const void *bytes = place, *none = &blank;

	return memcmp(bytes, none, sizeof blank) == 0;
}

/* What an enclosure that goes on under a new configuration brings along;
 * what is taken over no longer stands in the old one. */
static void carry_enclosure(const struct flow *flow, const struct flow *was,
			    struct live_enclosure *to, struct live_enclosure *from)
{
	for (int p = 0; p < PLACES; p++) {
		if (!to->conf->places[p].watched || is_blank(&from->places[p]))
			continue; /* its probe is gone: what stood there is over */
		to->places[p] = from->places[p];
		from->places[p] = (struct live_place){ 0 };
	}
	to->shelved = from->shelved;
	to->shelved_until = from->shelved_until;
	if (to->conf->gradient.present) {
		to->gradient->judged = from->gradient->judged;
		to->gradient->alert = from->gradient->alert;
		from->gradient->alert.stands = false;
		from->gradient->judged = (struct judged){ 0 };
	}
	if (to->conf->misting_due > 0 || to->conf->is_room) {
		*to->due = *from->due;
		from->due->alert.stands = false;
		if (!same_probe(flow, was, to, from))
			to->due->air = (struct due_air){ 0 };
	}
	for (size_t s = 0; s < to->shown; s++)
		for (size_t o = 0; o < from->shown; o++) {
			struct live_series *new = &to->series[s], *old = &from->series[o];

			if (new->key.place != old->key.place ||
			    new->key.quantity != old->key.quantity)
				continue;
			new->heard = old->heard;
			new->speaking = old->speaking;
			new->judged = old->judged;
			old->judged = (struct judged){ 0 }; /* what it owns has gone over */
			if (s >= to->count)
				continue; /* of what is only shown nothing stands */
			new->alert = old->alert;
			old->alert.stands = false;
		}
}

static void carry_webhooks(struct flow *to, struct flow *from)
{
	for (size_t o = 0; o < from->conf->webhook_count; o++) {
		for (size_t w = 0; w < to->conf->webhook_count; w++)
			if (strcmp(to->conf->webhooks[w].name, from->conf->webhooks[o].name) == 0) {
				to->webhooks[w] = from->webhooks[o];
				from->webhooks[o].stands = false;
			}
		tell_webhook_over(from, o);
	}
}

static void carry_probes(struct flow *to, const struct flow *from)
{
	for (size_t p = 0; p < to->conf->probe_count; p++)
		for (size_t o = 0; o < from->conf->probe_count; o++) {
			struct live_probe *new = &to->probes[p];
			const size_t first = new->first_user, count = new->user_count;

			if (strcmp(to->conf->probes[p].name, from->conf->probes[o].name) != 0)
				continue;
			*new = from->probes[o];
			/* A line that did not fit may fit now. */
			new->strays = (struct misses){ 0 };
			new->first_user = first;
			new->user_count = count;
		}
}

/* The minutes under way go on where the series are the same; else they are
 * handed out, still under the old numbering. */
static void carry_minutes(struct flow *old, size_t index, const struct conf *conf,
			  struct live_enclosure *to)
{
	struct live_enclosure *from = &old->enclosures[index];

	if (to && minutes_reload(from->minutes, conf, to->conf)) {
		struct minutes *fresh = to->minutes;

		to->minutes = from->minutes;
		from->minutes = fresh;
	} else {
		finish_enclosure(old, index);
	}
}

void flow_reload(struct flow *flow, const struct conf *conf)
{
	struct flow old = *flow;

	begin(flow, conf);
	carry_probes(flow, &old);
	carry_webhooks(flow, &old);
	for (size_t o = 0; o < old.conf->enclosure_count; o++) {
		struct live_enclosure *from = &old.enclosures[o];
		struct live_enclosure *to = flow_enclosure(flow, from->conf->name);

		carry_minutes(&old, o, conf, to);
		if (to)
			carry_enclosure(flow, &old, to, from);
		tell_all_over(&old, from);
		if (to && to->conf->out_of_service)
			tell_all_over(flow, to);
	}
	drop(&old);
}
