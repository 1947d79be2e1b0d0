/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text -> an instant; see parse_instant() in measure.h.
 */
#include "conf/measure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "conf/season.h"

/* What ISO 8601 can write with four digits for the year, as epoch seconds:
 * before 9999-12-31T23:59:59Z.  Larger numbers are milliseconds by mistake. */
static const double last_instant = 253402300799.0;

/* What a file may hold; more than can be written, so that whatever is written is read. */
static const double beyond_instants = 1e12;

bool is_instant(double instant)
{
	return instant >= 0 && instant <= beyond_instants;
}

/* `count` digits between low and high. */
static bool take_field(const char **at, int count, int low, int high, int *out)
{
	int value = 0;

	for (int i = 0; i < count; i++) {
		char c = (*at)[i];

		if (c < '0' || c > '9')
			return false;
		value = value * 10 + (c - '0');
	}
	if (value < low || value > high)
		return false;
	*at += count;
	*out = value;
	return true;
}

static bool take_one_of(const char **at, const char *set)
{
	if (**at == '\0' || !strchr(set, **at))
		return false;
	++*at;
	return true;
}

static int days_in(int year, int month)
{
	static const int days[] = { 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31 };
	bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;

	return days[month - 1] + (month == 2 && leap ? 1 : 0);
}

static bool take_date(const char **at, struct tm *tm)
{
	int year, month, day;

	if (!take_field(at, 4, 1970, 9999, &year) || !take_one_of(at, "-") ||
	    !take_field(at, 2, 1, 12, &month) || !take_one_of(at, "-") ||
	    !take_field(at, 2, 1, days_in(year, month), &day))
		return false;
	tm->tm_year = year - 1900;
	tm->tm_mon = month - 1;
	tm->tm_mday = day;
	return true;
}

/* ".25" or ",25": ISO 8601 knows both. */
static bool take_fraction(const char **at, double *out)
{
	double scale = 0.1;

	if (!take_one_of(at, ".,"))
		return true;
	if (**at < '0' || **at > '9')
		return false;
	for (; **at >= '0' && **at <= '9'; ++*at, scale /= 10)
		*out += (**at - '0') * scale;
	return true;
}

/* hh:mm[:ss[.fraction]]; a leap second counts as the next one. */
static bool take_clock(const char **at, struct tm *tm, double *fraction)
{
	if (!take_field(at, 2, 0, 23, &tm->tm_hour) || !take_one_of(at, ":") ||
	    !take_field(at, 2, 0, 59, &tm->tm_min))
		return false;
	if (!take_one_of(at, ":"))
		return true;
	return take_field(at, 2, 0, 60, &tm->tm_sec) && take_fraction(at, fraction);
}

/* "Z", "+01:00", "+0100", "+01", or nothing.  *east is in s. */
static bool take_zone(const char **at, bool *given, int *east)
{
	int hours, minutes = 0;
	char sign = **at;

	*given = true;
	*east = 0;
	if (take_one_of(at, "Zz"))
		return true;
	if (!take_one_of(at, "+-")) {
		*given = false;
		return true;
	}
	if (!take_field(at, 2, 0, 23, &hours))
		return false;
	if (take_one_of(at, ":") || (**at >= '0' && **at <= '9'))
		if (!take_field(at, 2, 0, 59, &minutes))
			return false;
	*east = (hours * 3600 + minutes * 60) * (sign == '-' ? -1 : 1);
	return true;
}

/* Local wall-clock time; which of two, or which instead of one that is
 * skipped, is mktime()'s choice. */
static bool local_second(struct tm *tm, double *out)
{
	time_t second;

	tm->tm_isdst = -1;
	tm->tm_wday = -1;
	second = mktime(tm);
	if (tm->tm_wday < 0)
		return false;
	*out = (double)second;
	return true;
}

static bool at_end(const char *text)
{
	return text[strspn(text, " \t\r\n")] == '\0';
}

bool parse_day(const char *text, int years_later, double *out)
{
	struct tm tm = { 0 };

	text += strspn(text, " \t\r\n");
	if (!take_date(&text, &tm) || !at_end(text))
		return false;
	tm.tm_year += years_later;
	return local_second(&tm, out);
}

static bool parse_iso(const char *text, double *out)
{
	struct tm tm = { 0 };
	double fraction = 0, second;
	bool zoned = false;
	int east = 0;

	if (!take_date(&text, &tm))
		return false;
	if (take_one_of(&text, "Tt") || (text[0] == ' ' && text[1] >= '0' && text[1] <= '9')) {
		text += strspn(text, " ");
		if (!take_clock(&text, &tm, &fraction) || !take_zone(&text, &zoned, &east))
			return false;
	}
	if (!at_end(text))
		return false;
	if (zoned)
		second = (double)timegm(&tm) - east;
	else if (!local_second(&tm, &second))
		return false;
	*out = second + fraction;
	return true;
}

bool parse_instant(const char *text, double *out)
{
	double value;

	text += strspn(text, " \t\r\n");
	if (!parse_number(text, &value) && !parse_iso(text, &value))
		return false;
	if (value < 0 || value > last_instant)
		return false;
	*out = value;
	return true;
}

bool parse_date(const char *text, int *out)
{
	struct tm tm = { 0 };

	text += strspn(text, " \t\r\n");
	if (!take_date(&text, &tm) || !at_end(text))
		return false;
	*out = civil_day(tm.tm_year + 1900, tm.tm_mon + 1, tm.tm_mday);
	return true;
}

bool parse_month_day(const char *text, struct month_day *out)
{
	enum { LEAP_YEAR = 2024 };
	struct month_day read;

	text += strspn(text, " \t\r\n");
	if (!take_field(&text, 2, 1, 12, &read.month) || !take_one_of(&text, "-") ||
	    !take_field(&text, 2, 1, days_in(LEAP_YEAR, read.month), &read.day) || !at_end(text))
		return false;
	*out = read;
	return true;
}
