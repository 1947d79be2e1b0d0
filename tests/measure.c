/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Texts with units, both directions.  Instants given without a zone are
 * read in a zone written out as a POSIX TZ string (IEEE Std 1003.1, 8.3).
 */
#include "tests/cm.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "conf/measure.h"

static void numbers(void **state)
{
	(void)state;
	const struct { const char *text; double value; } good[] = {
		{ "1", 1 }, { " -0.4 ", -0.4 }, { "+2", 2 }, { "1e3", 1000 }, { "2.5E-1", 0.25 },
		{ "007", 7 },
	};
	const char *bad[] = { "", " ", "nan", "inf", "-inf", "NAN", "infinity", "0x10", "1,5",
			      "1.", ".5", "1.5x", "1 2", "1e999", "--1", "1e", "\xd9\xa1" };
	double out = 99;

	for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
		assert_true(parse_number(good[i].text, &out));
		assert_near(out, good[i].value, 0);
	}
	out = 99;
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_false(parse_number(bad[i], &out));
	assert_near(out, 99, 0);
}

/* Short numbers are not read by strtod(), and must be what it says. */
static void numbers_as_strtod(void **state)
{
	(void)state;
	static const char *const edges[] = {
		"-0", "0.000000000000001", "999999999999999", "9999999999999999",
		"0.1000000000000005", "00000000000000000.3", "-123456789.123456", "9007199254740993",
	};
	unsigned long long seed = 20260101;
	char text[40];
	double out;

	for (int i = 0; i < 200000; i++) {
		int decimals;

		seed = seed * 6364136223846793005ULL + 1442695040888963407ULL;
		decimals = (int)(seed >> 60);
		snprintf(text, sizeof text, "%s%llu.%0*llu", seed & 1 ? "-" : "",
			 (seed >> 8) % (i % 2 ? 100 : 100000000), decimals + 1,
			 (seed >> 16) % (decimals < 8 ? 10 : 1000000000));
		assert_true(parse_number(text, &out));
		assert_near(out, strtod(text, NULL), 0);
	}
	for (size_t i = 0; i < sizeof edges / sizeof *edges; i++) {
		assert_true(parse_number(edges[i], &out));
		assert_near(out, strtod(edges[i], NULL), 0);
		assert_true(signbit(out) == signbit(strtod(edges[i], NULL)));
	}
}

static void instants_a_file_may_hold(void **state)
{
	(void)state;
	assert_true(is_instant(0));
	assert_true(is_instant(253402300799.0)); /* the last that can be written */
	assert_true(is_instant(1e12));
	assert_false(is_instant(1.1e12));
	assert_false(is_instant(-1));
	assert_false(is_instant((double)NAN));
}

static void ranges(void **state)
{
	(void)state;
	struct range r;

	assert_true(parse_range("26..30 C", TEMPERATURE, &r));
	assert_near(r.low, 26, 0);
	assert_near(r.high, 30, 0);
	assert_true(parse_range(" -5.5 .. 10.25C ", TEMPERATURE, &r));
	assert_near(r.low, -5.5, 0);
	assert_near(r.high, 10.25, 0);
	/* 79 °F = 26.111.. °C, 86 °F = 30 °C */
	assert_true(parse_range("79..86 F", TEMPERATURE, &r));
	assert_near(r.low, 235.0 / 9, 1e-12);
	assert_near(r.high, 30, 1e-12);
	assert_true(parse_range("27..31 °C", TEMPERATURE, &r));
	assert_true(parse_range("45..60 %", HUMIDITY, &r));
	assert_near(r.high, 60, 0);
	assert_true(parse_range("45..45 %", HUMIDITY, &r));
}

