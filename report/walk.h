/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A random walk through the parameters that a fit's data allow, for draws of what may be true.
 * The covariance of a fit knows the valley of the least squares only where it is deepest; where
 * the valley is bent, draws from it stand on the slopes.  The walk looks at the squares at each
 * step instead.  The same seed walks the same way.  Pure.
 */
#ifndef WARMSIDE_REPORT_WALK_H
#define WARMSIDE_REPORT_WALK_H

#include <stdint.h>

#include "report/fit.h"

/* The sum of squares that parameters leave, in units of their variance; +INFINITY where they
 * cannot be. */
typedef double walk_squares(const void *context, const double *parameters);

struct walk {
	int parameters;
	walk_squares *of;
	const void *context;    /* for `of` */
	double root[FIT_PARAMETERS][FIT_PARAMETERS]; /* x its transpose: the covariance */
	double at[FIT_PARAMETERS]; /* where it stands */
	double squares;         /* there */
	uint64_t chance;
};

/* Stands at the fit's parameters, with strides of the size of their errors. */
void walk_begin(struct walk *walk, const struct fit *fit, int parameters, walk_squares *of,
		const void *context);

/* So many steps further: then at[] is as likely as the squares say, whatever it was before
 * (Metropolis et al. 1953; from memory). */
void walk_on(struct walk *walk, int steps);

#endif
