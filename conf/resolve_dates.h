/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When a season is: from, to, until and ramp -> struct season_dates.
 */
#ifndef WARMSIDE_CONF_RESOLVE_DATES_H
#define WARMSIDE_CONF_RESOLVE_DATES_H

#include "conf/value.h"

/* One date key as written, or not written. */
struct date_wish {
	enum said said;
	const struct statement *at;     /* when GIVEN */
	enum season_kind kind;          /* when GIVEN: a month and day, or a full date */
	struct month_day yearly;
	int once;
};

struct date_wishes {
	struct date_wish from, to, until;
	enum said ramp_said;
	const struct statement *ramp_at; /* when GIVEN */
	int ramp;                       /* days */
};

/* Reads the keys of one season section; dates of which one comes every year
 * and another once are complained of, and then all are FAULTY. */
struct date_wishes dates_read(struct resolve *resolve, struct section section);

/* What comes of a species' dates when an enclosure has its own: key by key,
 * but dates of the other kind replace the species' and their ramp altogether. */
void dates_override(struct date_wishes *dates, const struct date_wishes *own);

/* Every year, once, or no date at all. */
enum season_kind dates_kind(const struct date_wishes *wishes);

/* The finished dates; complains of an end that is missing, of an order that
 * cannot be and of a ramp that has no room.  UNDATED after a fault. */
struct season_dates dates_finish(struct resolve *resolve, const struct date_wishes *wishes);

#endif
