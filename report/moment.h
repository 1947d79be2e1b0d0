/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Times to come, as people speak of them; local time.  Pure but for the zone.
 */
#ifndef WARMSIDE_REPORT_MOMENT_H
#define WARMSIDE_REPORT_MOMENT_H

#include "conf/measure.h"

/* Writers fill buf and return it.  `now` is not after the instant. */

/* "Fri 18:00"; where the weekday alone may be mistaken, "30 Jan 18:00". */
char *moment_short(double instant, double now, char buf[MEASURE_TEXT]);

/* "now", "on Saturday evening", "on Saturday night", of that of now "tonight"; farther
 * away "on Saturday 7 February". */
char *moment_phrase(double instant, double now, char buf[MEASURE_TEXT]);

#endif
