/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * species, enclosure and room sections -> the model; see resolve.h.
 */
#include "conf/resolve.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "conf/resolve_advice.h"
#include "conf/resolve_rule.h"
#include "conf/resolve_season.h"
#include "conf/words.h"

enum { LABEL_MOST = 60, LATIN_MOST = 100 }; /* characters */

static const double steepest_gradient = 40; /* °C: more is a slip of the pen */
static const double shortest_lead = 3600, longest_lead = 86400; /* s */

/* What one species says, before an enclosure overrides it. */
struct profile {
	struct wishes wishes[PLACES][QUANTITIES];
	/* An enclosure gives the day band of this rule itself. */
	bool day_elsewhere[PLACES][QUANTITIES];
	struct season_list seasons;
};

/* The places an enclosure has; the room's own is none of them. */
static const enum place enclosure_places[] = { HOT_SPOT, WARM_SIDE, COOL_SIDE, HUMID_HIDE, EGGS };

enum { ENCLOSURE_PLACES = sizeof enclosure_places / sizeof *enclosure_places };

static enum said read_gradient(struct resolve *resolve, struct section section,
			       struct gradient *out)
{
	enum said said = take_difference(resolve, section, "gradient", TEMPERATURE,
					 steepest_gradient, &out->least);

	out->present = said == GIVEN;
	return said;
}

static void read_species(struct resolve *resolve, size_t index, struct profile *profile)
{
	struct section section = section_at(resolve->top, "species", index);
	struct species *species = &resolve->conf->species[index];
	const char *advice[ADVICES] = { NULL };
	const char *latin;

	species->name = must_copy(take_name(resolve, section));
	if (take_text(resolve, section, "latin", LATIN_MOST, &latin) == GIVEN)
		species->latin = must_copy(latin);
	read_gradient(resolve, section, &species->gradient);
	advice_read(resolve, section, advice);
	advice_keep(advice, species->advice);
	wishes_read_places(resolve, section, profile->wishes);
	seasons_read(resolve, section, &profile->seasons);
}

/* The rules of a species by itself.  A night whose day each enclosure gives
 * is not wrong, it is only no band yet. */
static void finish_species(struct resolve *resolve, size_t index, struct profile *profile)
{
	struct species *species = &resolve->conf->species[index];

	for (int p = 0; p < PLACES; p++)
		for (int q = 0; q < QUANTITIES; q++) {
			struct wishes *wishes = &profile->wishes[p][q];

			if (profile->day_elsewhere[p][q] && wishes->keys[WISH_DAY].said == ABSENT)
				wishes->keys[WISH_NIGHT].said = ABSENT;
			species->rules[p][q] = rule_from_wishes(resolve, wishes, (enum quantity)q);
		}
	species->seasons = seasons_of_species(resolve, &profile->seasons, profile->wishes,
					      &species->season_count);
}

/* One place of an enclosure, or the room's.  profile is NULL without a species.
 * Fills in what is wished there when all is said. */
static void resolve_place(struct resolve *resolve, const struct section *section, enum place place,
			  struct profile *profile, struct wishes wishes[QUANTITIES],
			  struct place_conf *out)
{
	static const struct wishes nothing;
	struct wishes own[QUANTITIES] = { 0 };

	if (section) {
		out->watched =
			take_reference(resolve, *section, "probe", "probe", &out->probe) == GIVEN;
		wishes_read(resolve, *section, own);
	}
	for (int q = 0; q < QUANTITIES; q++) {
		wishes[q] =
			wishes_override(profile ? &profile->wishes[place][q] : &nothing, &own[q]);
		if (profile && own[q].keys[WISH_DAY].said != ABSENT)
			profile->day_elsewhere[place][q] = true;
		out->rules[q] = rule_from_wishes(resolve, &wishes[q], (enum quantity)q);
	}
}

/* True when it is sure that nothing measures the temperature at that place:
 * neither a key nor a probe that is in fault hides it. */
static bool lacks_temperature(struct resolve *resolve, struct section section, enum place place,
			      const struct place_conf *at)
{
	const struct bus_said *bus;
	const struct probe *probe;
	struct section inner;

	if (section_head(section)->unsure || resolve->script->incomplete)
		return false;
	if (section_count(section, place_word(place)) == 0)
		return true;
	inner = section_at(section, place_word(place), 0);
	if (!section_value(inner, "probe"))
		return !section_head(inner)->unsure;
	if (!at->watched)
		return false;
	probe = &resolve->conf->probes[at->probe];
	if (probe->gives[TEMPERATURE] || probe->bus == NO_STATEMENT)
		return false;
	bus = &resolve->buses[probe->bus];
	if (!bus->has_speaks)
		return false;
	if (resolve->conf->buses[probe->bus].speaks == SPEAKS_LINES)
		return bus->has_template;
	return !section_value(section_at(resolve->top, "probe", at->probe), "temperature");
}

/* The enclosure's own gradient must be measured; its species' is taken over
 * where it is. */
static void resolve_gradient(struct resolve *resolve, struct section section,
			     struct enclosure *enclosure)
{
	static const enum place sides[] = { WARM_SIDE, COOL_SIDE };
	enum said said = read_gradient(resolve, section, &enclosure->gradient);

