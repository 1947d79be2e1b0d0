/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether a series is out of its band at the end of what is known, and since
 * when, as the watch has it: a touch of the band between two times outside
 * does not end it.  Pure.
 */
#ifndef WARMSIDE_REPORT_EPISODE_H
#define WARMSIDE_REPORT_EPISODE_H

#include <stdbool.h>

#include "report/excursions.h"
#include "report/ribbon.h"

struct episode {
	bool lasts;             /* the rest is valid then */
	enum side side;
	double from;            /* s since the epoch; the first row's begin when it is older */
	bool older;             /* it was out already where the rows begin */
	double seconds;         /* s outside within it */
	double distance;        /* °C or %: how far out it was on the mean of its last row outside */
};

/* Back from the last row to where the rows had been inside by the rule's deadband for
 * its off_delay.  The rule must have a band. */
struct episode episode_lasting(const struct series_rows *rows, const struct ribbon *ribbon,
			       const struct rule *rule);

#endif