static void no_ranges(void **state)
{
	(void)state;
	const char *temperatures[] = { "", "26..30", "26..30 K", "26..30 %", "30..26 C", "26-30 C",
				       "26.30 C", "26...30 C", "26.. C", "..30 C", "nan..30 C",
				       "26..inf C", "26..30 C C", "26..30 CF", "26,5..30 C",
				       "26..0x20 C", "26..30 c" };
	const char *humidities[] = { "45..60", "45..60 C", "45..60 %%", "60..45 %", "45%..60%" };
	struct range r = { 7, 8 };

	for (size_t i = 0; i < sizeof temperatures / sizeof *temperatures; i++)
		assert_false(parse_range(temperatures[i], TEMPERATURE, &r));
	for (size_t i = 0; i < sizeof humidities / sizeof *humidities; i++)
		assert_false(parse_range(humidities[i], HUMIDITY, &r));
	assert_near(r.low, 7, 0);
}

static void differences(void **state)
{
	(void)state;
	double d;

	assert_true(parse_difference("-0.4 C", TEMPERATURE, &d));
	assert_near(d, -0.4, 0);
	/* a difference has no zero point: 9 °F are 5 °C */
	assert_true(parse_difference("9 F", TEMPERATURE, &d));
	assert_near(d, 5, 0);
	assert_true(parse_difference("+2 %", HUMIDITY, &d));
	assert_near(d, 2, 0);
	assert_false(parse_difference("2", TEMPERATURE, &d));
	assert_false(parse_difference("2 %", TEMPERATURE, &d));
	assert_false(parse_difference("nan C", TEMPERATURE, &d));
	assert_near(d, 2, 0);
}

static void durations(void **state)
{
	(void)state;
	const struct { const char *text; double value; } good[] = {
		{ "90s", 90 },	     { "45min", 2700 },  { "6h", 21600 },     { "2d", 172800 },
		{ "1h 30min", 5400 }, { "1h30min", 5400 }, { "1.5 h", 5400 }, { " 10 s ", 10 },
		{ "1d 2h 3min 4s", 93784 },
	};
	const char *bad[] = { "", "90", "0s", "-5s", "+5s", "5m", "5 minutes", "30min 1h", "1h 1h",
			      "1h,30min", "nanh", "infs", "1e999s", "5sx", "h", "0x5s", "1h 30" };
	double s = 99;

	for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
		if (!parse_duration(good[i].text, &s))
			fail_msg("refused: %s", good[i].text);
		assert_near(s, good[i].value, 1e-9);
	}
	s = 99;
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		if (parse_duration(bad[i], &s))
			fail_msg("taken: %s", bad[i]);
	assert_near(s, 99, 0);
}

static void times_of_day(void **state)
{
	(void)state;
	const char *bad[] = { "24:00", "8", "8:0", "08:60", "-1:00", "08:00:00", "008:00", "8h", "" };
	int s = 1;

	assert_true(parse_time_of_day("08:00", &s));
	assert_int_equal(s, 28800);
	assert_true(parse_time_of_day(" 7:05 ", &s));
	assert_int_equal(s, 25500);
	assert_true(parse_time_of_day("23:59", &s));
	assert_int_equal(s, 86340);
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_false(parse_time_of_day(bad[i], &s));
}

static void instants(void **state)
{
	(void)state;
	/* reference: date -u -d 2026-01-05T08:00:00Z +%s (GNU coreutils) = 1767600000 */
	const struct { const char *text; double value; } good[] = {
		{ "1767600000", 1767600000 },
		{ "1767600000.25", 1767600000.25 },
		{ "0", 0 },
		{ "2026-01-05T08:00:00Z", 1767600000 },
		{ "2026-01-05T08:00Z", 1767600000 },
		{ "2026-01-05 08:00:00Z", 1767600000 },
		{ "2026-01-05T09:00:00+01:00", 1767600000 },
		{ "2026-01-05T09:00:00+0100", 1767600000 },
		{ "2026-01-05T02:30:00-05:30", 1767600000 },
		{ "2026-01-05T09:00:00+01", 1767600000 },
		{ "2026-01-05T08:00:00.5Z", 1767600000.5 },
		{ "2026-01-05T08:00:00,125Z", 1767600000.125 },
		/* local time: an hour east of Greenwich, in summer two */
		{ "2026-01-05T09:00:00", 1767600000 },
		{ " 2026-01-05 09:00 ", 1767600000 },
		{ "2026-01-05", 1767567600 },
		{ "2026-07-05 10:00", 1783238400 },
		{ "2024-02-29T00:00:00Z", 1709164800 },
	};
	double t;

	for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
		if (!parse_instant(good[i].text, &t))
			fail_msg("refused: %s", good[i].text);
		if (fabs(t - good[i].value) > 1e-6)
			fail_msg("%s read as %.6f", good[i].text, t);
	}
}

