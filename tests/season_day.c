/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Seasons on the clock: which keeper's day an instant belongs to, on both
 * nights on which clocks change too; and exact seconds of minutes and episodes
 * across the step at the change to day, against figures made by hand.
 *
 * Zones are those of the zone files: Central Europe changes at 01:00 UTC on the
 * last Sundays of March and October (Directive 2000/84/EC), Havana at midnight
 * (IANA time zone database, northamerica, Rule Cuba).
 */
#include "tests/cm.h"

#include <time.h>

#include "conf/band.h"
#include "daemon/judge.h"
#include "daemon/minutes.h"
#include "tests/conftext.h"

static void use_zone(const char *zone)
{
	setenv("TZ", zone, 1);
	tzset();
}

static int on(int year, int month, int day)
{
	return civil_day(year, month, day);
}

/* ---- the keeper's day ----------------------------------------------------------- */

/* The clock on the wall, asked directly: before `from` it is still the day before.
 * In the hour after a change of the clock, what an unchanged one would show: a
 * time that is skipped comes an hour later, one that comes twice is over once. */
static int date_by_the_wall(double instant, int from)
{
	time_t second = (time_t)instant - 3600;
	struct tm tm;

	localtime_r(&second, &tm);
	second += 3600 + tm.tm_gmtoff;
	gmtime_r(&second, &tm);

	int today = on(tm.tm_year + 1900, tm.tm_mon + 1, tm.tm_mday);

	return tm.tm_hour * 3600 + tm.tm_min * 60 + tm.tm_sec >= from ? today : today - 1;
}

static void agrees_at(const struct day *day, double t)
{
	struct daypart_span span = daypart_at(day, t);
	int date = date_by_the_wall(t, day->from);

	assert_int_equal(span.date, date);
	/* Nothing changes in a span, the date neither. */
	assert_int_equal(daypart_at(day, span.from).date, date);
	assert_int_equal(daypart_at(day, span.until - 0.5).date, date);
	assert_true(daypart_begin(day, date) <= t && t < daypart_begin(day, date + 1));
}

static void agrees_with_the_wall(const char *zone, const struct day *day)
{
	/* New year, the leap day, and the nights of both zones. */
	const int nights[] = { on(2028, 1, 1),	 on(2028, 2, 29),  on(2028, 3, 12),
			       on(2028, 3, 26),	 on(2028, 10, 29), on(2028, 11, 5) };

	use_zone(zone);
	for (double t = 86400.0 * on(2027, 12, 1); t < 86400.0 * on(2029, 2, 1); t += 50021)
		agrees_at(day, t);
	for (size_t i = 0; i < sizeof nights / sizeof *nights; i++)
		for (double t = -86400; t < 2 * 86400; t += 1237)
			agrees_at(day, 86400.0 * nights[i] + t);
}

/* Fourteen months with a leap day, both nights and a new year. */
static void a_day_bears_the_date_of_its_beginning(void **state)
{
	(void)state;
	const struct day ordinary = { 8 * 3600, 20 * 3600, 5400 };
	const struct day nocturnal = { 21 * 3600, 9 * 3600, 0 };
	const struct day early = { 2 * 3600 + 1800, 1800, 600 };
	const struct day for_ever = { 6 * 3600, 6 * 3600, 5400 };
	const struct day midnight = { 0, 14 * 3600, 600 };

	agrees_with_the_wall("Europe/Berlin", &ordinary);
	agrees_with_the_wall("Europe/Berlin", &nocturnal);
	agrees_with_the_wall("Europe/Berlin", &for_ever);
	agrees_with_the_wall("Europe/Berlin", &midnight);
	agrees_with_the_wall("America/Havana", &ordinary);
	agrees_with_the_wall("America/Havana", &midnight);
	agrees_with_the_wall("Europe/Berlin", &early);
}

/* ---- exact to the second ----------------------------------------------------------- */

/* A step every day from 2026-03-27 on: day 22..26 -> 8..12 in tenths, so 20.6..24.6
 * on March 28 and 19.2..23.2 on March 29, the night on which the clocks go forward;
 * limits 10..32 -> 2..18, so 9.2..30.6 and 8.4..29.2. */
static const char snake[] =
	"day { from = \"08:00\" to = \"20:00\" changeover = \"0s\" }\n"
	"bus \"b\" { port = \"/dev/b\" speaks = \"modbus\" every = \"60s\" }\n"
	"probe \"p\" { bus = \"b\" address = 1 temperature = \"input 1\" humidity = \"input 2\" }\n"
	"enclosure \"T1\" {\n"
	"  cool_side { probe = \"p\" temperature { day = \"22..26 C\" limits = \"10..32 C\"\n"
	"    off_delay = \"0s\" } }\n"
	"  season \"cold\" { from = \"2026-03-27\" until = \"2026-05-01\" ramp = \"10d\"\n"
	"    cool_side { temperature { day = \"8..12 C\" limits = \"2..18 C\" }\n"
	"      humidity { day = \"50..60 %\" } } }\n"
	"}\n";

/* 2026-03-29 08:00 summer time in Berlin. */
static double the_step(void)
{
	return 86400.0 * on(2026, 3, 29) + 6 * 3600;
}

static struct closed_minute got[20];
static size_t got_count;

static void sink(void *context, const struct closed_minute *minute)
{
	(void)context;
	assert_true(got_count < 20);
	got[got_count++] = *minute;
}

/* 25 °C half a minute before the step, 23 °C half a minute after it: a line of
 * -1/30 °C a second.  Before: above 24.6 for 12 s, by 0.2 °C on average.  After:
 * 24 °C at the step, above 23.2 for 24 s, by 0.4 °C on average. */
