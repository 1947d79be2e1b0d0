/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Real faults by chance, spread over kinds, enclosures and a span of days.
 */
#ifndef WARMSIDE_ROOMSIM_FAULTS_H
#define WARMSIDE_ROOMSIM_FAULTS_H

#include <stddef.h>
#include <stdint.h>

#include "contrib/roomsim/events.h"

/* Adds `count` faults, one in each of `count` equal parts of the span from
 * `start` (s since the epoch) on, each over before the next begins.  The kinds
 * take turns; each befalls one for whom it matters, at an hour and for as long
 * as it does: a power cut of an hour in July would harm nobody. */
void faults_by_chance(struct events *events, uint64_t seed, double start, double days,
		      size_t count);

#endif
