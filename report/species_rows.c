/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside species as JSON and CSV; see species.h.
 */
#include "report/species.h"

#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/csv.h"
#include "report/json.h"

/* ---- JSON ----------------------------------------------------------------- */

/* null: the ordinary rule is in force. */
static json_t *today_json(const struct told *told)
{
	const struct rule *today = &told->today;

	if (!told->in_season)
		return json_null();
	return json_pack("{s:o,s:o,s:o,s:o}", "day", json_range(today->has_band, today->day),
			 "night", json_range(today->has_band, today->night),
			 "limits", json_range(today->has_limits, today->limits),
			 "patience_seconds", json_number(today->has_band, today->patience));
}

/* of_enclosure: who says each value is told too. */
static json_t *told_json(const struct told *told, bool of_enclosure)
{
	json_t *sources = json_object(), *by = json_object();
	json_t *object = json_pack("{s:s,s:s,s:s}", "place", place_word(told->place), "quantity",
				   quantity_word(told->quantity), "unit",
				   unit_word(told->quantity));

	for (int k = 0; k < SOURCE_KEYS; k++) {
		enum source_key key = (enum source_key)k;
		const char *word = source_word(key);

		if (is_range(key)) {
			json_object_set_new(object, word,
					    json_range(told->has[key], rule_range(told->rule, key)));
		} else {
			char *seconds = must_print("%s_seconds", word);

			json_object_set_new(object, seconds,
					    json_number(told->has[key],
							rule_duration(told->rule, key)));
			free(seconds);
		}
		json_object_set_new(sources, word, json_text(told->source[key]));
		json_object_set_new(by, word,
				    json_text(told->has[key] ? speaker_word(told->by[key]) : NULL));
	}
	json_object_set_new(object, "sources", sources);
	if (of_enclosure)
		json_object_set_new(object, "said_by", by);
	else
		json_decref(by);
	if (of_enclosure && !told->season)
		json_object_set_new(object, "today", today_json(told));
	return object;
}

/* Those of one season, or the ordinary ones for NULL. */
static json_t *places_json(const struct telling *telling, const char *season, bool of_enclosure)
{
	json_t *places = json_array();

	for (size_t i = 0; i < telling->count; i++) {
		const char *its = telling->list[i].season;

		if (season ? its && strcmp(its, season) == 0 : !its)
			json_array_append_new(places, told_json(&telling->list[i], of_enclosure));
	}
	return places;
}

static json_t *seasons_json(const struct season *seasons, size_t count,
			    const struct telling *telling, bool of_enclosure)
{
	json_t *array = json_array();

	for (size_t i = 0; i < count; i++) {
		const struct season_dates *dates = &seasons[i].dates;
		bool yearly = dates->kind == YEARLY, once = dates->kind == ONCE;
		char from[MEASURE_TEXT] = "", until[MEASURE_TEXT] = "";

		if (yearly) {
			snprintf(from, sizeof from, "%02d-%02d", dates->first.month, dates->first.day);
			snprintf(until, sizeof until, "%02d-%02d", dates->last.month, dates->last.day);
		} else if (once) {
			show_date(dates->from, from);
			show_date(dates->until, until);
		}
		json_array_append_new(
			array,
			json_pack("{s:s,s:o,s:o,s:o,s:i,s:o}", "name", seasons[i].name, "from",
				  json_text(yearly || (once && dates->has_from) ? from : NULL),
				  "to", json_text(yearly ? until : NULL),
				  "until", json_text(once ? until : NULL), "ramp_days", dates->ramp,
				  "places", places_json(telling, seasons[i].name, of_enclosure)));
	}
	return array;
}

static json_t *species_object(const struct conf *conf, const struct species *species)
{
	struct telling telling = species_telling(species);
	json_t *enclosures = json_array();
	json_t *object;

	for (size_t i = 0; i < conf->enclosure_count; i++)
		if (conf->enclosures[i].species == species)
			json_array_append_new(enclosures, json_string(conf->enclosures[i].name));
	object = json_pack("{s:s,s:o,s:o,s:o,s:o}", "name", species->name, "latin",
			   json_text(species->latin), "enclosures", enclosures,
			   "places", places_json(&telling, NULL, false),
			   "seasons", seasons_json(species->seasons, species->season_count, &telling,
						   false));
	telling_clear(&telling);
	return object;
}

