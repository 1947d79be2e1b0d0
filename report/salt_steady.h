/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Steps of time that should be steady: their mean, scatter and trend.  Pure.
 */
#ifndef WARMSIDE_REPORT_SALT_STEADY_H
#define WARMSIDE_REPORT_SALT_STEADY_H

#include <stdbool.h>
#include <stddef.h>

#include "report/bins.h"

/* Whether half a step or more is known. */
bool step_known(const struct bins *bins, size_t i);

/* The humidity of the steps first..end - 1.  Errors are standard errors, with what the
 * steps hang together. */
struct steady {
	size_t count;           /* of steps that are known; the others are valid from 3 on */
	double mean, mean_error; /* % */
	double spread;          /* %: standard deviation about the straight line */
	double slope, slope_error; /* % an hour */
};

void steady_make(const struct bins *bins, size_t first, size_t end, struct steady *out);

/* By how much an error grows because each rest resembles the one before: the root of
 * (1 + r) / (1 - r) with r their correlation, of a first-order process (a textbook's
 * formula, from memory); 1 to 6. */
double hang_together(const double *rests, size_t count);

/* Means over an hour, of the steps i.. on, as far as they are known: false when half an
 * hour or more is not. */
bool hour_mean(const struct bins *bins, size_t i, double *humidity, double *celsius);

/* Steps in an hour. */
size_t hour_steps(const struct bins *bins);

#endif
