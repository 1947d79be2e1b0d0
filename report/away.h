/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a forecast of the humidity at a place means for a keeper who is away.  Pure.
 */
#ifndef WARMSIDE_REPORT_AWAY_H
#define WARMSIDE_REPORT_AWAY_H

#include "report/forecast.h"

/* Worst first.  What cannot be told may be anything: it is not said to be tolerable. */
enum away_verdict { AWAY_NEEDS, AWAY_UNKNOWN, AWAY_TOLERABLE, AWAY_HOLDS };

struct away {
	enum away_verdict verdict;
	double by;              /* h from now on: AWAY_NEEDS, when somebody must be there at the
				 * latest */
};

/* In so many hours from now on, the forecast's horizon, by the unfavourable end of each interval.  Needs somebody: patience is used up, or the limit
 * passed, within the horizon; by the earlier of the two.  Tolerable: else it leaves its band.
 * Holds: it stays in it to the end.  Where the room's air is not known, what would come later than
 * the past was followed cannot be told. */
struct away away_judge(const struct forecast *forecast, double hours);

/* "needs somebody", "tolerable", "holds"; NULL when it cannot be told. */
const char *away_word(enum away_verdict verdict);

#endif
