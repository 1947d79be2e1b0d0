/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Archive, bands and alerts of one enclosure -> its account; see account.h.
 */
#include "report/account.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/asking.h"
#include "conf/band.h"
#include "conf/memory.h"
#include "report/gather.h"

static const double USED_UP = 0.5;    /* of patience: from here on it needs a look */
static const double SILENT_POLLS = 3; /* as the daemon has it */

/* Of a row whose mean is beyond the limits the time it is known; of one that only
 * touches there, a minute. */
static double seconds_beyond(const struct row *row, const struct range *limits, enum side side)
{
	double edge = side == BELOW ? limits->low - row->value : row->value - limits->high;
	double farthest = side == BELOW ? limits->low - row->min : row->max - limits->high;

	if (!row->has_value || farthest <= 0)
		return 0;
	return edge > 0 ? row->ok : fmin(ROW_MINUTE, row->ok);
}

/* Takes the row's extreme on that side, when it is farther. */
static void reach(struct extreme *farthest, const struct row *row, enum side side)
{
	double value = side == BELOW ? row->min : row->max;

	if (isnan(farthest->value) ||
	    (side == BELOW ? value < farthest->value : value > farthest->value))
		*farthest = (struct extreme){ value, (row->from + row->to) / 2 };
}

/* The lowest or highest of all. */
static struct extreme extreme_of(const struct series_rows *rows, enum side side)
{
	struct extreme extreme = { .value = NAN };

	for (size_t i = 0; i < rows->count; i++)
		if (rows->list[i].has_value)
			reach(&extreme, &rows->list[i], side);
	return extreme;
}

/* The window's end, but not what is still to come. */
static double told_end(const struct account_base *base)
{
	return fmin(base->window.to, base->until);
}

/* How far it was out of the band of then, else of the limits, in their widths. */
static double depth_of(const struct in_force *then, const struct row *row, enum side side)
{
	struct range range = then->has_band ? then->band : then->limits;
	double far = side == BELOW ? range.low - row->min : row->max - range.high;

	return far / fmax(range.high - range.low, 1);
}

/* How long it was out on a side, and how far. */
static void sum_side(const struct account_base *base, struct series_account *series,
		     enum side side)
{
	struct in_force last = { 0 };
	double end = told_end(base);

	series->farthest[side].value = series->danger[side].value = NAN;
	for (size_t i = 0; i < series->rows->count; i++) {
		const struct row *row = &series->rows->list[i];
		const struct in_force *then =
			ribbon_next(&series->ribbon, (row->from + row->to) / 2, &last);
		double judged = row_seconds_out(row, side);
		/* Limits narrower than the band of then say nothing of what was in it. */
		double beyond = then->has_limits && (!then->has_band || judged > 0)
					? seconds_beyond(row, &then->limits, side)
					: 0;
		double out = then->has_band ? judged : beyond;

		series->strayed[side] += out;
		series->beyond[side] += beyond;
		if (row->has_value)
			series->beyond_now[side] = beyond > 0;
		if (row->has_value && out > 0) {
			reach(&series->farthest[side], row, side);
			series->depth[side] = fmax(series->depth[side], depth_of(then, row, side));
		}
		if (beyond <= 0 || row->to <= end - RECENT_SECONDS)
			continue;
		series->lately[side] += beyond;
		reach(&series->danger[side], row, side);
	}
}

/* The last row with a reading, or NULL. */
static const struct row *last_known(const struct series_rows *rows)
{
	size_t i = rows->count;

	while (i > 0 && !rows->list[i - 1].has_value)
		i--;
	return i > 0 ? &rows->list[i - 1] : NULL;
}

/* Of what is still to come nothing can be known yet. */
static void find_silence(const struct account_base *base, const struct account *account,
			 struct series_account *series)
{
	const struct conf *conf = base->conf;
	const struct place_conf *place = &account->enclosure->places[series->series.place];
	double every = conf->buses[conf->probes[place->probe].bus].every;
	double end = told_end(base);
	const struct row *last = last_known(series->rows);

