/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All dryings of an enclosure over a window: from dryings.jsonl where that covers it,
 * and from fine rows for the rest of it.
 */
#ifndef WARMSIDE_REPORT_DRYINGS_H
#define WARMSIDE_REPORT_DRYINGS_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/dryinglog.h"
#include "report/gather.h"
#include "report/past.h"

/* ---- what is saved --------------------------------------------------------- */

/* All of dryings.jsonl, by enclosure, place and time. */
struct drying_log {
	struct drying_record *list;
	size_t count;
	size_t damaged;         /* lines that are no records */
	size_t late;            /* records taken out by drying_log_drop_late */
};

/* Lines that are no records are counted only; a log not begun yet is an empty one. */
void drying_log_load(const char *state, struct drying_log *out);
/* The same from what is open already, from its beginning on. */
void drying_log_read(FILE *file, struct drying_log *out);
void drying_log_clear(struct drying_log *log);

/* Takes out the records of an enclosure that end after its newest row: a wrong clock wrote
 * them.  Where there is no row at all (newest 0) none is. */
void drying_log_drop_late(struct drying_log *log, const char *enclosure, double newest);
/* A sentence each about damaged lines and late records on standard error. */
void drying_log_complain(const struct drying_log *log);

/* The last record of an enclosure's place that ends at `until` or before, or NULL. */
const struct drying_record *drying_log_last(const struct drying_log *log, const char *enclosure,
					    enum place place, double until);

/* ---- what is found ---------------------------------------------------------- */

enum { ROOM_PASTS = 3 };

/* What dryings are made from, the same for all enclosures. */
struct drying_base {
	const struct conf *conf;
	struct window window;
	const struct band_list *bands;
	struct room_past rooms[ROOM_PASTS]; /* the room's air, by whence it was asked for */
	double asked[ROOM_PASTS];
	size_t room_count, room_next;
};

void drying_base_begin(struct drying_base *base, const struct conf *conf, struct window window,
		       const struct band_list *bands);
void drying_base_end(struct drying_base *base);

/* The room's air from some days before `from` at most, up to the window's end; NULL when it
 * has no probe.  The base's, until three others have been asked for. */
const struct room_past *drying_base_room(struct drying_base *base, double from);

/* A part of the window in which dryings are looked for in the rows. */
struct drying_search {
	struct window piece;    /* mistings that began in [from, to) */
	double after, before;   /* others known beside it, which are not to be found again:
				 * s since the epoch, -INFINITY and INFINITY when there are none */
	double early;           /* s: by coarser rows than those others were found in, a misting
				 * may seem to begin so much before the piece */
};

struct drying_find {
	struct record record;   /* its rows; drying_find_clear frees all */
	bool present;           /* past is there */
	struct place_past past;
	double known;           /* s of the piece in rows fine enough to show a misting */
	struct drying *list;    /* by time */
	size_t count;
};

enum { DRYING_MOST = 7 * 86400 }; /* s: a drying is followed no longer */

/* Reads from a little before the piece up to where its dryings end, and at least the
 * window's last day. */
void drying_find(struct drying_base *base, const struct enclosure *enclosure, enum place place,
		 struct drying_search search, struct drying_find *out);
void drying_find_clear(struct drying_find *find);

/* The newest row of an enclosure, s since the epoch; 0 when there is none. */
double drying_newest(const struct conf *conf, const struct enclosure *enclosure);

/* From when on minute rows are surely there.  What lies before it is a piece of its own, so
 * that the same rows are looked at whether a part of a window is saved or not. */
double drying_minutes_from(const struct conf *conf, double newest);

/* Seconds of the piece that are known in rows fine enough to show a misting. */
double drying_known(const struct series_rows *rows, struct window piece);

/* ---- both together ----------------------------------------------------------- */

struct dryings {
	enum place place;
	struct drying_find find; /* of the window's last piece */
	double known;           /* s of the window in which a misting would be seen */
	struct drying *list;    /* by time; those that began in the window */
	size_t count;
	bool has_law;           /* the last one saved by then */
	struct course_law law;
	bool has_room;
	double room;            /* g/m³: the room's air, mean of the window's last day */
};

/* False, and nothing to be cleared, when no humidity is measured in it.  Counts the archive into
 * gathered, and tells its trouble on standard error.  Nothing after the window counts, though
 * it be saved. */
bool dryings_make(struct drying_base *base, const struct enclosure *enclosure,
		  struct drying_log *log, struct gathered *gathered, struct dryings *out);
/* Frees its rows; what was made from them stays. */
void dryings_forget_rows(struct dryings *dryings);
void dryings_clear(struct dryings *dryings);

#endif
