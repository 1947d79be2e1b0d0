/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers -> text for people; see measure.h.  Temperatures are shown to a
 * tenth of a degree, humidities to a whole percent: probes know no more.
 */
#include "conf/measure.h"

#include <math.h>
#include <stdio.h>
#include <time.h>

static const char *unit_text(enum quantity quantity, enum units units)
{
	if (quantity == HUMIDITY)
		return "%";
	return units == FAHRENHEIT ? "°F" : "°C";
}

/* JSON and CSV have six decimals.  What people read is rounded from these, halves
 * away from zero, so that it is the same number however it is read. */
static double millionths(double value)
{
	return round(value * 1e6);
}

static double to_six_decimals(double value)
{
	return millionths(value) / 1e6;
}

/* A whole number of millionths, or of fifths of one, to some decimals; without
 * the minus sign of a rounded-away zero. */
static double rounded(double of_millionths, int decimals)
{
	double scale = decimals == 1 ? 10 : 1;

	return round(of_millionths / (1e6 / scale)) / scale + 0.0;
}

/* In the units to be shown; 0 °C is `zero` of them. */
static double in_millionths(double value, enum quantity quantity, enum units units, double zero)
{
	if (quantity == TEMPERATURE && units == FAHRENHEIT)
		return millionths(value) * 9 / 5 + zero * 1e6;
	return millionths(value);
}

static int decimals_of(enum quantity quantity)
{
	return quantity == TEMPERATURE ? 1 : 0;
}

char *show_value(double value, enum quantity quantity, enum units units, char buf[MEASURE_TEXT])
{
	int decimals = decimals_of(quantity);

	snprintf(buf, MEASURE_TEXT, "%.*f %s", decimals,
		 rounded(in_millionths(value, quantity, units, 32), decimals),
		 unit_text(quantity, units));
	return buf;
}

char *show_difference(double value, enum quantity quantity, enum units units,
		      char buf[MEASURE_TEXT])
{
	int decimals = decimals_of(quantity);

	snprintf(buf, MEASURE_TEXT, "%.*f %s", decimals,
		 rounded(in_millionths(value, quantity, units, 0), decimals),
		 unit_text(quantity, units));
	return buf;
}

/* An edge of a band is what somebody wrote down: no ".0" is added to it. */
static int edge_decimals(double of_millionths)
{
	double tenths = rounded(of_millionths, 1);

	return tenths == round(tenths) ? 0 : 1;
}

char *show_range(struct range range, enum quantity quantity, enum units units,
		 char buf[MEASURE_TEXT])
{
	double low = in_millionths(range.low, quantity, units, 32);
	double high = in_millionths(range.high, quantity, units, 32);

	snprintf(buf, MEASURE_TEXT, "%.*f..%.*f %s", edge_decimals(low), rounded(low, 1),
		 edge_decimals(high), rounded(high, 1), unit_text(quantity, units));
	return buf;
}

char *show_duration(double seconds, char buf[MEASURE_TEXT])
{
	static const struct {
		const char *large, *small;
		double large_seconds, small_seconds, up_to;
	} steps[] = {
		{ "min", "s", 60, 1, 3600 },
		{ "h", "min", 3600, 60, 86400 },
		{ "d", "h", 86400, 3600, INFINITY },
	};
	const char *sign = round(seconds) < 0 ? "-" : "";
	size_t step = 0;

	seconds = to_six_decimals(fabs(seconds));
	if (round(seconds) < 60) {
		snprintf(buf, MEASURE_TEXT, "%s%.0f s", sign, round(seconds));
		return buf;
	}
	/* Rounded before the step is chosen: 59 min 59.7 s is 1 h. */
	while (round(seconds / steps[step].small_seconds) * steps[step].small_seconds >=
	       steps[step].up_to)
		step++;

	double small = round(seconds / steps[step].small_seconds);
	double each = steps[step].large_seconds / steps[step].small_seconds;
	int length = snprintf(buf, MEASURE_TEXT, "%s%.0f %s", sign, floor(small / each),
			      steps[step].large);

	if (fmod(small, each) > 0 && length < MEASURE_TEXT)
		snprintf(buf + length, MEASURE_TEXT - (size_t)length, " %.0f %s", fmod(small, each),
			 steps[step].small);
	return buf;
}

static char *show_instant(double instant, bool utc, const char *format, char buf[MEASURE_TEXT])
{
	time_t second = (time_t)floor(instant);
	struct tm tm;

	if (!(utc ? gmtime_r(&second, &tm) : localtime_r(&second, &tm)) ||
	    strftime(buf, MEASURE_TEXT, format, &tm) == 0)
		snprintf(buf, MEASURE_TEXT, "@%.0f", instant);
	return buf;
}

char *show_hours(double seconds, char buf[MEASURE_TEXT])
{
	double minutes = round(to_six_decimals(seconds) / 60);

	if (seconds > 0 && minutes < 1)
		snprintf(buf, MEASURE_TEXT, "<0:01");
	else
		snprintf(buf, MEASURE_TEXT, "%.0f:%02.0f", floor(minutes / 60), fmod(minutes, 60));
	return buf;
}

char *show_share(double share, char buf[MEASURE_TEXT])
{
	double percent = round(millionths(share) / 1e4);

	if (share > 0 && percent < 1)
		snprintf(buf, MEASURE_TEXT, "<1 %%");
	else if (share < 1 && percent > 99)
		snprintf(buf, MEASURE_TEXT, ">99 %%");
	else
		snprintf(buf, MEASURE_TEXT, "%.0f %%", percent);
	return buf;
}

char *show_instant_utc(double instant, char buf[MEASURE_TEXT])
{
	return show_instant(instant, true, "%Y-%m-%dT%H:%M:%SZ", buf);
}

char *show_instant_local(double instant, char buf[MEASURE_TEXT])
{
	return show_instant(instant, false, "%Y-%m-%d %H:%M", buf);
}

char *show_date(int date, char buf[MEASURE_TEXT])
{
	return show_instant(86400.0 * date, true, "%Y-%m-%d", buf);
}
