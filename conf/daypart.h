/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An instant -> day, night, or the changeover after a switch.  The only file
 * that knows local time of day for judging.
 *
 * Daylight saving: "08:00" is a reading of the wall clock.  The switch falls
 * on the first instant at which the local clock shows it; so on the night the
 * clocks change the night is one hour shorter or longer, a time that is skipped
 * switches one hour later, and one that comes twice the first time only.  The
 * changeover is elapsed time, not wall-clock time.
 */
#ifndef WARMSIDE_CONF_DAYPART_H
#define WARMSIDE_CONF_DAYPART_H

#include <stddef.h>

#include "conf/model.h"

enum daypart { DAY, NIGHT, CHANGEOVER };

struct daypart_span {
	enum daypart part;
	int date;               /* the local date of the last change to day, days since
				 * 1970-01-01: it stays that past midnight */
	double from, until;     /* the span [from, until) in which nothing changes */
};

/* The span that holds the instant.  A day with from == to is day for ever, and
 * a span from one beginning to the next. */
struct daypart_span daypart_at(const struct day *day, double instant);

/* The instant of the change to day on a local date. */
double daypart_begin(const struct day *day, int date);

/* The spans used last, so that local time is asked for at a switch and not
 * at every reading: two, because around a switch each series needs the one
 * before and the one after.  Zero-initialised. */
enum { CACHED_SPANS = 2 };

struct daypart_cache {
	struct daypart_span spans[CACHED_SPANS];
	size_t next;
};

/* The part of the day that holds the instant, through the cache. */
struct daypart_span cached_daypart(struct daypart_cache *cache, const struct day *day,
				   double instant);

#endif
