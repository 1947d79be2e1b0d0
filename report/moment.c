/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Times to come; see moment.h.
 */
#include "report/moment.h"

#include <math.h>
#include <stdbool.h>
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

static bool is_night(int hour)
{
	return hour >= NIGHT || hour < MORNING;
}

/* A night is named after the day it begins on, so that its small hours are of the day before. */
static char *night_phrase(double instant, double now, char buf[MEASURE_TEXT])
{
	const double whole = (24 - NIGHT + MORNING) * 3600, small_hours = MORNING * 3600;
	time_t second = (time_t)floor(now);
	struct tm tm = { 0 };

	localtime_r(&second, &tm);
	if (is_night(tm.tm_hour) && instant - now < whole) {
		snprintf(buf, MEASURE_TEXT, "tonight");
		return buf;
	}
	second = (time_t)floor(instant);
	localtime_r(&second, &tm);
	return format(tm.tm_hour < MORNING ? instant - small_hours : instant, "on %A night", buf);
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
	if (is_night(tm.tm_hour))
		return night_phrase(instant, now, buf);
	return format(instant,
		      tm.tm_hour < AFTERNOON ? "on %A morning"
		      : tm.tm_hour < EVENING ? "on %A afternoon" : "on %A evening", buf);
}