static void no_instants(void **state)
{
	(void)state;
	const char *bad[] = { "",
			      "nan",
			      "inf",
			      "0x10",
			      "-5",
			      "now",
			      "1767600000000000",
			      "2026-13-01",
			      "2026-02-29",
			      "2026-04-31",
			      "2026-1-5",
			      "26-01-05",
			      "2026-01-05T",
			      "2026-01-05T25:00:00",
			      "2026-01-05T08",
			      "2026-01-05T08:00:61Z",
			      "2026-01-05T08:00:00.Z",
			      "2026-01-05T08:00:00Zx",
			      "2026-01-05T08:00:00+1",
			      "2026-01-05T08:00:00+01:0",
			      "2026-01-05T08:00:00 +01:00",
			      "2026-01-05Z",
			      "1767600000s",
			      "2026-01-05 tea" };
	double t = 99;

	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		if (parse_instant(bad[i], &t))
			fail_msg("taken: %s", bad[i]);
	assert_near(t, 99, 0);
}

static void fahrenheit(void **state)
{
	(void)state;
	assert_near(fahrenheit_from_celsius(-40), -40, 0);
	assert_near(fahrenheit_from_celsius(100), 212, 0);
	assert_near(celsius_from_fahrenheit(98.6), 37, 1e-12);
	for (int c = -400; c <= 850; c++)
		assert_near(celsius_from_fahrenheit(fahrenheit_from_celsius(c / 10.0)), c / 10.0,
			    1e-12);
}

static void values_shown(void **state)
{
	(void)state;
	char buf[MEASURE_TEXT];
	const struct range warm = { 27, 31 }, odd = { 23.5, 29 }, dry = { 45, 60 };

	assert_string_equal(show_value(27.44, TEMPERATURE, CELSIUS, buf), "27.4 °C");
	assert_string_equal(show_value(27.4, TEMPERATURE, FAHRENHEIT, buf), "81.3 °F");
	/* A half goes away from zero, also one that lies a rounding error below. */
	assert_string_equal(show_value(27.45 - 1e-12, TEMPERATURE, CELSIUS, buf), "27.5 °C");
	assert_string_equal(show_value(-27.45 + 1e-12, TEMPERATURE, CELSIUS, buf), "-27.5 °C");
	assert_string_equal(show_value(27.25 - 1e-12, TEMPERATURE, FAHRENHEIT, buf), "81.1 °F");
	assert_string_equal(show_value(27.449999, TEMPERATURE, CELSIUS, buf), "27.4 °C");
	assert_string_equal(show_value(37.5 - 1e-12, HUMIDITY, CELSIUS, buf), "38 %");
	assert_string_equal(show_value(-0.04, TEMPERATURE, CELSIUS, buf), "0.0 °C");
	assert_string_equal(show_value(38.2, HUMIDITY, FAHRENHEIT, buf), "38 %");
	assert_string_equal(show_range(warm, TEMPERATURE, CELSIUS, buf), "27..31 °C");
	assert_string_equal(show_range(odd, TEMPERATURE, CELSIUS, buf), "23.5..29 °C");
	assert_string_equal(show_range(warm, TEMPERATURE, FAHRENHEIT, buf),
			    "80.6..87.8 °F");
	assert_string_equal(show_range(dry, HUMIDITY, CELSIUS, buf), "45..60 %");
	assert_string_equal(show_difference(1.2, TEMPERATURE, CELSIUS, buf), "1.2 °C");
	assert_string_equal(show_difference(1.2, TEMPERATURE, FAHRENHEIT, buf), "2.2 °F");
	assert_string_equal(show_difference(6.8, HUMIDITY, CELSIUS, buf), "7 %");
}

