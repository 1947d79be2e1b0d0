/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which probe is meant, and where its readings are; see salt_view.h.
 */
#include "report/salt_view.h"

#include <stdlib.h>
#include <string.h>

#include "conf/closest.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/gather.h"

static bool measures_humidity(const struct conf *conf, const struct enclosure *enclosure,
			      enum place place)
{
	const struct place_conf *at = &enclosure->places[place];

	return at->watched && conf->probes[at->probe].gives[HUMIDITY];
}

/* Where a probe sits; false when it sits nowhere. */
static bool find_seat(const struct conf *conf, size_t probe, struct salt_view *out)
{
	for (size_t e = 0; e < conf->enclosure_count; e++)
		for (int p = 0; p < PLACES; p++)
			if (conf->enclosures[e].places[p].watched &&
			    conf->enclosures[e].places[p].probe == probe) {
				out->enclosure = &conf->enclosures[e];
				out->place = (enum place)p;
				return true;
			}
	return false;
}

static bool take_probe(const struct conf *conf, size_t probe, struct salt_view *out)
{
	const char *name = conf->probes[probe].name;

	out->probe = &conf->probes[probe];
	if (find_seat(conf, probe, out))
		return true;
	fprintf(stderr, "warmside: probe \"%s\" sits in no enclosure, so it was asked but its readings "
		"were not kept; write enclosure \"jar\" { in_service = \"no\"  cool_side { probe = \"%s\" } "
		"}, let warmsided read that, and begin the test again\n", name, name);
	return false;
}

/* "cool side and humid hide" */
static char *humidity_places(const struct conf *conf, const struct enclosure *enclosure,
			     size_t count)
{
	char *text = must_copy("");

	for (int p = 0; p < PLACES; p++) {
		if (!measures_humidity(conf, enclosure, (enum place)p))
			continue;
		count--;
		char *longer = must_print("%s%s%s", text, place_word((enum place)p),
					  count > 1 ? ", " : count == 1 ? " and " : "");

		free(text);
		text = longer;
	}
	return text;
}

/* The one place of the enclosure that measures humidity. */
static bool take_only_place(const struct conf *conf, const struct enclosure *enclosure,
			    struct salt_view *out)
{
	size_t count = 0;

	for (int p = 0; p < PLACES; p++)
		if (measures_humidity(conf, enclosure, (enum place)p)) {
			out->place = (enum place)p;
			count++;
		}
	if (count == 1)
		return true;
	if (count == 0) {
		fprintf(stderr, "warmside: no probe of %s measures humidity; name a probe that does\n",
			enclosure->name);
		return false;
	}
	char *places = humidity_places(conf, enclosure, count);

	fprintf(stderr, "warmside: %s has humidity probes at %s; say which, as in warmside salt %s %s\n",
		enclosure->name, places, enclosure->name, place_word(out->place));
	free(places);
	return false;
}

static bool take_place(const struct conf *conf, const struct enclosure *enclosure,
		       const char *word, struct salt_view *out)
{
	if (!word)
		return take_only_place(conf, enclosure, out);
	if (place_from_word(word, &out->place) &&
	    measures_humidity(conf, enclosure, out->place))
		return true;
	fprintf(stderr, "warmside: %s has no humidity probe at a place named %s\n", enclosure->name,
		word);
	return false;
}

static void say_unknown(const struct conf *conf, const char *name)
{
	struct closest closest = closest_begin(name);

	for (size_t i = 0; i < conf->probe_count; i++)
		closest_try(&closest, conf->probes[i].name);
	for (size_t i = 0; i < conf->enclosure_count; i++)
		closest_try(&closest, conf->enclosures[i].name);
	fprintf(stderr, "warmside: no probe and no enclosure is named %s; %s%s%s\n", name,
		closest.best ? "did you mean " : "warmsided --check lists faults, and the configuration "
						 "names the probes",
		closest.best ? closest.best : "", closest.best ? "?" : "");
}

static bool has_enclosure(const struct conf *conf, const char *name)
{
	for (size_t i = 0; i < conf->enclosure_count; i++)
		if (strcmp(conf->enclosures[i].name, name) == 0 ||
		    strcmp(conf->enclosures[i].label, name) == 0)
			return true;
	return false;
}

/* DONE or else after a sentence. */
static int find(const struct request *request, struct salt_view *out)
{
	const struct conf *conf = request->conf;
	const char *name = request->words[0];
	const char *place = request->word_count > 1 ? request->words[1] : NULL;

	for (size_t i = 0; i < conf->probe_count && !place; i++)
		if (strcmp(conf->probes[i].name, name) == 0)
			return take_probe(conf, i, out) ? DONE : FAILED;
	if (!has_enclosure(conf, name)) {
		say_unknown(conf, name);
		return USAGE;
	}
	out->enclosure = enclosure_named(conf, name);
	if (!out->enclosure || !take_place(conf, out->enclosure, place, out))
		return USAGE;
	out->probe = &conf->probes[out->enclosure->places[out->place].probe];
	return DONE;
}

static bool gives_both(const struct probe *probe)
{
	const char *what = probe->gives[HUMIDITY] ? "temperature" : "humidity";

	if (probe->gives[HUMIDITY] && probe->gives[TEMPERATURE])
		return true;
	fprintf(stderr, "warmside: probe \"%s\" gives no %s, and a test in salts needs humidity and "
		"temperature of one probe\n", probe->name, what);
	return false;
}

int salt_find_probe(const struct request *request, struct salt_view *out)
{
	int result = find(request, out);

	if (result != DONE)
		return result;
	return gives_both(out->probe) ? DONE : FAILED;
}
