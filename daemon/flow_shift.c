/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The clock was put right: everything the flow remembers moves with it, so
 * that what was a minute ago still was a minute ago.
 */
#include "daemon/flow.h"

#include "daemon/flow_tell.h"

static void shift_probe(struct live_probe *probe, double by)
{
	for (int q = 0; q < QUANTITIES; q++) {
		probe->gates[q].last.time += by;
		coverage_shift(&probe->coverage[q], by);
		for (size_t i = 0; i < HELD_MOST; i++)
			probe->gates[q].held[i].time += by;
	}
	probe->repeat.since += by;
	probe->last.time += by;
	probe->good += by;
}

static void shift_enclosure(struct live_enclosure *enclosure, double by)
{
	for (size_t s = 0; s < enclosure->shown; s++) {
		struct live_series *series = &enclosure->series[s];

		series->heard += by;
		series->speaking += by;
		judged_shift(&series->judged, by);
	}
	judged_shift(&enclosure->gradient->judged, by);
	enclosure->due->air = (struct due_air){ 0 }; /* its bins are the old clock's */
	enclosure->due->next += by;
	enclosure->due->at += by;
	enclosure->shelved_until += by;
}

static void shift_slot(void *context, const struct slot *slot)
{
	alert_shift(slot->alert, *(const double *)context);
}

static void shift_matters(struct flow *flow, double by)
{
	for (int q = 0; q < QUANTITIES; q++)
		for (int s = 0; s < SIDES; s++) {
			struct matter *matter = &flow->matters[q][s];

			matter->since += by;
			matter->wide += by;
			matter->cleared += matter->cleared != 0 ? by : 0;
			life_shift(&matter->life, by);
		}
}

void flow_shift(struct flow *flow, double by)
{
	/* A minute belongs to one clock or the other. */
	flow_finish(flow);
	for (size_t p = 0; p < flow->conf->probe_count; p++)
		shift_probe(&flow->probes[p], by);
	for (size_t e = 0; e < flow->conf->enclosure_count; e++) {
		struct live_enclosure *enclosure = &flow->enclosures[e];

		shift_enclosure(enclosure, by);
		minutes_free(enclosure->minutes);
		enclosure->minutes = minutes_new(flow->conf, enclosure->conf);
	}
	each_slot(flow, shift_slot, &by);
	shift_matters(flow, by);
	flow->tested += by;
	flow->now += by;
}
