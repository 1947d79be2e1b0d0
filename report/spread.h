/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Some values of the past -> what the next one will do, with a probability of
 * 80 %.  Pure.
 */
#ifndef WARMSIDE_REPORT_SPREAD_H
#define WARMSIDE_REPORT_SPREAD_H

#include <stddef.h>

enum { SPREAD_SURE = 9 }; /* values from which on low and high do hold 80 times of 100 */

/* In the unit of the values.  INFINITY where "never" or "beyond the horizon". */
struct spread {
	size_t count;           /* of values; 0: nothing is known, the others are not valid */
	double median;
	double low, high;       /* the next value lies between them 80 times of 100 */
};

/* From values drawn alike, in any order, which may be INFINITY, not NAN; sorts them.
 * The k-th of n values is at the quantile k / (n + 1) of the next one (the
 * distribution-free prediction interval; Wilks 1941, from memory); of fewer than
 * nine the lowest and highest stand for low and high, which is then less than 80 %. */
struct spread spread_of(double *values, size_t count);

/* Ascending; no NAN among them. */
void spread_sort(double *values, size_t count);

/* The quantile (0..1) of sorted values, by the same rule, between two of them in
 * proportion; between a number and INFINITY the number, above 0.5 INFINITY.  count >= 1. */
double spread_quantile(const double *sorted, size_t count, double quantile);

#endif