	if (last)
		series->latest = (struct extreme){ last->value, (last->from + last->to) / 2 };
	series->silent_since = last ? last->to : base->window.from;
	series->silent = !last || end - series->silent_since >=
				       fmax(SILENT_SECONDS, SILENT_POLLS * every);
}

static void find_excursions(const struct account *account, const struct rule *course,
			    struct series_account *series)
{
	if (!rule_ever_has_band(course))
		return;
	excursions_find(series->rows, account->record.newest, &series->ribbon,
			&series->excursions);
	series->episode = episode_lasting(series->rows, &series->ribbon, series->rule);
}

static const struct series_rows *temperature_beside(const struct account *account,
						    struct series humidity)
{
	for (size_t i = 0; i < account->record.count; i++) {
		const struct series *series = &account->record.series[i].series;

		if (series->place == humidity.place && series->quantity == TEMPERATURE)
			return &account->record.series[i];
	}
	return NULL;
}

static void make_series(const struct account_base *base, struct account *account, size_t i)
{
	struct series_account *series = &account->series[i];
	struct series at = account->record.series[i].series;
	const struct rule *course = &account->enclosure->places[at.place].rules[at.quantity];
	struct daypart_cache cache = { 0 };

	series->series = at;
	series->rows = &account->record.series[i];
	series->rule = rule_at(course, &base->conf->day, &cache, told_end(base), &series->room);
	ribbon_make(base->bands, base->conf, account->enclosure, at, base->window.to,
		    &series->ribbon);
	series->has_band = ribbon_ends(&series->ribbon, base->window).has_band;
	series->totals = totals_of(series->rows, base->window, rule_ever_has_band(course));
	series->least = extreme_of(series->rows, BELOW);
	series->most = extreme_of(series->rows, ABOVE);
	find_excursions(account, course, series);
	for (int side = 0; side < SIDES; side++)
		sum_side(base, series, (enum side)side);
	if (at.quantity == HUMIDITY && !at.computed && !account->enclosure->is_room)
		mistings_find(series->rows, temperature_beside(account, at), &series->mistings);
	find_silence(base, account, series);
}

/* ---- what it asks of its keeper -------------------------------------------- */

static void find_alerts(const struct account_base *base, struct account *account)
{
	const char *name = account->enclosure->name;
	const struct alert_lives *lives = &base->alerts->lives;
	const struct alert_list *shelved = &base->alerts->shelved;

	account->standing = must_calloc(lives->count, sizeof *account->standing);
	for (size_t i = 0; i < lives->count; i++)
		if (strcmp(lives->list[i].last.enclosure, name) == 0 &&
		    alert_stood_at(&lives->list[i], base->until))
			account->standing[account->standing_count++] = &lives->list[i];
	for (size_t i = 0; i < shelved->count; i++)
		if (strcmp(shelved->list[i].enclosure, name) == 0 && shelved->list[i].has_until &&
		    shelved->list[i].time <= base->until && shelved->list[i].until > base->until &&
		    shelved->list[i].until <= shelved->list[i].time + SHELVE_MOST)
			account->shelved = &shelved->list[i];
}

/* Whether so many seconds beyond the limits count. */
static bool counts(const struct series_account *series, double seconds)
{
	double tolerated = series->series.quantity == HUMIDITY ? series->rule->limits_patience : 0;

	return seconds > 0 && seconds >= tolerated;
}

bool series_unsafe(const struct series_account *series, enum side side)
{
	return counts(series, series->lately[side]);
}

static bool was_beyond(const struct series_account *series)
{
	return counts(series, series->beyond[BELOW]) || counts(series, series->beyond[ABOVE]);
}

bool series_wears_out(const struct series_account *series)
{
	const struct episode *episode = &series->episode;

	return episode->lasts && episode->seconds >= USED_UP * series->rule->patience;
}

double account_short(struct window window)
{
	return fmin(SHORT_SECONDS, (window.to - window.from) / 10);
}

/* A misting that is due asks for nobody to look. */
static bool has_alert(const struct account *account)
{
	for (size_t i = 0; i < account->standing_count; i++)
		if (!alert_is_reminder(&account->standing[i]->last))
			return true;
	return false;
}

