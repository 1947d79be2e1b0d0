/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside drying as JSON and CSV.
 */
#include "report/drying_view.h"

#include <math.h>

#include "conf/words.h"
#include "report/csv.h"
#include "report/drying.h"
#include "report/json.h"

enum { LEAST_RANGE = 3 };

/* null when nothing is known; a member is null where the answer is never, and low and high of
 * fewer than three. */
static json_t *spread_json(const struct spread *spread)
{
	if (!spread->count)
		return json_null();
	return json_pack("{s:o,s:o,s:o}", "median", json_number(true, spread->median),
			 "low", json_number(spread->count >= LEAST_RANGE, spread->low), "high",
			 json_number(spread->count >= LEAST_RANGE, spread->high));
}

static json_t *reach_json(const struct drying_reach *reach)
{
	json_t *object = spread_json(&reach->spread);

	if (json_is_object(object))
		json_object_set_new(object, "dry_quarter", json_number(reach->has_dry, reach->dry));
	return object;
}

static json_t *rejected_json(const struct drying_summary *summary)
{
	json_t *object = json_object();

	for (int verdict = 0; verdict < DRYING_VERDICTS; verdict++)
		if (summary->rejected[verdict])
			json_object_set_new(object, drying_verdict_word((enum drying_verdict)verdict),
					    json_integer((json_int_t)summary->rejected[verdict]));
	return object;
}

static json_t *trend_json(const struct drying_trend *trend)
{
	if (!trend->told)
		return json_null();
	return json_pack("{s:o,s:o,s:o,s:o}", "change", json_number(true, trend->change),
			 "seconds", json_number(true, trend->span),
			 "chance", json_number(true, trend->chance),
			 "room_change", json_number(trend->has_room_change, trend->room_change));
}

/* null when nothing can be said. */
static json_t *told(const struct reached *reached)
{
	return json_text(reached->reach == REACH_UNTOLD ? NULL : reach_word(reached->reach));
}

static json_t *drying_to_json(const struct drying *d)
{
	bool fitted = d->verdict == DRYING_FITTED;
	struct range constant = fitted ? drying_time_constant_range(d) : (struct range){ 0 };

	return json_pack(
		"{s:o,s:o,s:o,s:o,s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}",
		"time", json_instant(d->at), "before", json_number(true, d->before),
		"top", json_number(true, d->top), "until", json_instant(d->to),
		"verdict", drying_verdict_word(d->verdict),
		"time_constant_hours", json_number(fitted, d->time_constant),
		"time_constant_range", json_range(fitted, constant),
		"floor_humidity", json_number(fitted, d->floor_humidity),
		"air_changes_per_hour", json_number(fitted && d->has_air_changes, d->air_changes),
		"band_edge", told(&d->edge),
		"hours_to_band_edge", json_number(is_reached(&d->edge), d->edge.hours),
		"limit", told(&d->limit),
		"hours_to_limit", json_number(is_reached(&d->limit), d->limit.hours));
}

static json_t *list_json(const struct dryings *dryings)
{
	json_t *list = json_array();

	for (size_t i = 0; i < dryings->count; i++)
		json_array_append_new(list, drying_to_json(&dryings->list[i]));
	return list;
}

static json_t *entry_json(const struct drying_entry *entry)
{
	const struct enclosure *at = entry->enclosure;
	const struct drying_summary *s = &entry->summary;
	bool there = entry->has_place;

	return json_pack(
		"{s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}",
		"name", at->name,
		"build", json_text(at->has_build ? build_word(at->build) : NULL),
		"place", json_text(there ? place_word(entry->dryings.place) : NULL),
		"mistings", there ? json_integer((json_int_t)s->mistings) : json_null(),
		"mistings_per_day", json_number(drying_has_rate(entry), s->a_day),
		"fitted", there ? json_integer((json_int_t)s->fitted) : json_null(),
		"rejected", there ? rejected_json(s) : json_null(),
		"time_constant_hours", spread_json(&s->time_constant),
		"floor_humidity", json_number(s->has_floor, s->floor_humidity),
		"hours_to_band_edge", reach_json(&s->edge),
		"hours_to_limit", reach_json(&s->limit),
		"air_changes_per_hour", json_number(s->air_changes.count > 0,
						    s->air_changes.median),
		"trend", trend_json(&s->trend));
}

void drying_json(const struct drying_view *view)
{
	const struct window *window = &view->request->window;
	json_t *enclosures = json_array();

	for (size_t i = 0; i < view->count; i++) {
		json_t *object = entry_json(&view->list[i]);

		if (view->only && view->list[i].has_place)
			json_object_set_new(object, "dryings", list_json(&view->list[i].dryings));
		json_array_append_new(enclosures, object);
	}
	json_print(json_pack("{s:o,s:o,s:o}", "from", json_instant(window->from), "to",
			     json_instant(window->to), "enclosures", enclosures), stdout);
}

/* ---- CSV -------------------------------------------------------------------- */

static void csv_spread(bool *first, const struct spread *spread)
{
	csv_number(stdout, first, spread->count > 0, spread->median);
	csv_number(stdout, first, spread->count >= LEAST_RANGE, spread->low);
	csv_number(stdout, first, spread->count >= LEAST_RANGE, spread->high);
}

static void csv_reach(bool *first, const struct drying_reach *reach)
{
	csv_spread(first, &reach->spread);
	csv_number(stdout, first, reach->has_dry, reach->dry);
}

static void csv_line(const struct window *window, const struct drying_entry *entry)
{
	const struct enclosure *at = entry->enclosure;
	const struct drying_summary *s = &entry->summary;
	bool first = true;

	csv_number(stdout, &first, true, window->from);
	csv_number(stdout, &first, true, window->to);
	csv_text(stdout, &first, at->name);
	csv_text(stdout, &first, at->has_build ? build_word(at->build) : NULL);
	csv_text(stdout, &first, entry->has_place ? place_word(entry->dryings.place) : NULL);
	csv_number(stdout, &first, entry->has_place, (double)s->mistings);
	csv_number(stdout, &first, drying_has_rate(entry), s->a_day);
	csv_number(stdout, &first, entry->has_place, (double)s->fitted);
	csv_spread(&first, &s->time_constant);
	csv_number(stdout, &first, s->has_floor, s->floor_humidity);
	csv_reach(&first, &s->edge);
	csv_reach(&first, &s->limit);
	csv_number(stdout, &first, s->air_changes.count > 0, s->air_changes.median);
	putchar('\n');
}

void drying_csv(const struct drying_view *view)
{
	puts("from,to,enclosure,build,place,mistings,mistings_per_day,fitted,"
	     "time_constant_hours,time_constant_low,time_constant_high,floor_humidity,"
	     "hours_to_band_edge,band_edge_low,band_edge_high,band_edge_dry_quarter,"
	     "hours_to_limit,limit_low,limit_high,limit_dry_quarter,air_changes_per_hour");
	for (size_t i = 0; i < view->count; i++)
		csv_line(&view->request->window, &view->list[i]);
}
