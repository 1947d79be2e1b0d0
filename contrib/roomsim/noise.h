/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Chance without state: every number is a pure function of a seed, a stream
 * and an index, so a reading does not depend on which others were asked for.
 */
#ifndef WARMSIDE_ROOMSIM_NOISE_H
#define WARMSIDE_ROOMSIM_NOISE_H

#include <stdint.h>

/* 64 well-mixed bits. */
uint64_t noise_bits(uint64_t seed, uint64_t stream, int64_t index);

/* Even in [-1, 1). */
double noise_even(uint64_t seed, uint64_t stream, int64_t index);

/* Bell-shaped, mean 0, standard deviation 1, never beyond 3.5. */
double noise_bell(uint64_t seed, uint64_t stream, int64_t index);

/* A smooth curve in [-1, 1] that passes through noise_even() at each whole x. */
double noise_smooth(uint64_t seed, uint64_t stream, double x);

#endif
