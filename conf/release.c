/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The end of a model; see conf_free() in load.h.
 */
#include "conf/load.h"

#include <stdlib.h>

static void free_rules(struct rule rules[QUANTITIES])
{
	for (int q = 0; q < QUANTITIES; q++) {
		free(rules[q].source);
		free(rules[q].seasons);
	}
}

static void free_advice(char *advice[ADVICES])
{
	for (int i = 0; i < ADVICES; i++)
		free(advice[i]);
}

static void free_seasons(struct season *seasons, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		free(seasons[i].name);
		free_advice(seasons[i].advice);
		for (size_t r = 0; r < seasons[i].rule_count; r++)
			free(seasons[i].rules[r].rule.source);
		free(seasons[i].rules);
	}
	free(seasons);
}

static void free_buses(struct conf *conf)
{
	for (size_t i = 0; i < conf->bus_count; i++) {
		free(conf->buses[i].name);
		free(conf->buses[i].port);
		free(conf->buses[i].line);
		free(conf->buses[i].ask);
	}
	free(conf->buses);
}

static void free_probes(struct conf *conf)
{
	for (size_t i = 0; i < conf->probe_count; i++) {
		free(conf->probes[i].name);
		free(conf->probes[i].token);
	}
	free(conf->probes);
}

static void free_homes(struct conf *conf)
{
	for (size_t i = 0; i < conf->species_count; i++) {
		free(conf->species[i].name);
		free(conf->species[i].latin);
		free_advice(conf->species[i].advice);
		for (int place = 0; place < PLACES; place++)
			free_rules(conf->species[i].rules[place]);
		free_seasons(conf->species[i].seasons, conf->species[i].season_count);
	}
	free(conf->species);
	for (size_t i = 0; i < conf->enclosure_count; i++) {
		free(conf->enclosures[i].name);
		free(conf->enclosures[i].label);
		for (int place = 0; place < PLACES; place++)
			free_rules(conf->enclosures[i].places[place].rules);
		free_seasons(conf->enclosures[i].seasons, conf->enclosures[i].season_count);
	}
	free(conf->enclosures);
}

static void free_webhooks(struct conf *conf)
{
	for (size_t i = 0; i < conf->webhook_count; i++) {
		struct webhook *webhook = &conf->webhooks[i];

		free(webhook->name);
		free(webhook->endpoint);
		free(webhook->secret);
		free(webhook->template);
		free(webhook->content_type);
		for (size_t h = 0; h < webhook->header_count; h++)
			free(webhook->headers[h]);
		free(webhook->headers);
	}
	free(conf->webhooks);
}

void conf_free(struct conf *conf)
{
	if (!conf)
		return;
	free(conf->state);
	free_buses(conf);
	free_probes(conf);
	free_homes(conf);
	free_webhooks(conf);
	free(conf->heartbeat.endpoint);
	free(conf->heartbeat.secret);
	free(conf);
}
