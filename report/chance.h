/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Chance that can be had again: the same state gives the same numbers.
 */
#ifndef WARMSIDE_REPORT_CHANCE_H
#define WARMSIDE_REPORT_CHANCE_H

#include <stdint.h>

/* Even in (0, 1): splitmix64 (Steele, Lea, Flood 2014; constants from memory).  Any state
 * will do to begin with. */
double chance_even(uint64_t *state);

/* From a normal distribution of mean 0 and variance 1 (Box and Muller). */
double chance_normal(uint64_t *state);

#endif
