/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Times to come; see moment.h.
 */
#include "report/moment.h"

#include <math.h>
#include <stdio.h>
#include <time.h>

enum { MORNING = 5, AFTERNOON = 12, EVENING = 18, NIGHT = 22 }; /* h: when each begins */

static const double UNMISTAKABLE = 6 * 86400.0; /* s within which a weekday names one day */

static char *format(double instant, const char *how, char buf[MEASURE_TEXT])
{
	time_t second = (time_t)floor(instant);
	struct tm tm;

	if (!localtime_r(&second, &tm) || strftime(buf, MEASURE_TEXT, how, &tm) == 0)
		snprintf(buf, MEASURE_TEXT, "@%.0f", instant);
	return buf;
}

char *moment_short(double instant, double now, char buf[MEASURE_TEXT])
{
	return format(instant, instant - now < UNMISTAKABLE ? "%a %H:%M" : "%-d %b %H:%M", buf);
}

char *moment_phrase(double instant, double now, char buf[MEASURE_TEXT])
{
	time_t second = (time_t)floor(instant);
	struct tm tm = { 0 };

	if (instant <= now) {
		snprintf(buf, MEASURE_TEXT, "now");
		return buf;
	}
	if (instant - now >= UNMISTAKABLE)
		return format(instant, "on %A %-d %B", buf);
	localtime_r(&second, &tm);
	if (tm.tm_hour < MORNING)
		return format(instant, "in the night to %A", buf);
	if (tm.tm_hour < AFTERNOON)
		return format(instant, "on %A morning", buf);
	if (tm.tm_hour < EVENING)
		return format(instant, "on %A afternoon", buf);
	if (tm.tm_hour < NIGHT)
		return format(instant, "on %A evening", buf);
	/* The night is named after the day it leads to, whose morning is at most 12 h away. */
	return format(instant + 12 * 3600, "in the night to %A", buf);
}
