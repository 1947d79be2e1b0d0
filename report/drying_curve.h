/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Vapour in equal steps of time -> the exponential it falls along.  Pure.
 *
 *   tau dw/dt = floor + response (s - mean of s) - w
 *
 * s is the density of saturated vapour at the temperature meanwhile: substrate that gives off
 * water gives off more of it where it is warmer, and the floor moves with day and night.
 * So w = floor + drop exp(-t / tau) + response times s followed with the same tau.  When a
 * door was open the air has lost at once what it then wins back with tau: a jump, and
 * another exponential from there on.
 */
#ifndef WARMSIDE_REPORT_DRYING_CURVE_H
#define WARMSIDE_REPORT_DRYING_CURVE_H

#include <stdbool.h>
#include <stddef.h>

struct curve_step {
	double weight;          /* >= 0; 0: not used */
	double vapour;          /* g/m³ */
	double saturated;       /* g/m³: s; of a step that is not used, too */
};

struct drying_curve {
	double time_constant;   /* h */
	double floor, drop;     /* g/m³: at the mean temperature; drop above it at the begin */
	/* One standard error, widened for residuals that hang together. */
	double time_constant_error, floor_error;
	double freedom;         /* degrees of freedom the errors are told with, >= 1 */
};

/* Steps of so many hours each.  Steps in which it jumps get a weight of 0.  False when
 * there is no such curve. */
bool drying_curve_fit(struct curve_step *steps, size_t count, double hours,
		      struct drying_curve *out);

#endif
