/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside species: what is configured of species and enclosures, and where each value
 * comes from.  Reads the configuration and nothing else.
 */
#include "report/species.h"

#include <string.h>

#include "conf/closest.h"
#include "conf/words.h"
#include "report/gather.h"

static const struct species *find_species(const struct conf *conf, const char *name)
{
	for (size_t i = 0; i < conf->species_count; i++)
		if (strcmp(conf->species[i].name, name) == 0)
			return &conf->species[i];
	return NULL;
}

static bool names_enclosure(const struct conf *conf, const char *name)
{
	for (size_t i = 0; i < conf->enclosure_count; i++)
		if (strcmp(conf->enclosures[i].name, name) == 0 ||
		    strcmp(conf->enclosures[i].label, name) == 0)
			return true;
	return false;
}

/* Of "corn" the corn snake, of "python" all of them. */
static size_t say_holding(const struct conf *conf, const char *name)
{
	size_t count = 0;

	for (size_t i = 0; i < conf->species_count; i++)
		if (strcasestr(conf->species[i].name, name))
			fprintf(stderr, "%s%s", count++ ? ", " : "did you mean ",
				conf->species[i].name);
	return count;
}

static void say_unknown(const struct conf *conf, const char *name)
{
	struct closest closest = closest_begin(name);

	for (size_t i = 0; i < conf->species_count; i++)
		closest_try(&closest, conf->species[i].name);
	for (size_t i = 0; i < conf->enclosure_count; i++) {
		closest_try(&closest, conf->enclosures[i].name);
		closest_try(&closest, conf->enclosures[i].label);
	}
	fprintf(stderr, "warmside: no species and no enclosure is named %s; ", name);
	if (closest.best)
		fprintf(stderr, "did you mean %s?\n", closest.best);
	else if (*name && say_holding(conf, name))
		fputs("?\n", stderr);
	else
		fputs("warmside species lists the species\n", stderr);
}

/* False after a sentence on standard error. */
static bool choose(struct species_request *asked)
{
	const struct request *request = asked->request;

	if (request->word_count == 0)
		return true;
	asked->species = find_species(request->conf, request->words[0]);
	if (names_enclosure(request->conf, request->words[0])) {
		asked->enclosure = enclosure_named(request->conf, request->words[0]);
		return asked->enclosure || asked->species;
	}
	if (!asked->species)
		say_unknown(request->conf, request->words[0]);
	return asked->species;
}

int species_command(const struct request *request)
{
	struct species_request asked = { .request = request };

	if (!choose(&asked))
		return USAGE;
	if (request->format == FORMAT_JSON)
		species_json(&asked);
	else if (request->format == FORMAT_CSV)
		species_csv(&asked);
	else
		species_text(&asked);
	return DONE;
}
