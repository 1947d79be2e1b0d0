/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a forecast of the humidity at a place means for a keeper who is away.  Pure.
 */
#ifndef WARMSIDE_REPORT_AWAY_H
#define WARMSIDE_REPORT_AWAY_H

#include "report/forecast.h"

/* Worst first.  What cannot be told may be anything: it is not said to be tolerable. */
enum away_verdict { AWAY_NEEDS, AWAY_UNKNOWN, AWAY_TOLERABLE, AWAY_HOLDS };

struct away_case {
	double hours;           /* h: how long nobody comes */
	double patience;        /* s below the band that are tolerable */
	double used;            /* s of it that the straying of now has used up; else 0 */
};

struct away {
	enum away_verdict verdict;
	double by;              /* h from now on: AWAY_NEEDS, when somebody must be there at the
				 * latest; 0..hours */
};

/* By the unfavourable end of each interval.  Holds: it stays in its band to the end.
 * Tolerable: it leaves the band, but no time below it is longer than patience, and no limit is
 * passed.  Needs somebody: else, by the time patience is used up or the limit is passed. */
struct away away_judge(const struct forecast *forecast, const struct away_case *away);

/* "needs somebody", "tolerable", "holds"; NULL when it cannot be told. */
const char *away_word(enum away_verdict verdict);

#endif
