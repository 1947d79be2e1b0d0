/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One line of bands.jsonl <-> one record, both directions: which band a
 * series has had since when, so that the past is drawn over the band it was
 * judged by.  The daemon writes a line for each series whose band, limits or
 * day differ from the last line it wrote for it.  While a season's ramp lasts that
 * is a line a day, at the very change to day.  Pure.
 *
 *   {"time": 1767600000, "enclosure": "T3", "place": "cool_side",
 *    "quantity": "humidity", "day": [45, 60], "night": [45, 65],
 *    "limits": [25, 85], "day_from": 28800, "day_to": 72000,
 *    "changeover": 5400}
 */
#ifndef WARMSIDE_CONF_BANDLOG_H
#define WARMSIDE_CONF_BANDLOG_H

#include <stdbool.h>

#include "conf/alertlog.h"
#include "conf/layout.h"
#include "conf/model.h"

struct band_record {
	double time;            /* from when on it holds, s since the epoch */
	char enclosure[NAME_SIZE];
	struct series series;
	bool has_band;          /* day and night are there */
	struct range day, night;
	bool has_limits;
	struct range limits;
	struct day clock;       /* when it is day */
};

/* What the configuration says of a series at an instant, as a record. */
struct band_record band_record_of(const struct conf *conf, const struct enclosure *enclosure,
				  struct series series, double time);

/* True when both say the same of the same series, their times aside. */
bool band_same(const struct band_record *a, const struct band_record *b);

/* One line without its newline; malloc'ed, the caller frees. */
char *band_to_line(const struct band_record *record);

/* False when the line is not a record (torn, foreign, unknown words). */
bool band_from_line(const char *line, struct band_record *out);

#endif
