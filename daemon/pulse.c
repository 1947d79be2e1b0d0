/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The heartbeat; see pulse.h.
 */
#include "daemon/pulse.h"

#include <math.h>

#include <jansson.h>

#include "conf/measure.h"

/* When the bus gave its latest valid reading; false when it has no probe. */
static bool heard(const struct flow *flow, size_t bus, double *latest)
{
	bool has_probe = false;

	*latest = -INFINITY;
	for (size_t p = 0; p < flow->conf->probe_count; p++) {
		const struct live_probe *live = &flow->probes[p];

		if (flow->conf->probes[p].bus != bus)
			continue;
		has_probe = true;
		if (live->has_last)
			*latest = fmax(*latest, live->last.time);
	}
	return has_probe;
}

static bool all_flow(const struct flow *flow, double *latest)
{
	*latest = -INFINITY;
	for (size_t b = 0; b < flow->conf->bus_count; b++) {
		double longest = fmax(flow->conf->heartbeat.every,
				      longest_line(flow->conf->buses[b].every));
		double here;

		if (!heard(flow, b, &here))
			continue;
		if (flow->now - here >= longest)
			return false;
		*latest = fmax(*latest, here);
	}
	return isfinite(*latest);
}

char *pulse_step(struct pulse *pulse, const struct flow *flow, double mono)
{
	char time[MEASURE_TEXT], read[MEASURE_TEXT];
	double latest;

	if (!flow->conf->heartbeat.endpoint ||
	    (pulse->last != 0 && mono - pulse->last < flow->conf->heartbeat.every) ||
	    !all_flow(flow, &latest))
		return NULL;
	pulse->last = mono;
	json_t *body = json_pack("{s:s,s:i,s:s,s:{s:I,s:s}}", "type", "heartbeat", "version", 1,
				 "timestamp", show_instant_utc(flow->now, time), "data", "number",
				 (json_int_t)++pulse->number, "latest_reading",
				 show_instant_utc(latest, read));
	char *text = json_dumps(body, JSON_COMPACT);

	json_decref(body);
	return text;
}
