/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Dryings, saved and found; see dryings.h.
 */
#include "report/dryings.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "report/drying.h"

enum { DAY = 86400 };

static const double LEAD = 3 * 3600;    /* s before a piece that show whether a rise is a misting */
static const double TOGETHER = 45 * 60; /* s: mistings nearer than that are one (mistings.c) */
static const double MINUTES_SPARE = DAY / 2.0; /* s: minute rows are surely there that much later */
static const double ROOM_SPARE = 7 * DAY; /* s: a room read that much further back will do */

/* ---- the room's air ---------------------------------------------------------- */

void drying_base_begin(struct drying_base *base, const struct conf *conf, struct window window,
		       const struct band_list *bands)
{
	*base = (struct drying_base){ .conf = conf, .window = window, .bands = bands };
}

void drying_base_end(struct drying_base *base)
{
	for (size_t i = 0; i < base->room_count; i++)
		room_past_clear(&base->rooms[i]);
}

const struct room_past *drying_base_room(struct drying_base *base, double from)
{
	size_t at = 0;

	while (at < base->room_count &&
	       (base->asked[at] > from || base->asked[at] < from - ROOM_SPARE))
		at++;
	if (at == base->room_count) {
		if (base->room_count < ROOM_PASTS) {
			base->room_count++;
		} else {
			at = base->room_next;
			base->room_next = (at + 1) % ROOM_PASTS;
			room_past_clear(&base->rooms[at]);
		}
		base->asked[at] = from;
		room_past_read(base->conf, (struct window){ base->asked[at], base->window.to },
			       DRYING_STEP, &base->rooms[at]);
	}
	return base->rooms[at].present ? &base->rooms[at] : NULL;
}

/* ---- found in rows ----------------------------------------------------------- */

/* Where rows of hours are all that reaches back so far, those behind them. */
static struct window read_fine(const struct conf *conf, const struct enclosure *enclosure,
			       struct window window, struct record *out)
{
	double kept = conf->archive.ten_minutes - ROW_HOUR;

	record_read(conf, enclosure, window, out);
	if (out->row_size > ROW_TEN_MINUTES && out->newest - kept > window.from &&
	    out->newest - kept < window.to) {
		window.from = ceil((out->newest - kept) / ROW_HOUR) * ROW_HOUR;
		record_clear(out);
		record_read(conf, enclosure, window, out);
	}
	return window;
}

double drying_newest(const struct conf *conf, const struct enclosure *enclosure)
{
	struct record record;
	double newest;

	record_read(conf, enclosure, (struct window){ 0, ROW_MINUTE }, &record);
	newest = record.newest;
	record_clear(&record);
	return newest;
}

double drying_minutes_from(const struct conf *conf, double newest)
{
	return ceil((newest - conf->archive.minutes + MINUTES_SPARE) / ROW_HOUR) * ROW_HOUR;
}

double drying_known(const struct series_rows *rows, struct window piece)
{
	double known = 0;

	for (size_t i = 0; i < rows->count; i++) {
		const struct row *row = &rows->list[i];
		double part = fmin(row->to, piece.to) - fmax(row->from, piece.from);

		if (row->to - row->from <= ROW_TEN_MINUTES && part > 0)
			known += row->ok * part / (row->to - row->from);
	}
	return known;
}

/* A fit whose numbers are none cannot be kept. */
static void check(struct drying *d)
{
	const double numbers[] = { d->time_constant, d->time_constant_error, d->floor,
				   d->floor_error, d->drop, d->freedom, d->floor_humidity,
				   d->celsius };

	for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++)
		if (d->verdict == DRYING_FITTED && !isfinite(numbers[i]))
			d->verdict = DRYING_RAGGED;
}

/* Begun in the piece, and none that is known already. */
static bool is_wanted(const struct drying_search *search, const struct misting *misting)
{
	return misting->at >= search->piece.from - search->early &&
	       misting->at < search->piece.to && misting->at - search->after > TOGETHER &&
	       search->before - misting->at > TOGETHER;
}

