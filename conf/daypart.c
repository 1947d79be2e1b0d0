/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Day, night and changeover; see daypart.h for what daylight saving does.
 */
#include "conf/daypart.h"

#include <math.h>
#include <time.h>

/* The switch to a time of day on the local date `days` after that of tm. */
static double switch_on(const struct tm *date, int days, int second_of_day)
{
	struct tm tm = {
		.tm_year = date->tm_year,
		.tm_mon = date->tm_mon,
		.tm_mday = date->tm_mday + days,
		.tm_hour = second_of_day / 3600,
		.tm_min = second_of_day / 60 % 60,
		.tm_sec = second_of_day % 60,
		.tm_isdst = -1,
	};

	return (double)mktime(&tm);
}

struct daypart_span daypart_at(const struct day *day, double instant)
{
	struct daypart_span span = { .part = DAY, .from = -INFINITY, .until = INFINITY };

	if (day->from == day->to)
		return span;

	time_t second = (time_t)floor(instant);
	struct tm date;

	localtime_r(&second, &date);
	/* The last switch at or before the instant, and the first after it. */
	for (int days = -1; days <= 1; days++) {
		const struct { double at; enum daypart to; } switches[] = {
			{ switch_on(&date, days, day->from), DAY },
			{ switch_on(&date, days, day->to), NIGHT },
		};
		for (int i = 0; i < 2; i++) {
			if (switches[i].at <= instant && switches[i].at > span.from) {
				span.from = switches[i].at;
				span.part = switches[i].to;
			}
			if (switches[i].at > instant && switches[i].at < span.until)
				span.until = switches[i].at;
		}
	}
	double settled = span.from + day->changeover;

	if (instant < settled) {
		span.part = CHANGEOVER;
		span.until = fmin(span.until, settled);
	} else {
		span.from = settled;
	}
	return span;
}

struct daypart_span cached_daypart(struct daypart_cache *cache, const struct day *day,
				   double instant)
{
	for (size_t i = 0; i < CACHED_SPANS; i++)
		if (cache->spans[i].from <= instant && instant < cache->spans[i].until)
			return cache->spans[i];
	cache->next = (cache->next + 1) % CACHED_SPANS;
	return cache->spans[cache->next] = daypart_at(day, instant);
}