	if (said == ABSENT && enclosure->species)
		enclosure->gradient = enclosure->species->gradient;
	for (size_t i = 0; i < 2; i++) {
		if (has_series(resolve->conf, enclosure, sides[i], TEMPERATURE))
			continue;
		enclosure->gradient.present = false;
		if (said == GIVEN &&
		    lacks_temperature(resolve, section, sides[i], &enclosure->places[sides[i]]))
			complain(resolve, section_value(section, "gradient"),
				 "gradient needs the temperature of warm_side and of cool_side; no "
				 "probe gives that of %s",
				 place_word(sides[i]));
	}
}

static void resolve_service(struct resolve *resolve, struct section section,
			    struct enclosure *enclosure)
{
	static const char *const words[] = { "no", "yes" };
	size_t in_service = 1;

	take_choice(resolve, section, "in_service", words, 2, &in_service);
	enclosure->out_of_service = in_service == 0;
}

void resolve_misting_due(struct resolve *resolve, struct section section, double *out)
{
	double lead;

	if (take_duration(resolve, section, "misting_due", 0, longest_lead, &lead) != GIVEN)
		return;
	if (lead > 0 && lead < shortest_lead) {
		char text[SHOWN_TEXT];

		complain(resolve, section_value(section, "misting_due"),
			 "%s leaves no time to mist; write \"1h\" to \"24h\", or \"0s\" for never",
			 shown(section_value(section, "misting_due"), text));
	}
	*out = lead;
}

static void resolve_build(struct resolve *resolve, struct section section,
			  struct enclosure *enclosure)
{
	const char *words[BUILDS];
	size_t build;

	for (int i = 0; i < BUILDS; i++)
		words[i] = build_word((enum build)i);
	if (take_choice(resolve, section, "build", words, BUILDS, &build) != GIVEN)
		return;
	enclosure->has_build = true;
	enclosure->build = (enum build)build;
}

static void resolve_enclosure(struct resolve *resolve, size_t index, struct profile *profiles)
{
	struct section section = section_at(resolve->top, "enclosure", index);
	struct enclosure *enclosure = &resolve->conf->enclosures[index];
	struct wishes wishes[PLACES][QUANTITIES] = { 0 };
	struct profile *profile = NULL;
	const char *label;
	size_t species;

	enclosure->name = must_copy(take_name(resolve, section));
	if (strcmp(enclosure->name, "room") == 0)
		complain(resolve, section_head(section),
			 "\"room\" is what the room itself is called; take another name");
	label = enclosure->name;
	take_text(resolve, section, "label", LABEL_MOST, &label);
	enclosure->label = must_copy(label);
	resolve_build(resolve, section, enclosure);
	resolve_service(resolve, section, enclosure);
	enclosure->misting_due = resolve->conf->misting_due;
	resolve_misting_due(resolve, section, &enclosure->misting_due);
	if (take_reference(resolve, section, "species", "species", &species) == GIVEN) {
		enclosure->species = &resolve->conf->species[species];
		profile = &profiles[species];
	}
	for (size_t i = 0; i < ENCLOSURE_PLACES; i++) {
		enum place place = enclosure_places[i];
		const char *word = place_word(place);
		struct section at = { 0 };
		bool there = section_count(section, word) > 0;

		if (there)
			at = section_at(section, word, 0);
		resolve_place(resolve, there ? &at : NULL, place, profile, wishes[place],
			      &enclosure->places[place]);
	}
	seasons_of_enclosure(resolve, section, profile ? &profile->seasons : NULL, wishes,
			     enclosure);
	resolve_gradient(resolve, section, enclosure);
}

static void resolve_room(struct resolve *resolve, struct enclosure *room)
{
	struct section section = section_at(resolve->top, "room", 0);
	struct wishes wishes[QUANTITIES];

	room->name = must_copy("room");
	room->label = must_copy("room");
	room->is_room = true;
	resolve_place(resolve, &section, ROOM_AIR, NULL, wishes, &room->places[ROOM_AIR]);
}

void resolve_homes(struct resolve *resolve)
{
	struct conf *conf = resolve->conf;
	size_t count = section_count(resolve->top, "enclosure");
	bool has_room = section_count(resolve->top, "room") > 0;
	struct profile *profiles;

	conf->species_count = section_count(resolve->top, "species");
	conf->species = must_calloc(conf->species_count, sizeof *conf->species);
	conf->enclosure_count = count + (has_room ? 1 : 0);
	conf->enclosures = must_calloc(conf->enclosure_count, sizeof *conf->enclosures);
	profiles = must_calloc(conf->species_count, sizeof *profiles);

	for (size_t i = 0; i < conf->species_count; i++)
		read_species(resolve, i, &profiles[i]);
	for (size_t i = 0; i < count; i++)
		resolve_enclosure(resolve, i, profiles);
	if (has_room)
		resolve_room(resolve, &conf->enclosures[count]);
	for (size_t i = 0; i < conf->species_count; i++)
		finish_species(resolve, i, &profiles[i]);
	for (size_t i = 0; i < conf->species_count; i++)
		free(profiles[i].seasons.list);
	free(profiles);
}
