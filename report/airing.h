/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Air changes from the decay of a tracer, after ASTM E741 (concentration decay):
 * the excess of a well-mixed zone's concentration over that of the air it
 * exchanges with falls as exp(-A t).  The tracer here is water vapour, which
 * substrate, wood and moss give off while the air dries: what is measured is then
 * an apparent air change, and a lower bound of the real one.  Pure.
 */
#ifndef WARMSIDE_REPORT_AIRING_H
#define WARMSIDE_REPORT_AIRING_H

#include <stdbool.h>

#include "report/bins.h"

/* Air changes, 1/h, by which an excess falls from `first` to `last` (both > 0, alike in
 * unit) in `hours` (> 0): ln(first / last) / hours. */
double airing_rate(double first, double last, double hours);

/* The inverse: hours in which `air_changes` (1/h, > 0) remove `share` (0..1) of it. */
double airing_hours(double air_changes, double share);

/* By the regression of the vapour inside on the integral of its excess over the room's, whose
 * slope is -A: dC/dt = -A (C - C_room), integrated.  Where the room stands still this is the
 * decay of E741; it holds where the room moves, too.  Over the steps within the window in which
 * inside and room are both known, as long as the excess can be told from the probes' own
 * errors.  False when there are too few, or it does not fall.  1/h. */
bool airing_of(const struct bins *inside, const struct bins *room, struct window window,
	       double *air_changes);

#endif