static void minutes_are_exact_over_the_step(void **state)
{
	use_zone("Europe/Berlin");
	struct conf *conf = load_good(state, snake);
	struct minutes *m = minutes_new(conf, &conf->enclosures[0]);
	double step = the_step();

	got_count = 0;
	assert_true(minutes_take(m, 0, step - 30, 25));
	assert_true(minutes_take(m, 0, step + 30, 23));
	minutes_finish(m, sink, NULL);
	assert_int_equal(got_count, 2);
	assert_near((double)got[0].end, step, 0);
	assert_near(got[0].cells[0].ok * 60, 30, 1e-9);
	assert_near(got[0].cells[0].high * 60, 12, 1e-9);
	assert_near(got[0].cells[0].low * 60, 0, 0);
	assert_near(got[0].cells[0].out * 60, 2.4, 1e-9);
	assert_near(got[1].cells[0].ok * 60, 30, 1e-9);
	assert_near(got[1].cells[0].high * 60, 24, 1e-9);
	assert_near(got[1].cells[0].out * 60, 9.6, 1e-9);
	minutes_free(m);
	conf_free(conf);
}

/* A band that begins in a minute's middle, and below it: humidity has none until
 * March 28 08:00 winter time, and 50..60 % whole from then on. */
static void a_band_that_begins_counts_from_its_second(void **state)
{
	use_zone("Europe/Berlin");
	struct conf *conf = load_good(state, snake);

	conf->day.from = 8 * 3600 + 20; /* no configuration says so, the arithmetic can */
	struct minutes *m = minutes_new(conf, &conf->enclosures[0]);
	double step = 86400.0 * on(2026, 3, 28) + 7 * 3600 + 20;

	got_count = 0;
	assert_true(minutes_take(m, 1, step - 20, 40));
	assert_true(minutes_take(m, 1, step + 40, 40));
	minutes_finish(m, sink, NULL);
	assert_int_equal(got_count, 1);
	assert_near(got[0].cells[1].ok * 60, 60, 1e-9);
	assert_near(got[0].cells[1].low * 60, 40, 1e-9);
	assert_near(got[0].cells[1].out * 60, 400, 1e-9);
	minutes_free(m);
	conf_free(conf);
}

static void judge(struct judged *judged, const struct conf *conf, struct daypart_cache *cache,
		  double time, double value)
{
	judge_reading(judged, TEMPERATURE, &conf->enclosures[0].places[COOL_SIDE].rules[TEMPERATURE],
		      &conf->day, cache, 600, 0, (struct sample){ time, value });
}

/* The same line: 12 s and 24 s make 36 s of one episode. */
static void episodes_are_exact_over_the_step(void **state)
{
	use_zone("Europe/Berlin");
	struct conf *conf = load_good(state, snake);
	struct daypart_cache cache = { 0 };
	struct judged judged = { 0 };
	double step = the_step();

	judge(&judged, conf, &cache, step - 30, 25);
	assert_int_equal(judged.band.side, ABOVE);
	judge(&judged, conf, &cache, step + 20, 70.0 / 3);
	assert_near(judged.band.since, step - 30, 0);
	assert_near(judged.band.outside, 12 + 20, 1e-9);
	judge(&judged, conf, &cache, step + 30, 23);
	assert_near(judged.band.outside, 36, 1e-9);
	judged_free(&judged);
	conf_free(conf);
}

/* Nothing moves but the band: what was inside strays from the very step on, and
 * what was within its limits is beyond them. */
static void the_step_itself_is_a_crossing(void **state)
{
	use_zone("Europe/Berlin");
	struct conf *conf = load_good(state, snake);
	const struct rule *rule = &conf->enclosures[0].places[COOL_SIDE].rules[TEMPERATURE];
	struct daypart_cache cache = { 0 };
	struct judged judged = { 0 }, hot = { 0 };
	double step = the_step();

	judge(&judged, conf, &cache, step - 100, 24);
	assert_int_equal(judged.band.side, INSIDE);
	judge(&judged, conf, &cache, step + 200, 24);
	assert_int_equal(judged.band.side, ABOVE);
	assert_near(judged.band.since, step, 0);
	assert_near(judged.band.outside, 200, 0);
	judge(&hot, conf, &cache, step - 100, 30);
	assert_int_equal(hot.limits.side, INSIDE);
	judge(&hot, conf, &cache, step + 200, 30);
	assert_int_equal(hot.limits.side, ABOVE);
	assert_near(hot.limits.since, step, 0);
	assert_int_equal(judge_value(rule, &conf->day, &cache, (struct sample){ step - 1, 30 }),
			 STRAYING);
	assert_int_equal(judge_value(rule, &conf->day, &cache, (struct sample){ step, 30 }),
			 UNSAFE);
	/* A line of which both ends are inside, each by the band of its own day. */
	judged_free(&judged);
	judge(&judged, conf, &cache, step - 100, 24.5);
	judge(&judged, conf, &cache, step + 100, 22.9);
	assert_near(judged.band.since, step, 0);
	assert_near(judged.band.outside, 62.5, 1e-9); /* 23.7 at the step, -0.008 a second */
	judged_free(&judged);
	judged_free(&hot);
	conf_free(conf);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_day_bears_the_date_of_its_beginning),
		cmocka_unit_test_setup_teardown(minutes_are_exact_over_the_step, folder_new,
						folder_gone),
		cmocka_unit_test_setup_teardown(a_band_that_begins_counts_from_its_second,
						folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(episodes_are_exact_over_the_step, folder_new,
						folder_gone),
		cmocka_unit_test_setup_teardown(the_step_itself_is_a_crossing, folder_new,
						folder_gone),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
