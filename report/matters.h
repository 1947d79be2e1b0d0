/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What there is to be told of an account: each series that was out on a side,
 * worst first.  Pure.
 */
#ifndef WARMSIDE_REPORT_MATTERS_H
#define WARMSIDE_REPORT_MATTERS_H

#include "report/account.h"

/* One series out of its band on one side, or of its limits where it has no band. */
struct matter {
	const struct series_account *series;
	enum side side;
	double seconds;         /* for so long */
	double worst;           /* °C or %: the farthest while it was out */
	double weight;          /* orders them: s x widths of the band */
	bool beyond_limits, unsafe;
};

struct matters {
	struct matter list[MAX_SERIES * SIDES];
	size_t count;
	double short_seconds;   /* of those not listed, each shorter than account_short and
				 * within the limits */
};

/* Of some places (all when wanted is NULL), or of one series only. */
void matters_find(const struct account *account, const bool wanted[PLACES],
		  const struct series_account *only, struct matters *out);

#endif