static void durations_shown(void **state)
{
	(void)state;
	const struct { double seconds; const char *text; } shown[] = {
		{ 0, "0 s" },		{ 0.4, "0 s" },	      { 30, "30 s" },
		{ 59.6, "1 min" },	{ 90, "1 min 30 s" }, { 2700, "45 min" },
		{ 3599.4, "59 min 59 s" }, { 3599.7, "1 h" }, { 7800, "2 h 10 min" },
		{ 85500, "23 h 45 min" }, { 86399, "1 d" },   { 86400 * 3 + 4 * 3600, "3 d 4 h" },
		{ 86400 * 400.0, "400 d" }, { -90, "-1 min 30 s" }, { -0.2, "0 s" },
	};
	char buf[MEASURE_TEXT];

	for (size_t i = 0; i < sizeof shown / sizeof *shown; i++)
		assert_string_equal(show_duration(shown[i].seconds, buf), shown[i].text);
}

static void instants_shown(void **state)
{
	(void)state;
	char buf[MEASURE_TEXT];
	double back;

	assert_string_equal(show_instant_utc(1767600000.9, buf), "2026-01-05T08:00:00Z");
	assert_true(parse_instant(buf, &back));
	assert_near(back, 1767600000, 0);
	assert_string_equal(show_instant_local(1767600000, buf), "2026-01-05 09:00");
	assert_true(parse_instant(buf, &back));
	assert_near(back, 1767600000, 0);
	assert_string_equal(show_instant_local(1783238400, buf), "2026-07-05 10:00");
}

static void days(void **state)
{
	(void)state;
	static const struct {
		const char *text;
		int later;
		const char *begin;
	} good[] = {
		{ "2026-11-30", 0, "2026-11-29T23:00:00Z" },
		{ " 2026-07-01 ", 0, "2026-06-30T22:00:00Z" },
		{ "2026-07-01", 1, "2027-06-30T22:00:00Z" },
		{ "2024-02-29", 0, "2024-02-28T23:00:00Z" },
		{ "2024-02-29", 1, "2025-02-28T23:00:00Z" }, /* 1 March */
		{ "2023-02-28", 1, "2024-02-27T23:00:00Z" },
	};
	static const char *const bad[] = { "",	   "2026-11",	 "2026-11-31", "2025-02-29",
					   "30.11.2026", "2026-11-30T08:00", "2026-11-30 x",
					   "1796000000", "26-11-30" };
	double begin, expected;

	for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
		assert_true(parse_day(good[i].text, good[i].later, &begin));
		assert_true(parse_instant(good[i].begin, &expected));
		assert_near(begin, expected, 0);
	}
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_false(parse_day(bad[i], 0, &begin));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(numbers),	   cmocka_unit_test(numbers_as_strtod),
		cmocka_unit_test(instants_a_file_may_hold),
		cmocka_unit_test(ranges),
		cmocka_unit_test(no_ranges),	   cmocka_unit_test(differences),
		cmocka_unit_test(durations),	   cmocka_unit_test(times_of_day),
		cmocka_unit_test(instants),	   cmocka_unit_test(no_instants),
		cmocka_unit_test(fahrenheit),	   cmocka_unit_test(values_shown),
		cmocka_unit_test(durations_shown), cmocka_unit_test(instants_shown),
		cmocka_unit_test(days),
	};

	setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
