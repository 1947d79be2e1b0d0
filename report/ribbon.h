/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The band a series had at any past instant: from bands.jsonl, and from the
 * configuration where that says nothing.
 */
#ifndef WARMSIDE_REPORT_RIBBON_H
#define WARMSIDE_REPORT_RIBBON_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/bandlog.h"

/* The records of one series in time order, never none; before the first one
 * its band is taken to have held already. */
struct ribbon {
	struct band_record *list;
	size_t count;
};

/* Lines that are no records are passed over. */
void ribbon_load(const struct conf *conf, const struct enclosure *enclosure, struct series series,
		 struct ribbon *out);
void ribbon_clear(struct ribbon *ribbon);

struct in_force {
	bool has_band;
	struct range band;      /* °C or % */
	bool night;
};

struct in_force ribbon_at(const struct ribbon *ribbon, double instant);

#endif