static void fit_all(struct drying_base *base, const struct drying_search *search,
		    struct window read, struct drying_find *out)
{
	const struct room_past *room = drying_base_room(base, read.from);
	const struct drying_air air = { &out->past.bins, room ? &room->bins : NULL,
					&out->past.ribbon };
	const struct mistings *mistings = &out->past.mistings;

	out->list = must_calloc(mistings->count, sizeof *out->list);
	for (size_t i = 0; i < mistings->count; i++) {
		const struct misting *misting = &mistings->list[i];
		double next = i + 1 < mistings->count ? mistings->list[i + 1].at : INFINITY;
		double end = fmin(fmin(fmin(next, search->before), misting->at + DRYING_MOST), read.to);

		if (!is_wanted(search, misting))
			continue;
		drying_fit(&air, *misting, end, &out->list[out->count]);
		check(&out->list[out->count++]);
	}
}

void drying_find(struct drying_base *base, const struct enclosure *enclosure, enum place place,
		 struct drying_search search, struct drying_find *out)
{
	struct window read = {
		.from = fmin(search.piece.from - LEAD, base->window.to - DAY),
		.to = fmin(search.piece.to + DRYING_MOST, base->window.to),
	};

	*out = (struct drying_find){ 0 };
	read = read_fine(base->conf, enclosure, read, &out->record);

	const struct series_rows *humidity = record_series(&out->record, place, HUMIDITY);

	if (humidity)
		out->known = drying_known(humidity, search.piece);
	out->present = place_past_make(base->conf, enclosure, &out->record, place, base->bands, read,
				       DRYING_STEP, &out->past);
	if (out->present)
		fit_all(base, &search, read, out);
}

void drying_find_clear(struct drying_find *find)
{
	if (find->present)
		place_past_clear(&find->past);
	record_clear(&find->record);
	free(find->list);
	*find = (struct drying_find){ 0 };
}

/* ---- both together ----------------------------------------------------------- */

static void append(struct dryings *out, const struct drying *list, size_t count)
{
	out->list = must_resize(out->list, out->count + count, sizeof *out->list);
	if (count)
		memcpy(out->list + out->count, list, count * sizeof *list);
	out->count += count;
}

/* Up to when a record holds for a window that ends at `to`: of a drying that was followed for
 * longer it knows what came afterwards. */
static double holds_until(const struct drying_record *record, double to)
{
	for (size_t i = 0; i < record->count; i++)
		if (record->list[i].to > to)
			return fmin(record->list[i].at, to);
	return fmin(record->to, to);
}

/* Of a record those in [from, to). */
static void append_saved(struct dryings *out, const struct drying_record *record, double from,
			 double to)
{
	for (size_t i = 0; i < record->count; i++)
		if (record->list[i].at >= from && record->list[i].at < to)
			append(out, &record->list[i], 1);
	out->known += record->known * (fmin(record->to, to) - from) / (record->to - record->from);
}

static void append_found(struct dryings *out, const struct drying_find *find)
{
	append(out, find->list, find->count);
	out->known += find->known;
}

static double last_at(const struct dryings *dryings)
{
	return dryings->count ? dryings->list[dryings->count - 1].at : -INFINITY;
}

/* Looks through the part of a piece with minute rows, or all of it when it lies before them. */
static void find_last(struct drying_base *base, const struct enclosure *enclosure,
		      enum place place, struct drying_search search, double minutes, struct drying_find *out)
{
	if (search.piece.from < minutes && minutes < search.piece.to)
		search = (struct drying_search){ { minutes, search.piece.to }, search.after,
						 search.before, ROW_TEN_MINUTES };
	drying_find(base, enclosure, place, search, out);
}

