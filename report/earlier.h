/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The same hours of the days before a window: what to compare it with.
 */
#ifndef WARMSIDE_REPORT_EARLIER_H
#define WARMSIDE_REPORT_EARLIER_H

#include "report/rows.h"

enum { EARLIER_DAYS = 7 };

/* What one series was like then, on the average of those windows of which at
 * least half the time is known. */
struct earlier {
	size_t windows;         /* how many those are; 0: nothing to compare with */
	struct window list[EARLIER_DAYS];
	double mean;            /* °C or % */
	bool has_band;          /* low and high are there */
	double low, high;       /* s below and above the band in a window */
};

/* A window of up to a day is compared with the same hours, by the clock on the
 * wall, of each of the EARLIER_DAYS days before; a longer one with the one of
 * the same number of days just before it.  out: one a series of the
 * enclosure, in enclosure_series' order.  An archive that cannot be read gives
 * nothing to compare with. */
void earlier_read(const struct conf *conf, const struct enclosure *enclosure, struct window window,
		  struct earlier out[MAX_SERIES]);

#endif
