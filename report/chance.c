/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Chance that can be had again; see chance.h.
 */
#include "report/chance.h"

#include <math.h>

double chance_even(uint64_t *state)
{
	uint64_t bits = *state += 0x9e3779b97f4a7c15u;

	bits = (bits ^ bits >> 30) * 0xbf58476d1ce4e5b9u;
	bits = (bits ^ bits >> 27) * 0x94d049bb133111ebu;
	return ((double)((bits ^ bits >> 31) >> 11) + 0.5) / 9007199254740992.0;
}

double chance_normal(uint64_t *state)
{
	double radius = sqrt(-2 * log(chance_even(state)));

	return radius * cos(2 * M_PI * chance_even(state));
}