/* What lies before that part: none of it goes on behind a misting that minutes show. */
static void take_first(struct drying_base *base, const struct enclosure *enclosure,
		       struct drying_search search, double minutes, const struct drying_find *last,
		       struct dryings *out)
{
	struct drying_find find;

	if (search.piece.from >= minutes || minutes >= search.piece.to)
		return;
	search.piece.to = minutes;
	search.before = last->count ? last->list[0].at : search.before;
	drying_find(base, enclosure, out->place, search, &find);
	append_found(out, &find);
	drying_find_clear(&find);
}

/* What is in the rows of a piece. */
static void take_between(struct drying_base *base, const struct enclosure *enclosure,
			 struct drying_search search, double minutes, struct drying_find *last,
			 struct dryings *out)
{
	find_last(base, enclosure, out->place, search, minutes, last);
	take_first(base, enclosure, search, minutes, last, out);
	append_found(out, last);
}

static struct drying_search search_of(const struct drying_base *base, struct window piece,
				      double before, const struct dryings *out)
{
	return (struct drying_search){ piece, last_at(out), before,
				       piece.from > base->window.from ? ROW_TEN_MINUTES : 0 };
}

/* What is saved, and what lies before it and between; returns where it ends. */
static double take_saved(struct drying_base *base, const struct enclosure *enclosure,
			 const struct drying_log *log, double minutes, struct dryings *out)
{
	struct window window = base->window;
	double at = window.from;

	for (size_t i = 0; i < log->count; i++) {
		const struct drying_record *record = &log->list[i];
		double until = holds_until(record, window.to);

		if (strcmp(record->enclosure, enclosure->name) != 0 || record->place != out->place ||
		    until <= at || record->from >= window.to)
			continue;
		if (record->from > at) {
			struct drying_find find;
			double before = record->count ? record->list[0].at : INFINITY;

			take_between(base, enclosure,
				     search_of(base, (struct window){ at, record->from }, before,
					       out),
				     minutes, &find, out);
			drying_find_clear(&find);
			at = record->from;
		}
		append_saved(out, record, at, until);
		at = until;
	}
	return at;
}

/* The room's air now: the mean of the window's last day. */
static void take_present(struct drying_base *base, struct dryings *out)
{
	double from = base->window.to - DAY, vapour = 0, known = 0;
	const struct room_past *room = drying_base_room(base, from);

	for (size_t i = 0; room && i < room->bins.count; i++)
		if (bin_time(&room->bins, i) >= from && room->bins.list[i].ok > 0) {
			vapour += room->bins.list[i].ok * room->bins.list[i].vapour;
			known += room->bins.list[i].ok;
		}
	out->has_room = known > 0;
	out->room = known > 0 ? vapour / known : 0;
}

bool dryings_make(struct drying_base *base, const struct enclosure *enclosure,
		  struct drying_log *log, struct gathered *gathered, struct dryings *out)
{
	double newest = drying_newest(base->conf, enclosure);
	double minutes = drying_minutes_from(base->conf, newest), at;
	const struct drying_record *last;
	enum place place;

	if (!humid_place(base->conf, enclosure, &place))
		return false;
	*out = (struct dryings){ .place = place };

	drying_log_drop_late(log, enclosure->name, newest);
	at = take_saved(base, enclosure, log, minutes, out);
	take_between(base, enclosure,
		     search_of(base, (struct window){ at, base->window.to }, INFINITY, out), minutes,
		     &out->find, out);
	gather_note(gathered, enclosure, &out->find.record);
	take_present(base, out);
	last = drying_log_last(log, enclosure->name, place, base->window.to);
	out->has_law = last && last->has_law;
	if (out->has_law)
		out->law = last->law;
	return true;
}

void dryings_forget_rows(struct dryings *dryings)
{
	drying_find_clear(&dryings->find);
}

void dryings_clear(struct dryings *dryings)
{
	drying_find_clear(&dryings->find);
	free(dryings->list);
	*dryings = (struct dryings){ 0 };
}
