/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Chance without state; see noise.h.
 */
#include "contrib/roomsim/noise.h"

#include <math.h>

/* The finishing steps of the generator "splitmix64" (constants from memory;
 * any good mixer would do here). */
static uint64_t mix(uint64_t x)
{
	x += 0x9e3779b97f4a7c15u;
	x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9u;
	x = (x ^ (x >> 27)) * 0x94d049bb133111ebu;
	return x ^ (x >> 31);
}

uint64_t noise_bits(uint64_t seed, uint64_t stream, int64_t index)
{
	return mix(mix(mix(seed) ^ stream) ^ (uint64_t)index);
}

double noise_even(uint64_t seed, uint64_t stream, int64_t index)
{
	return (double)(noise_bits(seed, stream, index) >> 11) * 0x1p-52 - 1;
}

/* The sum of four even numbers of 16 bits each: near enough to a bell. */
double noise_bell(uint64_t seed, uint64_t stream, int64_t index)
{
	uint64_t bits = noise_bits(seed, stream, index);
	uint64_t sum = (bits & 0xffff) + (bits >> 16 & 0xffff) + (bits >> 32 & 0xffff) +
		       (bits >> 48);

	return ((double)sum / 65536 - 2) * 1.7320508075688772; /* variance 4/12 -> 1 */
}

double noise_smooth(uint64_t seed, uint64_t stream, double x)
{
	double whole = floor(x), part = x - whole;
	double a = noise_even(seed, stream, (int64_t)whole);
	double b = noise_even(seed, stream, (int64_t)whole + 1);

	return a + (b - a) * part * part * (3 - 2 * part);
}
