/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside away: what would happen if nobody came for that long.
 */
#include "report/request.h"

#include <math.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/away_view.h"
#include "report/csv.h"
#include "report/json.h"

static const double SHORTEST = 3600, LONGEST = 30 * 86400.0; /* s */
static const double LATELY = 86400; /* s: nights, and not the cold of a past power cut */

const char *gap_phrase(enum outlook_gap gap)
{
	static const char *const phrases[] = {
		[GAP_NO_ARCHIVE] = "no archive that can be read",
		[GAP_NO_BAND] = "no humidity with a band is measured",
		[GAP_NO_THERMOMETER] = "no thermometer beside the humidity probe",
		[GAP_TOLD_SILENT] = "an alert stands that its probe is silent",
		[GAP_TOLD_FROZEN] = "an alert stands that its probe is frozen",
		[GAP_SILENT] = "no reading in the last hour",
		[GAP_SHORT] = "too little of the past is known",
		[GAP_GUESSED] = ("nothing is known of the room's air, and it was never left "
				 "unmisted so long"),
	};

	return gap == GAP_NONE ? NULL : phrases[gap];
}

double away_needed_at(const struct away_view *view, const struct outlook *outlook)
{
	return view->base.window.to + round(outlook->away.by * 3600);
}

/* ---- JSON ----------------------------------------------------------------- */

/* Its members are null where that is not within the time asked for. */
static json_t *json_hours(bool known, struct spread hours)
{
	if (!known)
		return json_null();
	return json_pack("{s:o,s:o,s:o}", "median", json_number(true, hours.median),
			 "low", json_number(true, hours.low), "high", json_number(true, hours.high));
}

static json_t *json_power_cut(const struct outlook_base *base, const struct power_cut *cut)
{
	json_t *untold;

	if (!cut->known)
		return json_null();
	untold = json_array();
	for (enum place place = 0; place < PLACES; place++)
		if (cut->untold[place])
			json_array_append_new(untold, json_string(place_word(place)));
	return json_pack("{s:s,s:o,s:o,s:o,s:o,s:o,s:I}", "place", place_word(cut->place),
			 "not_known", untold,
			 "limit", json_number(true, cut->limit),
			 "room", json_number(true, base->coldest),
			 "passes_limit_after_hours", json_number(true, cut->hours),
			 "time_constant_hours", json_number(true, cut->cooling.quick),
			 "seen", (json_int_t)cut->cooling.count);
}

static json_t *json_of(const struct away_view *view, const struct outlook *at)
{
	bool known = at->gap == GAP_NONE;

	return json_pack("{s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "name", at->enclosure->name,
			 "verdict", json_text(away_word(at->away.verdict)),
			 "reason", json_text(gap_phrase(at->gap)),
			 "place", json_text(at->has_place ? place_word(at->place) : NULL),
			 "leaves_band_after_hours", json_hours(known, at->forecast.leaves),
			 "passes_limit_after_hours", json_hours(known, at->forecast.passes),
			 "patience_used_up_after_hours", json_hours(known, at->forecast.told),
			 "longest_below_hours", json_hours(known, at->forecast.longest),
			 "needs_somebody_at",
			 at->away.verdict == AWAY_NEEDS ? json_instant(away_needed_at(view, at))
							: json_null(),
			 "power_cut", json_power_cut(&view->base, &at->cut));
}

static void print_json(const struct away_view *view)
{
	json_t *enclosures = json_array();

	for (size_t i = 0; i < view->count; i++)
		json_array_append_new(enclosures, json_of(view, &view->list[i]));
	json_print(json_pack("{s:o,s:o,s:o,s:o,s:o}", "hours", json_number(true, view->base.hours),
			     "from", json_instant(view->base.window.from),
			     "to", json_instant(view->base.window.to),
			     "standing", view->standing.known
						 ? json_integer((json_int_t)view->standing.alerts.count)
						 : json_null(),
			     "enclosures", enclosures),
		   stdout);
}

/* ---- CSV ------------------------------------------------------------------ */

static void csv_hours(bool *first, bool known, struct spread hours)
{
	csv_number(stdout, first, known && isfinite(hours.median), hours.median);
	csv_number(stdout, first, known && isfinite(hours.low), hours.low);
	csv_number(stdout, first, known && isfinite(hours.high), hours.high);
}

static void print_csv_line(const struct away_view *view, const struct outlook *at)
{
	const struct power_cut *cut = &at->cut;
	bool first = true, known = at->gap == GAP_NONE, needs = at->away.verdict == AWAY_NEEDS;

	csv_number(stdout, &first, true, view->base.window.to);
	csv_number(stdout, &first, true, view->base.hours);
	csv_text(stdout, &first, at->enclosure->name);
	csv_text(stdout, &first, away_word(at->away.verdict));
	csv_text(stdout, &first, gap_phrase(at->gap));
	csv_text(stdout, &first, at->has_place ? place_word(at->place) : NULL);
	csv_hours(&first, known, at->forecast.leaves);
	csv_hours(&first, known, at->forecast.passes);
	csv_hours(&first, known, at->forecast.told);
	csv_hours(&first, known, at->forecast.longest);
	csv_number(stdout, &first, needs, needs ? away_needed_at(view, at) : 0);
	csv_text(stdout, &first, cut->known ? place_word(cut->place) : NULL);
	csv_number(stdout, &first, cut->known && isfinite(cut->hours), cut->hours);
	csv_number(stdout, &first, cut->known, cut->cooling.quick);
	putchar('\n');
}

