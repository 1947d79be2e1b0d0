/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The air of the days before: of the room, once for all enclosures, and of each place
 * whose humidity is archived.
 */
#ifndef WARMSIDE_REPORT_PAST_H
#define WARMSIDE_REPORT_PAST_H

#include <stdbool.h>

#include "report/bins.h"
#include "report/mistings.h"
#include "report/ribbon.h"

struct room_past {
	bool present;           /* both quantities are known at some time of the window */
	struct bins bins;
};

/* Tells an archive's trouble on standard error; one that is not there yet is none, and nothing of
 * the room is known.  Cleared with room_past_clear. */
void room_past_read(const struct conf *conf, struct window window, double step,
		    struct room_past *out);
void room_past_clear(struct room_past *past);

struct place_past {
	enum place place;
	struct bins bins;
	struct mistings mistings;
	struct ribbon ribbon;   /* the humidity's */
};

/* From an enclosure's record of that window.  False, and nothing to be cleared, when humidity
 * and temperature of the place are not both in it.  Cleared with place_past_clear. */
bool place_past_make(const struct conf *conf, const struct enclosure *enclosure,
		     const struct record *record, enum place place,
		     const struct band_list *bands, struct window window, double step,
		     struct place_past *out);
void place_past_clear(struct place_past *past);

/* The place that stands for an enclosure's humidity: cool side, warm side, eggs, hot spot, humid
 * hide, the first of them whose humidity is measured and has a band, else the first that is
 * measured.  False when none is. */
bool humid_place(const struct conf *conf, const struct enclosure *enclosure, enum place *out);

/* A series of a record; NULL when it is not in it. */
const struct series_rows *record_series(const struct record *record, enum place place,
					enum quantity quantity);

#endif
