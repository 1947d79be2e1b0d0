/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Values over time -> whether they rise or fall, and how fast.  Pure.
 */
#ifndef WARMSIDE_REPORT_TENDENCY_H
#define WARMSIDE_REPORT_TENDENCY_H

#include <stdbool.h>
#include <stddef.h>

struct moment_value {
	double at;              /* s since the epoch */
	double value;
};

struct tendency {
	double slope;           /* of the value, 1/s */
	double chance;          /* how likely values without any tendency look so, 0..1 */
};

/* The slope is the median of those of all pairs (Theil 1950, Sen 1968); the chance, two-sided,
 * that of the Mann-Kendall test with its correction for ties (Mann 1945, Kendall 1975),
 * by the normal approximation, which is good from 10 values on; all four from memory.
 * Values that hang together from one to the next look like a tendency more often: from 10 on
 * the variance is that of values whose ranks, less the slope, are correlated by r, r², r³, ...
 * (after Hamed and Rao 1998, from memory; r is made up for what the slope takes out of it).
 * By time.  Of more than some hundreds,
 * medians of neighbours stand for them.  False for fewer than 3, or of one moment only. */
bool tendency_of(const struct moment_value *values, size_t count, struct tendency *out);

#endif
