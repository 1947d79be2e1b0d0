/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A configuration for tests; see small_conf.h.
 */
#include "tests/small_conf.h"

#include <stdlib.h>

#include "conf/memory.h"

static void put_probe(struct conf *conf, struct place_conf *place, bool humidity)
{
	struct probe *probe = &conf->probes[conf->probe_count];

	*probe = (struct probe){ .name = must_print("p%zu", conf->probe_count + 1),
				 .gives = { true, humidity } };
	place->watched = true;
	place->probe = conf->probe_count++;
	place->rules[TEMPERATURE] =
		(struct rule){ .has_band = true, .day = { 27, 31 }, .night = { 23, 29 } };
	if (humidity)
		place->rules[HUMIDITY] =
			(struct rule){ .has_band = true, .day = { 45, 60 }, .night = { 45, 65 } };
}

struct conf *small_conf(const char *state, size_t enclosures, double every)
{
	struct conf *conf = must_calloc(1, sizeof *conf);

	conf->state = state ? must_copy(state) : NULL;
	conf->day = (struct day){ 8 * 3600, 20 * 3600, 5400 };
	conf->archive = (struct archive_rows){ 10 * 86400.0, 90 * 86400.0, 1095 * 86400.0, 0 };
	conf->buses = must_calloc(1, sizeof *conf->buses);
	conf->buses[0] = (struct bus){ .name = must_copy("rack"), .every = every };
	conf->bus_count = 1;
	conf->probes = must_calloc(2 * enclosures, sizeof *conf->probes);
	conf->enclosures = must_calloc(enclosures, sizeof *conf->enclosures);
	conf->enclosure_count = enclosures;
	for (size_t i = 0; i < enclosures; i++) {
		conf->enclosures[i].name = must_print("E%zu", i + 1);
		put_probe(conf, &conf->enclosures[i].places[WARM_SIDE], false);
		put_probe(conf, &conf->enclosures[i].places[COOL_SIDE], true);
	}
	return conf;
}

void small_conf_free(struct conf *conf)
{
	for (size_t i = 0; i < conf->probe_count; i++)
		free(conf->probes[i].name);
	for (size_t i = 0; i < conf->enclosure_count; i++)
		free(conf->enclosures[i].name);
	free(conf->buses[0].name);
	free(conf->buses);
	free(conf->probes);
	free(conf->enclosures);
	free(conf->state);
	free(conf);
}
