/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is counted of askings and failures, and what that says of a probe that
 * gives no readings; see flow.h.
 */
#include "daemon/flow.h"

#include <stdlib.h>

#include "conf/memory.h"
#include "daemon/diagnosis.h"

void flow_asked(struct flow *flow, size_t probe)
{
	flow->probes[probe].counters.asked++;
}

void flow_failed(struct flow *flow, size_t bus, size_t probe, enum cause cause)
{
	if (probe != NO_PROBE) {
		flow->probes[probe].counters.failed[cause]++;
		misses_add(&flow->probes[probe].missed, cause);
		return;
	}
	flow->buses[bus].failed[cause]++;
	for (size_t p = 0; p < flow->conf->probe_count; p++)
		if (flow->conf->probes[p].bus == bus)
			misses_add(&flow->probes[p].strays, cause);
}

void flow_port(struct flow *flow, size_t bus, const char *why)
{
	struct port_state *port = &flow->ports[bus];

	free(port->closed);
	port->known = true;
	port->closed = why ? must_copy(why) : NULL;
}

static struct heard heard_of(const struct flow *flow, size_t probe)
{
	const struct live_probe *live = &flow->probes[probe];
	double every = flow->conf->buses[flow->conf->probes[probe].bus].every;

	return (struct heard){
		.answers = live->has_good && flow->now - live->good <= longest_line(every),
		.missed = live->missed,
		.strays = live->strays,
	};
}

/* Nothing has come, good or bad, and it is too early for it. */
static bool is_early(const struct flow *flow, size_t probe, const struct heard *heard)
{
	double every = flow->conf->buses[flow->conf->probes[probe].bus].every;

	return heard->missed.count == 0 && heard->strays.count == 0 &&
	       flow->now - flow->probes[probe].good <= longest_line(every);
}

char *flow_diagnose(const struct flow *flow, size_t probe)
{
	const struct conf *conf = flow->conf;
	const struct port_state *port = &flow->ports[conf->probes[probe].bus];
	const struct heard own = heard_of(flow, probe);

	if (!port->known)
		return NULL;
	if (port->closed)
		return must_copy(port->closed);
	if (own.answers || is_early(flow, probe, &own))
		return NULL; /* so it is with nearly all, every few seconds */
	struct heard *heard = must_calloc(conf->probe_count, sizeof *heard);

	for (size_t p = 0; p < conf->probe_count; p++)
		heard[p] = heard_of(flow, p);
	char *text = diagnose(conf, probe, heard);

	free(heard);
	return text;
}