static json_t *enclosure_object(const struct request *request, const struct enclosure *enclosure)
{
	const struct species *species = enclosure->species;
	struct telling telling = enclosure_telling(request->conf, enclosure, request->now);
	json_t *object =
		json_pack("{s:s,s:s,s:o,s:o,s:o}", "name", enclosure->name, "label",
			  enclosure->label, "species", json_text(species ? species->name : NULL),
			  "places", places_json(&telling, NULL, true),
			  "seasons", seasons_json(enclosure->seasons, enclosure->season_count,
						  &telling, true));

	telling_clear(&telling);
	return object;
}

static bool is_asked(const struct species_request *asked, const struct species *species)
{
	return asked->species ? asked->species == species : !asked->enclosure;
}

void species_json(const struct species_request *asked)
{
	const struct conf *conf = asked->request->conf;
	json_t *object = json_object(), *species = json_array();

	for (size_t i = 0; i < conf->species_count; i++)
		if (is_asked(asked, &conf->species[i]))
			json_array_append_new(species, species_object(conf, &conf->species[i]));
	if (asked->species || !asked->enclosure)
		json_object_set(object, "species", species);
	if (asked->enclosure)
		json_object_set_new(object, "enclosures",
				    json_pack("[o]", enclosure_object(asked->request,
								      asked->enclosure)));
	json_decref(species);
	json_print(object, stdout);
}

/* ---- CSV ------------------------------------------------------------------ */

static void csv_line(const char *enclosure, const char *species, const struct told *told)
{
	bool first = true;

	csv_text(stdout, &first, enclosure);
	csv_text(stdout, &first, species);
	csv_text(stdout, &first, told->season);
	csv_text(stdout, &first, place_word(told->place));
	csv_text(stdout, &first, quantity_word(told->quantity));
	csv_text(stdout, &first, unit_word(told->quantity));
	for (int k = 0; k < SOURCE_KEYS; k++) {
		enum source_key key = (enum source_key)k;
		struct range range = rule_range(told->rule, key);

		if (is_range(key)) {
			csv_number(stdout, &first, told->has[key], range.low);
			csv_number(stdout, &first, told->has[key], range.high);
		} else {
			csv_number(stdout, &first, told->has[key], rule_duration(told->rule, key));
		}
	}
	for (int key = 0; key < SOURCE_KEYS; key++) {
		csv_text(stdout, &first, told->has[key] ? speaker_word(told->by[key]) : NULL);
		csv_text(stdout, &first, told->source[key]);
	}
	putchar('\n');
}

static void csv_lines(const char *enclosure, const struct species *species, struct telling telling)
{
	for (size_t i = 0; i < telling.count; i++)
		csv_line(enclosure, species ? species->name : NULL, &telling.list[i]);
	telling_clear(&telling);
}

void species_csv(const struct species_request *asked)
{
	const struct conf *conf = asked->request->conf;

	puts("enclosure,species,season,place,quantity,unit,day_low,day_high,night_low,night_high,"
	     "limits_low,limits_high,patience_seconds,daily_seconds,limits_patience_seconds,day_by,"
	     "day_source,night_by,night_source,limits_by,limits_source,patience_by,"
	     "patience_source,daily_by,daily_source,limits_patience_by,limits_patience_source");
	for (size_t i = 0; i < conf->species_count; i++)
		if (is_asked(asked, &conf->species[i]))
			csv_lines(NULL, &conf->species[i], species_telling(&conf->species[i]));
	if (asked->enclosure)
		csv_lines(asked->enclosure->name, asked->enclosure->species,
			  enclosure_telling(conf, asked->enclosure, asked->request->now));
}
