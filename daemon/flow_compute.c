/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The humidity of a place that has only a thermometer, from the vapour of its
 * enclosure's air; see flow_tell.h.
 */
#include <math.h>

#include "conf/air.h"
#include "daemon/flow_tell.h"

/* What the source's probe gave last, and still holds at that time.  A value that
 * waits for a witness leaves open which of both is true. */
static bool take_latest(const struct flow *flow, size_t probe, enum quantity quantity,
			double time, double *value)
{
	const struct gate *gate = &flow->probes[probe].gates[quantity];
	double every = flow->conf->buses[flow->conf->probes[probe].bus].every;

	*value = gate->last.value;
	return gate->has_last && gate->held_count == 0 &&
	       fabs(time - gate->last.time) <= longest_line(every);
}

struct passed flow_compute(const struct flow *flow, const struct live_series *series,
			   const struct passed *temperatures)
{
	size_t source = series->source_probe;
	struct passed computed = { 0 };

	for (size_t i = 0; i < temperatures->count; i++) {
		struct sample sample = temperatures->samples[i];
		double celsius, humidity;

		if (!take_latest(flow, source, TEMPERATURE, sample.time, &celsius) ||
		    !take_latest(flow, source, HUMIDITY, sample.time, &humidity))
			continue;
		sample.value = air_humidity_elsewhere(celsius, humidity, sample.value);
		if (!isfinite(sample.value))
			continue; /* the air is known in a range of temperatures */
		sample.value = fmin(sample.value, 100); /* what is more settles as dew */
		computed.samples[computed.count++] = sample;
	}
	return computed;
}
