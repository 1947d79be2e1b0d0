/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Past bands; see ribbon.h.
 */
#include "report/ribbon.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>

#include "conf/band.h"
#include "conf/memory.h"
#include "conf/range.h"
#include "conf/season.h"

static const double UNLOGGED = 400 * 86400.0; /* s: so far back without a log: a year, and more */

static int by_series(const struct band_record *one, const struct band_record *other)
{
	int names = strcmp(one->enclosure, other->enclosure);

	if (names)
		return names;
	if (one->series.place != other->series.place)
		return one->series.place < other->series.place ? -1 : 1;
	return (one->series.quantity > other->series.quantity) -
	       (one->series.quantity < other->series.quantity);
}

static int by_series_and_time(const void *a, const void *b)
{
	const struct band_record *one = a, *other = b;
	int series = by_series(one, other);

	return series ? series : (one->time > other->time) - (one->time < other->time);
}

void bands_load(const char *state, struct band_list *out)
{
	char *path = state_path(state, BANDS_FILE);
	FILE *file = fopen(path, "re");
	struct band_record record;
	char *line = NULL;
	size_t size = 0;

	*out = (struct band_list){ 0 };
	while (file && getline(&line, &size, file) > 0) {
		if (!band_from_line(line, &record))
			continue;
		out->list = must_resize(out->list, out->count + 1, sizeof *out->list);
		out->list[out->count++] = record;
	}
	if (file)
		fclose(file);
	free(line);
	free(path);
	if (out->count)
		qsort(out->list, out->count, sizeof *out->list, by_series_and_time);
}

void bands_clear(struct band_list *bands)
{
	free(bands->list);
	*bands = (struct band_list){ 0 };
}

/* The first record not before `wanted` in the order of the list. */
static size_t first_from(const struct band_list *bands, const struct band_record *wanted)
{
	size_t low = 0, high = bands->count;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (by_series(&bands->list[middle], wanted) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

/* The steps of its seasons from the last record on, as far as that is what the
 * configuration says. */
static void follow(struct ribbon *ribbon, const struct conf *conf,
		   const struct enclosure *enclosure, double since, double until)
{
	const struct series series = ribbon->list[0].series;
	const struct rule *rule = &enclosure->places[series.place].rules[series.quantity];

	if (rule->season_count == 0)
		return;

	struct band_record last = ribbon->list[ribbon->count - 1];
	struct band_record now = band_record_of(conf, enclosure, series, since);

	if (!band_same(&last, &now))
		return;
	for (int date = daypart_at(&conf->day, since).date + 1;; date++) {
		double begins = daypart_begin(&conf->day, date);

		if (begins > until)
			return;
		if (!rule_steps(rule, date))
			continue;
		ribbon->list =
			must_resize(ribbon->list, ribbon->count + 1, sizeof *ribbon->list);
		ribbon->list[ribbon->count++] = band_record_of(conf, enclosure, series, begins);
	}
}

void ribbon_make(const struct band_list *bands, const struct conf *conf,
		 const struct enclosure *enclosure, struct series series, double until,
		 struct ribbon *out)
{
	double since = until - UNLOGGED;
	struct band_record now = band_record_of(conf, enclosure, series, since);
	size_t first = first_from(bands, &now), end = first;

	while (end < bands->count && by_series(&bands->list[end], &now) == 0)
		end++;
	*out = (struct ribbon){ .count = end > first ? end - first : 1 };
	out->list = must_calloc(out->count, sizeof *out->list);
	memcpy(out->list, end > first ? &bands->list[first] : &now,
	       out->count * sizeof *out->list);
	follow(out, conf, enclosure, out->list[out->count - 1].time, until);
}

void ribbon_foresee(struct ribbon *ribbon, const struct conf *conf,
		    const struct enclosure *enclosure, double now, double until)
{
	while (ribbon->count > 1 && ribbon->list[ribbon->count - 1].time > now)
		ribbon->count--;
	follow(ribbon, conf, enclosure, now, until);
}

void ribbon_clear(struct ribbon *ribbon)
{
	free(ribbon->list);
	*ribbon = (struct ribbon){ 0 };
}

const struct band_record *ribbon_record(const struct ribbon *ribbon, double instant)
{
	size_t at = 0;

	while (at + 1 < ribbon->count && ribbon->list[at + 1].time <= instant)
		at++;
	return &ribbon->list[at];
}

struct in_force ribbon_at(const struct ribbon *ribbon, double instant)
{
	const struct band_record *record = ribbon_record(ribbon, instant);
	size_t at = (size_t)(record - ribbon->list);
	const struct rule rule = { .day = record->day, .night = record->night };
	struct daypart_span span = daypart_at(&record->clock, instant);
	/* A changeover belongs to the part it leads to: shade the night from its begin. */
	bool night = span.part == NIGHT ||
		     (span.part == CHANGEOVER &&
		      daypart_at(&record->clock, span.from + record->clock.changeover).part ==
			      NIGHT);

	return (struct in_force){
		.has_band = record->has_band,
		.band = record->has_band ? band_in(&rule, span.part) : (struct range){ 0 },
		.has_limits = record->has_limits,
		.limits = record->limits,
		.night = night,
		.from = at ? fmax(span.from, record->time) : span.from,
		.until = at + 1 < ribbon->count ? fmin(span.until, ribbon->list[at + 1].time)
						: span.until,
	};
}

static bool same_range(struct range a, struct range b)
{
	return fabs(a.low - b.low) < 1e-9 && fabs(a.high - b.high) < 1e-9;
}

bool ribbon_same_band(const struct band_record *a, const struct band_record *b)
{
	return a->has_band == b->has_band &&
	       (!a->has_band || (same_range(a->day, b->day) && same_range(a->night, b->night)));
}

bool ribbon_same_limits(const struct band_record *a, const struct band_record *b)
{
	return a->has_limits == b->has_limits &&
	       (!a->has_limits || same_range(a->limits, b->limits));
}

struct ribbon_ends ribbon_ends(const struct ribbon *ribbon, struct window window)
{
	struct ribbon_ends ends = { .first = ribbon_record(ribbon, window.from) };
	const struct band_record *past = ribbon->list + ribbon->count;

	ends.last = ends.first;
	ends.has_band = ends.first->has_band;
	while (ends.last + 1 < past && ends.last[1].time < window.to)
		ends.last++;
	for (const struct band_record *at = ends.first; at < ends.last; at++) {
		ends.has_band |= at[1].has_band;
		ends.band_moved |= !ribbon_same_band(at, ends.last);
		ends.limits_moved |= !ribbon_same_limits(at, ends.last);
	}
	return ends;
}

bool ribbon_middle(const struct ribbon *ribbon, struct window window, double *middle)
{
	double sum = 0, seconds = 0;

	for (double at = window.from; at < window.to;) {
		struct in_force force = ribbon_at(ribbon, at);
		double until = fmin(force.until, window.to);

		if (force.has_band) {
			sum += range_middle(force.band) * (until - at);
			seconds += until - at;
		}
		at = until;
	}
	*middle = sum / seconds;
	return seconds > 0;
}

const struct in_force *ribbon_next(const struct ribbon *ribbon, double instant,
				   struct in_force *last)
{
	if (instant < last->from || instant >= last->until)
		*last = ribbon_at(ribbon, instant);
	return last;
}