static bool in_danger(const struct series_account *series)
{
	return (series->beyond_now[BELOW] && series_unsafe(series, BELOW)) ||
	       (series->beyond_now[ABOVE] && series_unsafe(series, ABOVE));
}

static bool is_urgent(const struct account *account)
{
	bool silent = account->count > 0;

	for (size_t i = 0; i < account->standing_count; i++) {
		const struct alert_record *record = &account->standing[i]->last;

		if (record->has_priority && record->priority == NOW)
			return true;
	}
	for (size_t i = 0; i < account->count; i++) {
		silent &= account->series[i].silent;
		if (in_danger(&account->series[i]))
			return true;
	}
	return silent;
}

static void judge(struct account *account)
{
	bool look = has_alert(account), strayed = false, has_band = false;
	bool out = false, endangered = false;
	double known = 0, span = account->window.to - account->window.from;

	for (size_t i = 0; i < account->count; i++) {
		const struct series_account *series = &account->series[i];
		const struct totals *t = &series->totals;

		known += span - t->unknown;
		account->unsafe |= series_unsafe(series, BELOW) || series_unsafe(series, ABOVE);
		/* What is computed is silent because another is. */
		look |= series_wears_out(series) || (series->silent && !series->series.computed);
		out |= series->episode.lasts &&
		       series->episode.seconds >= account_short(account->window);
		endangered |= was_beyond(series);
		if (!series->has_band)
			continue;
		has_band = true;
		strayed |= t->low + t->high >= account_short(account->window);
		account->weight += t->degree_hours /
				   fmax(series->rule->day.high - series->rule->day.low, 1);
	}
	if (account->count)
		account->known = known / (span * (double)account->count);
	look |= account->unsafe;
	strayed |= endangered;
	account->urgent = is_urgent(account);
	account->endangered = !account->unsafe && endangered;
	if (account->shelved || account->enclosure->out_of_service)
		account->need = look || out || strayed ? NEED_ASIDE
				: has_band	       ? NEED_NOTHING
						       : NEED_UNTOLD;
	else
		account->need = look	   ? NEED_LOOK
				: out	   ? NEED_OUT
				: strayed  ? NEED_STRAYED
				: has_band ? NEED_NOTHING
					   : NEED_UNTOLD;
}

void account_reckon(const struct account_base *base, const struct enclosure *enclosure,
		    struct record record, struct account *out)
{
	*out = (struct account){ .enclosure = enclosure, .window = base->window,
				 .record = record, .count = record.count };
	for (size_t i = 0; i < out->count; i++)
		make_series(base, out, i);
	out->seasons = seasons_within(&base->conf->day, enclosure, base->window);
	find_alerts(base, out);
	judge(out);
}

/* How far the band's middle is from where it was in the windows compared with. */
static double moved_since(const struct series_account *series, const struct earlier *earlier,
			  struct window window)
{
	double now, then, sum = 0;
	size_t count = 0;

	for (size_t i = 0; i < earlier->windows; i++)
		if (ribbon_middle(&series->ribbon, earlier->list[i], &then)) {
			sum += then;
			count++;
		}
	return count && ribbon_middle(&series->ribbon, window, &now) ? now - sum / (double)count : 0;
}

void series_compare(struct series_account *series, struct earlier earlier, struct window window)
{
	series->earlier = earlier;
	series->moved = moved_since(series, &earlier, window);
}

void account_make(const struct account_base *base, const struct enclosure *enclosure,
		  bool with_earlier, struct account *out)
{
	struct earlier earlier[MAX_SERIES] = { 0 };
	struct record record;

	record_read(base->conf, enclosure, base->window, &record);
	account_reckon(base, enclosure, record, out);
	if (with_earlier)
		earlier_read(base->conf, enclosure, base->window, earlier);
	for (size_t i = 0; i < out->count; i++)
		series_compare(&out->series[i], earlier[i], base->window);
}

void account_clear(struct account *account)
{
	for (size_t i = 0; i < account->count; i++) {
		ribbon_clear(&account->series[i].ribbon);
		excursions_clear(&account->series[i].excursions);
		mistings_clear(&account->series[i].mistings);
	}
	free(account->standing);
	free(account->seasons);
	record_clear(&account->record);
	*account = (struct account){ 0 };
}
