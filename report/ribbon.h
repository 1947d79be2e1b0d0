/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The band a series had at any past instant: from bands.jsonl, and from the
 * configuration where that says nothing.  What it will have in days to come, if
 * nobody edits it, is in the seasons of the configuration.
 */
#ifndef WARMSIDE_REPORT_RIBBON_H
#define WARMSIDE_REPORT_RIBBON_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/bandlog.h"
#include "report/window.h"

/* All of bands.jsonl, by series and time. */
struct band_list {
	struct band_record *list;
	size_t count;
};

/* Lines that are no records are passed over; a log not begun yet is an empty one. */
void bands_load(const char *state, struct band_list *out);
void bands_clear(struct band_list *bands);

/* The records of one series in time order, never none; before the first one
 * its band is taken to have held already. */
struct ribbon {
	struct band_record *list;
	size_t count;
};

/* From the log, else from what the configuration says.  Where that says what the last
 * record does, the steps of its seasons after that record follow, up to `until`. */
void ribbon_make(const struct band_list *bands, const struct conf *conf,
		 const struct enclosure *enclosure, struct series series, double until,
		 struct ribbon *out);

/* As if it were `now`: what was set later is not known, and the configuration's seasons
 * follow up to `until`. */
void ribbon_foresee(struct ribbon *ribbon, const struct conf *conf,
		    const struct enclosure *enclosure, double now, double until);

void ribbon_clear(struct ribbon *ribbon);

struct in_force {
	bool has_band;
	struct range band;      /* °C or % */
	bool has_limits;
	struct range limits;    /* °C or % */
	bool night;
	double from, until;     /* [from, until) in which nothing of this changes */
};

/* The record that holds at an instant. */
const struct band_record *ribbon_record(const struct ribbon *ribbon, double instant);

struct in_force ribbon_at(const struct ribbon *ribbon, double instant);

/* The records in force when a window begins and when it ends, and whether any before the
 * last has another band, or other limits. */
struct ribbon_ends {
	const struct band_record *first, *last;
	bool has_band;          /* one of them has */
	bool band_moved, limits_moved;
};

/* Whether two records want the same, and have the same limits. */
bool ribbon_same_band(const struct band_record *a, const struct band_record *b);
bool ribbon_same_limits(const struct band_record *a, const struct band_record *b);

struct ribbon_ends ribbon_ends(const struct ribbon *ribbon, struct window window);

/* The mean of the middles of the band over a window, °C or %; false when there is none
 * in all of it. */
bool ribbon_middle(const struct ribbon *ribbon, struct window window, double *middle);

/* The same, for many instants one after another: *last is what the one before gave
 * ({ 0 } at first), and is looked at before the clock is asked. */
const struct in_force *ribbon_next(const struct ribbon *ribbon, double instant,
				   struct in_force *last);

#endif
