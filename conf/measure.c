/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text -> numbers with units; see measure.h.  The other direction is show.c.
 *
 * Every number is first matched against a plain decimal pattern, so that
 * what strtod() also takes (nan, inf, hexadecimal) never reaches it.
 */
#include "conf/measure.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* 0 °C is 32 °F, and 5 °C are 9 °F: both exact by definition. */
double fahrenheit_from_celsius(double celsius)
{
	return celsius * 9 / 5 + 32;
}

double celsius_from_fahrenheit(double fahrenheit)
{
	return (fahrenheit - 32) * 5 / 9;
}

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static void skip_blanks(const char **at)
{
	while (**at == ' ' || **at == '\t' || **at == '\r' || **at == '\n')
		++*at;
}

static bool at_end(const char *at)
{
	skip_blanks(&at);
	return *at == '\0';
}

/* Digits as a whole number; of more than fifteen only the count is right. */
struct digits {
	double whole;
	int count, behind_point;
};

/* A double holds every whole number of so many digits. */
enum { EXACT_DIGITS = 15 };

static const char *read_digits(const char *at, struct digits *digits)
{
	for (; is_digit(*at); at++) {
		digits->whole = 10 * digits->whole + (*at - '0');
		digits->count++;
	}
	return at;
}

static const char *skip_exponent(const char *at)
{
	const char *digits = at + 1;

	if (*at != 'e' && *at != 'E')
		return at;
	if (*digits == '+' || *digits == '-')
		digits++;
	if (!is_digit(*digits))
		return at;
	while (is_digit(*digits))
		digits++;
	return digits;
}

/* What strtod() would say.  Of a short number the digits and the power of ten
 * are exact, so that one division rounds it just as strtod() does, and in a
 * fraction of its time: recordings have millions of them. */
static double value_of(const char *at, const struct digits *digits, bool short_form)
{
	static const double tens[EXACT_DIGITS + 1] = { 1e0, 1e1, 1e2,  1e3,  1e4,  1e5,
						       1e6, 1e7, 1e8,  1e9,  1e10, 1e11,
						       1e12, 1e13, 1e14, 1e15 };

	if (FLT_EVAL_METHOD != 0 || !short_form || digits->count > EXACT_DIGITS)
		return strtod(at, NULL);
	double size = digits->whole / tens[digits->behind_point];

	return *at == '-' ? -size : size;
}

/* A decimal number at *at, which moves behind it.  A point only belongs to
 * the number when a digit follows: "26..30" begins with 26. */
static bool take_number(const char **at, double *out)
{
	struct digits digits = { 0 };
	const char *end = *at;

	if (*end == '+' || *end == '-')
		end++;
	if (!is_digit(*end))
		return false;
	end = read_digits(end, &digits);
	if (*end == '.' && is_digit(end[1])) {
		int before = digits.count;

		end = read_digits(end + 1, &digits);
		digits.behind_point = digits.count - before;
	}
	const char *mantissa_end = end;

	end = skip_exponent(end);
	double value = value_of(*at, &digits, end == mantissa_end);

	if (!isfinite(value))
		return false;
	*out = value;
	*at = end;
	return true;
}

bool parse_number(const char *text, double *out)
{
	double value;

	skip_blanks(&text);
	if (!take_number(&text, &value) || !at_end(text))
		return false;
	*out = value;
	return true;
}

/* The unit that ends a text: "%" for humidity; "C" or "F", with or without
 * a degree sign, for temperature. */
static bool take_unit(const char *at, enum quantity quantity, enum units *units)
{
	static const char degree[] = "°";

	skip_blanks(&at);
	*units = CELSIUS;
	if (quantity == HUMIDITY)
		return *at == '%' && at_end(at + 1);
	if (strncmp(at, degree, sizeof degree - 1) == 0)
		at += sizeof degree - 1;
	if (*at == 'F')
		*units = FAHRENHEIT;
	else if (*at != 'C')
		return false;
	return at_end(at + 1);
}

bool parse_range(const char *text, enum quantity quantity, struct range *out)
{
	struct range range;
	enum units units;

	skip_blanks(&text);
	if (!take_number(&text, &range.low))
		return false;
	skip_blanks(&text);
	if (text[0] != '.' || text[1] != '.')
		return false;
	text += 2;
	skip_blanks(&text);
	if (!take_number(&text, &range.high) || !take_unit(text, quantity, &units) ||
	    range.low > range.high)
		return false;
	if (units == FAHRENHEIT) {
		range.low = celsius_from_fahrenheit(range.low);
		range.high = celsius_from_fahrenheit(range.high);
	}
	*out = range;
	return true;
}

bool parse_difference(const char *text, enum quantity quantity, double *out)
{
	double value;
	enum units units;

	skip_blanks(&text);
	if (!take_number(&text, &value) || !take_unit(text, quantity, &units))
		return false;
	*out = units == FAHRENHEIT ? value * 5 / 9 : value;
	return true;
}

/* From the longest to the shortest: the order they must stand in. */
static const struct {
	const char *word;
	double seconds;
} time_units[] = { { "d", 86400 }, { "h", 3600 }, { "min", 60 }, { "s", 1 } };

enum { TIME_UNITS = sizeof time_units / sizeof *time_units };

/* The unit at *at that is shorter than number `next` - 1; TIME_UNITS when none. */
static size_t take_time_unit(const char **at, size_t next)
{
	for (size_t unit = next; unit < TIME_UNITS; unit++) {
		size_t length = strlen(time_units[unit].word);
		char after;

		if (strncmp(*at, time_units[unit].word, length) != 0)
			continue;
		after = (*at)[length];
		if (after != '\0' && !is_digit(after) && !strchr(" \t\r\n", after))
			continue;
		*at += length;
		return unit;
	}
	return TIME_UNITS;
}

bool parse_duration(const char *text, double *out)
{
	double seconds = 0;
	size_t next = 0;

	skip_blanks(&text);
	do {
		double value;
		size_t unit;

		if (!is_digit(*text) || !take_number(&text, &value))
			return false;
		skip_blanks(&text);
		unit = take_time_unit(&text, next);
		if (unit == TIME_UNITS)
			return false;
		seconds += value * time_units[unit].seconds;
		next = unit + 1;
		skip_blanks(&text);
	} while (*text != '\0');

	if (!isfinite(seconds) || seconds <= 0)
		return false;
	*out = seconds;
	return true;
}

/* Digits, at least `least` and at most `most` of them, up to the value `top`. */
static bool take_digits(const char **at, int least, int most, int top, int *out)
{
	int value = 0, count = 0;

	while (count < most && is_digit((*at)[count]))
		value = value * 10 + ((*at)[count++] - '0');
	if (count < least || value > top)
		return false;
	*at += count;
	*out = value;
	return true;
}

static bool take_char(const char **at, char c)
{
	if (**at != c)
		return false;
	++*at;
	return true;
}

bool parse_time_of_day(const char *text, int *out)
{
	int hour, minute;

	skip_blanks(&text);
	if (!take_digits(&text, 1, 2, 23, &hour) || !take_char(&text, ':') ||
	    !take_digits(&text, 2, 2, 59, &minute) || !at_end(text))
		return false;
	*out = hour * 3600 + minute * 60;
	return true;
}
