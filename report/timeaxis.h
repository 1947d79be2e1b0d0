/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the lines of a graph's grid stand and what is written beside them.
 * Pure but for the local time zone.
 */
#ifndef WARMSIDE_REPORT_TIMEAXIS_H
#define WARMSIDE_REPORT_TIMEAXIS_H

#include <stddef.h>

#include "report/window.h"

enum { MOST_TICKS = 64, TICK_TEXT = 24 };

struct tick {
	double at;              /* s since the epoch, or a value */
	char label[TICK_TEXT];  /* "09:00", "Mon 5", "Jan", "2026"; "45" for values */
	char below[TICK_TEXT];  /* "Mon 5 Jan", "January 2026", "2026"; "" where it goes on */
};

/* Ticks on whole units of local time, at least `apart` pixels from one
 * another on a width; returns how many. */
size_t time_ticks(struct window window, double width, double apart, struct tick out[MOST_TICKS]);

/* Ticks on round values between low and high, about `wanted` of them. */
size_t value_ticks(double low, double high, int wanted, struct tick out[MOST_TICKS]);

/* An instant as briefly as the window allows: "04:10", "6 Jan 04:10",
 * "6 Jan 2026". */
char *brief_instant(double instant, struct window window, char buf[TICK_TEXT]);

#endif
