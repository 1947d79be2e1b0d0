/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A random walk; see walk.h.
 */
#include "report/walk.h"

#include <math.h>

#include "report/chance.h"

/* root x its transpose = covariance of the parameters, were the squares' unit right (Cholesky). */
static void take_root(const struct fit *fit, struct walk *walk)
{
	double unit = fit->sum_squares / fit->freedom;

	for (int i = 0; i < walk->parameters; i++)
		for (int j = 0; j <= i; j++) {
			double sum = fit->covariance[i][j] / unit;

			for (int k = 0; k < j; k++)
				sum -= walk->root[i][k] * walk->root[j][k];
			walk->root[i][j] = i == j ? sqrt(fmax(sum, 0))
					   : walk->root[j][j] > 0 ? sum / walk->root[j][j] : 0;
		}
}

void walk_begin(struct walk *walk, const struct fit *fit, int parameters, walk_squares *of,
		const void *context)
{
	*walk = (struct walk){ .parameters = parameters, .of = of, .context = context,
			       .chance = 1 };
	take_root(fit, walk);
	for (int k = 0; k < parameters; k++)
		walk->at[k] = fit->parameter[k];
	walk->squares = of(context, walk->at);
}

/* Long strides leave a bent valley, and short ones do not get along a straight one: they take
 * turns by chance. */
static void step(struct walk *walk)
{
	static const double strides[] = { 1, 0.3, 0.1 };
	double stride = strides[(size_t)(3 * chance_even(&walk->chance))];
	double by[FIT_PARAMETERS], next[FIT_PARAMETERS], squares;

	for (int k = 0; k < walk->parameters; k++) {
		by[k] = stride * chance_normal(&walk->chance);
		next[k] = walk->at[k];
		for (int j = 0; j <= k; j++)
			next[k] += walk->root[k][j] * by[j];
	}
	squares = walk->of(walk->context, next);
	if (!(chance_even(&walk->chance) < exp((walk->squares - squares) / 2)))
		return;
	walk->squares = squares;
	for (int k = 0; k < walk->parameters; k++)
		walk->at[k] = next[k];
}

void walk_on(struct walk *walk, int steps)
{
	for (int i = 0; i < steps; i++)
		step(walk);
}