static void print_csv(const struct away_view *view)
{
	puts("to,hours,enclosure,verdict,reason,place,leaves_median,leaves_low,leaves_high,"
	     "passes_median,passes_low,passes_high,used_up_median,used_up_low,used_up_high,"
	     "longest_median,longest_low,longest_high,needs_somebody_at,power_cut_place,power_cut_hours,time_constant_hours");
	for (size_t i = 0; i < view->count; i++)
		print_csv_line(view, &view->list[i]);
}

/* ---- the answer ------------------------------------------------------------- */

/* All that are in service. */
static void look(const struct request *request, struct away_view *view)
{
	const struct conf *conf = request->conf;

	view->list = must_calloc(conf->enclosure_count + 1, sizeof *view->list);
	for (size_t i = 0; i < conf->enclosure_count; i++) {
		const struct enclosure *enclosure = &conf->enclosures[i];
		struct record record;

		if (enclosure->is_room || enclosure->out_of_service)
			continue;
		record_read(conf, enclosure, request->window, &record);
		gather_note(&view->gathered, enclosure, &record);
		outlook_make(&view->base, enclosure, &record, &view->list[view->count++]);
		record_clear(&record);
	}
	if (view->count)
		qsort(view->list, view->count, sizeof *view->list, outlook_compare);
}

/* The room's temperature alone, for a room whose probe gives no more.  False when it gives
 * none.  What is wrong with its archive room_past_read tells; here it is counted. */
static bool read_temperature(const struct request *request, struct gathered *gathered,
			     struct bins *out)
{
	const struct enclosure *room = find_enclosure(request->conf, "room");
	const struct series_rows *rows;
	struct record record;

	if (!room || !room->places[ROOM_AIR].watched)
		return false;
	record_read(request->conf, room, request->window, &record);
	gathered->unreadable += record.trouble && !record.missing;
	rows = record_series(&record, ROOM_AIR, TEMPERATURE);
	if (rows)
		bins_make(NULL, rows, request->window, FORECAST_STEP, out);
	record_clear(&record);
	return rows;
}

/* Of the steps since that instant.  False when none is known. */
static bool coldest_of(const struct bins *bins, double since, double *out)
{
	*out = INFINITY;
	for (size_t i = 0; i < bins->count; i++)
		if (bins->list[i].ok > 0 && bin_time(bins, i) > since)
			*out = fmin(*out, bins->list[i].celsius);
	return isfinite(*out);
}

/* False after a sentence on standard error. */
static bool read_hours(const char *text, double *out)
{
	double seconds;

	if (parse_duration(text, &seconds) && seconds >= SHORTEST && seconds <= LONGEST) {
		*out = seconds / 3600;
		return true;
	}
	fprintf(stderr, "warmside: %s is not how long nobody comes; write a duration from 1h to "
		"30d, for example 3d\n", text);
	return false;
}

int away_command(const struct request *asked)
{
	struct request request = *asked;
	struct away_view view = { .request = &request };
	struct band_list bands;
	struct room_past room;
	struct bins temperature = { 0 };
	const struct alert_record *told;
	double earliest;

	if (!read_hours(request.words[0], &view.base.hours))
		return USAGE;
	earliest = request.window.to - FORECAST_DAYS * 86400.0;
	request.window.from = request.from_unsaid ? earliest : fmax(request.window.from, earliest);
	view.base.conf = request.conf;
	view.base.window = request.window;
	view.base.bands = &bands;
	view.base.room = &room;
	bands_load(request.conf->state, &bands);
	standing_load(request.conf->state, request.until_now ? request.now : request.window.to,
		      &view.standing);
	view.base.standing = &view.standing;
	room_past_read(request.conf, request.window, FORECAST_STEP, &room);
	told = standing_of_probe(&view.standing, "room", ROOM_AIR);
	if (told && told->condition == FROZEN)
		room.present = false; /* it gives values all the same */
	else if (read_temperature(&request, &view.gathered, &temperature) &&
		 coldest_of(&temperature, request.window.to - LATELY, &view.base.coldest))
		view.base.room_temperature = &temperature;
	look(&request, &view);

	if (request.format == FORMAT_JSON)
		print_json(&view);
	else if (request.format == FORMAT_CSV)
		print_csv(&view);
	else
		away_print_text(&view);
	free(view.list);
	standing_clear(&view.standing);
	bins_clear(&temperature);
	room_past_clear(&room);
	bands_clear(&bands);
	return gathered_result(&view.gathered);
}
