/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside species for people: one species, one enclosure; see species.h.
 */
#include "report/species.h"

#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/season.h"
#include "conf/words.h"
#include "report/gather.h"
#include "report/species_rules.h"

/* ---- one species ------------------------------------------------------------ */

/* Its own values beside what the species has there. */
static size_t print_own(const struct request *request, const struct enclosure *enclosure)
{
	struct telling telling = enclosure_telling(request->conf, enclosure, request->now);
	const struct terminal *terminal = request->terminal;
	enum units units = request->conf->units;
	size_t count = 0;

	for (size_t i = 0; i < telling.count; i++) {
		const struct told *told = &telling.list[i];
		const struct rule *rule =
			&enclosure->species->rules[told->place][told->quantity];
		struct told theirs = { .rule = rule, .quantity = told->quantity,
				       .has = { rule->has_band, rule->has_band, rule->has_limits,
						rule->has_band, rule->has_daily, true } };

		for (int k = 0; k < SOURCE_KEYS && !told->season; k++) {
			enum source_key key = (enum source_key)k;
			char own[MEASURE_TEXT], its[MEASURE_TEXT];

			if (!told->has[key] || told->by[key] != ENCLOSURE_SAYS)
				continue;
			terminal_print(terminal, 2, "%s %s %s: %s, in place of %s",
				       place_phrase(told->place), quantity_word(told->quantity),
				       source_word(key), told_value(told, key, units, own),
				       theirs.has[key] ? told_value(&theirs, key, units, its)
						       : "none");
			count++;
		}
	}
	telling_clear(&telling);
	return count;
}

static size_t print_own_seasons(const struct enclosure *enclosure, const struct terminal *terminal)
{
	for (size_t i = 0; i < enclosure->season_count; i++) {
		char *dates = dates_text(&enclosure->seasons[i].dates);

		terminal_print(terminal, 2, "season \"%s\": %s", enclosure->seasons[i].name, dates);
		free(dates);
	}
	return enclosure->season_count;
}

static void print_users(const struct request *request, const struct species *species)
{
	const struct terminal *terminal = request->terminal;
	const struct conf *conf = request->conf;
	size_t users = 0;

	fputc('\n', terminal->file);
	for (size_t i = 0; i < conf->enclosure_count; i++) {
		const struct enclosure *enclosure = &conf->enclosures[i];
		char *title;

		if (enclosure->species != species)
			continue;
		title = enclosure_title(enclosure);
		say_strong(terminal, title);
		free(title);
		if (print_own(request, enclosure) + print_own_seasons(enclosure, terminal) == 0)
			terminal_say(terminal, 2, "all as above");
		users++;
	}
	if (!users)
		terminal_say(terminal, 0, "No enclosure is of this species.");
}

/* What the sources' marks mean, and what all of it is not. */
static void print_notes(const struct terminal *terminal, bool rests)
{
	fputc('\n', terminal->file);
	terminal_say(terminal, 0, "Behind a source stands its weight: A law, government, textbook or "
				  "reviewed data; B veterinary practice; C society, museum or magazine; "
				  "D hobby page. Memory is recalled and checked against no document.");
	terminal_say(terminal, 0, "These are starting points for healthy adults, no veterinary advice.");
	if (rests)
		terminal_say(terminal, 0,
			     "Winter rest is for healthy adults in good condition, with an empty gut: "
			     "no food for some weeks before it grows cool, while it is still warm; "
			     "water always. How long depends on the animal, and tortoises take "
			     "longest. It is never for young, ill, thin or gravid ones; ask a "
			     "veterinarian first (common practice, no source).");
}

static void print_species(const struct request *request, const struct species *species)
{
	const struct terminal *terminal = request->terminal;
	enum units units = request->conf->units;
	struct telling telling = species_telling(species);
	const struct rule *ordinary[PLACES];
	bool rests = false;
	char *title = must_print("%s%s%s", species->name, species->latin ? " · " : "",
				 species->latin ? species->latin : "");

	say_strong(terminal, title);
	free(title);
	print_rules(terminal, &telling, NULL, units, false);
	for (size_t i = 0; i < species->season_count; i++)
		print_season(terminal, &telling, &species->seasons[i], units, false);
	print_users(request, species);
	for (int p = 0; p < PLACES; p++)
		ordinary[p] = &species->rules[p][TEMPERATURE];
	for (size_t i = 0; i < species->season_count; i++)
		rests |= season_rests(&species->seasons[i], ordinary);
	print_notes(terminal, rests);
	telling_clear(&telling);
}

/* ---- one enclosure ---------------------------------------------------------- */

/* What its species wants where nothing is measured, and seasons nobody dated. */
static void print_idle(const struct enclosure *enclosure,
		       const struct telling *telling, const struct terminal *terminal)
{
	const struct species *species = enclosure->species;
	char *idle = must_copy("");

	fputc('\n', terminal->file);
	for (int p = 0; p < PLACES; p++)
		for (int q = 0; q < QUANTITIES; q++) {
			const struct rule *rule = &enclosure->places[p].rules[q];
			char *phrase = series_phrase((struct series){ (enum place)p, (enum quantity)q,
								      false });

			if ((rule->has_band || rule->has_limits) &&
			    !telling_has(telling, (enum place)p, (enum quantity)q))
				idle = listed(idle, phrase);
			free(phrase);
		}
	if (*idle)
		terminal_print(terminal, 0, "Not judged, for want of a probe: %s.", idle);
	free(idle);
	for (size_t i = 0; species && i < species->season_count; i++) {
		bool in_force = false;

		for (size_t own = 0; own < enclosure->season_count; own++)
			in_force |= strcmp(enclosure->seasons[own].name, species->seasons[i].name) == 0;
		if (!in_force)
			terminal_print(terminal, 0, "The season \"%s\" of its species has no dates "
				       "here, and is not in force.", species->seasons[i].name);
	}
}

static void print_enclosure(const struct request *request, const struct enclosure *enclosure)
{
	struct telling telling = enclosure_telling(request->conf, enclosure, request->now);
	const struct terminal *terminal = request->terminal;
	enum units units = request->conf->units;
	const struct species *species = enclosure->species;
	const struct rule *ordinary[PLACES];
	bool rests = false;
	char *title = enclosure_title(enclosure);
	char *head = must_print("%s, %s%s%s", title, species ? species->name : "without a species",
				species && species->latin ? " · " : "",
				species && species->latin ? species->latin : "");

	say_strong(terminal, head);
	print_rules(terminal, &telling, NULL, units, true);
	for (size_t i = 0; i < enclosure->season_count; i++)
		print_season(terminal, &telling, &enclosure->seasons[i], units, true);
	if (telling.count == 0)
		terminal_say(terminal, 0, "Nothing is judged here: no band reaches a place with a probe.");
	print_idle(enclosure, &telling, terminal);
	for (int p = 0; p < PLACES; p++)
		ordinary[p] = &enclosure->places[p].rules[TEMPERATURE];
	for (size_t i = 0; i < enclosure->season_count; i++)
		rests |= season_rests(&enclosure->seasons[i], ordinary);
	if (telling.count > 0)
		print_notes(terminal, rests);
	free(head);
	free(title);
	telling_clear(&telling);
}

void species_text(const struct species_request *asked)
{
	if (asked->species)
		print_species(asked->request, asked->species);
	if (asked->species && asked->enclosure)
		fputc('\n', asked->request->terminal->file);
	if (asked->enclosure)
		print_enclosure(asked->request, asked->enclosure);
	if (!asked->species && !asked->enclosure)
		species_table(asked->request->conf, asked->request->terminal);
}
