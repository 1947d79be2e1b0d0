/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Seasons: dates, weights and the rule of a day against values reckoned by
 * hand, and for a few hundred random seasons against a second computation that
 * walks from day to day.  Civil dates against timegm() (POSIX.1, 4.16: seconds
 * since the epoch).
 */
#include "tests/cm.h"

#include <time.h>

#include "conf/season.h"
#include "tests/conftext.h"

static int on(int year, int month, int day)
{
	struct tm tm = { .tm_year = year - 1900, .tm_mon = month - 1, .tm_mday = day };

	return (int)(timegm(&tm) / 86400);
}

static void civil_dates_are_the_calendars(void **state)
{
	(void)state;
	for (int date = on(1970, 1, 1); date < on(2101, 3, 2); date++) {
		time_t second = date * (time_t)86400;
		struct tm tm;

		gmtime_r(&second, &tm);
		assert_int_equal(civil_day(tm.tm_year + 1900, tm.tm_mon + 1, tm.tm_mday), date);
		assert_int_equal(civil_year(date), tm.tm_year + 1900);
	}
	assert_int_equal(civil_day(2025, 2, 29), on(2025, 3, 1));
	assert_int_equal(civil_day(2024, 2, 29), on(2024, 3, 1) - 1);
	assert_int_equal(civil_day(1969, 12, 31), -1);
}

static const struct season_dates winter = { .kind = YEARLY, .first = { 11, 15 }, .last = { 2, 15 },
					    .ramp = 14 };

/* By hand: November has 30 days; 2026-02-15 less 14 days is 02-01. */
static void weights_across_new_year(void **state)
{
	(void)state;
	static const struct { int year, month, day; double fourteenths; } table[] = {
		{ 2025, 11, 14, 0 }, { 2025, 11, 15, 0 }, { 2025, 11, 16, 1 }, { 2025, 11, 22, 7 },
		{ 2025, 11, 28, 13 }, { 2025, 11, 29, 14 }, { 2025, 12, 31, 14 },
		{ 2026, 1, 1, 14 }, { 2026, 2, 1, 14 }, { 2026, 2, 2, 13 }, { 2026, 2, 8, 7 },
		{ 2026, 2, 14, 1 }, { 2026, 2, 15, 0 }, { 2026, 7, 1, 0 },
	};

	for (size_t i = 0; i < sizeof table / sizeof *table; i++)
		assert_near(season_weight(&winter, on(table[i].year, table[i].month, table[i].day)),
			    table[i].fourteenths / 14, 1e-15);
}

static void leap_days(void **state)
{
	(void)state;
	const struct season_dates from = { .kind = YEARLY, .first = { 2, 29 }, .last = { 3, 10 } };
	const struct season_dates to = { .kind = YEARLY, .first = { 2, 1 }, .last = { 2, 29 },
					 .ramp = 4 };
	const struct season_dates only = { .kind = YEARLY, .first = { 2, 29 }, .last = { 3, 1 } };

	assert_near(season_weight(&from, on(2024, 2, 28)), 0, 0);
	assert_near(season_weight(&from, on(2024, 2, 29)), 1, 0);
	assert_near(season_weight(&from, on(2025, 2, 28)), 0, 0);
	assert_near(season_weight(&from, on(2025, 3, 1)), 1, 0);
	assert_near(season_weight(&to, on(2024, 2, 28)), 0.25, 0);
	assert_near(season_weight(&to, on(2024, 2, 29)), 0, 0);
	assert_near(season_weight(&to, on(2025, 2, 28)), 0.25, 0);
	assert_near(season_weight(&to, on(2025, 3, 1)), 0, 0);
	/* A day that is not there every year is no season of a whole year. */
	assert_near(season_weight(&only, on(2024, 2, 29)), 1, 0);
	for (int date = on(2025, 1, 1); date < on(2028, 2, 29); date++)
		assert_near(season_weight(&only, date), 0, 0);
}

static void once(void **state)
{
	(void)state;
	const struct season_dates care = { .kind = ONCE, .until = on(2026, 3, 14) };
	const struct season_dates gravid = { .kind = ONCE, .has_from = true,
					     .from = on(2026, 2, 20), .until = on(2026, 3, 2),
					     .ramp = 5 };
	static const double fifths[] = { 0, 0, 1, 2, 3, 4, 5, 4, 3, 2, 1, 0, 0 };

	assert_near(season_weight(&care, on(1990, 1, 1)), 1, 0);
	assert_near(season_weight(&care, on(2026, 3, 13)), 1, 0);
	assert_near(season_weight(&care, on(2026, 3, 14)), 0, 0);
	assert_near(season_weight(&care, on(2027, 3, 13)), 0, 0);
	for (int i = 0; i < 13; i++)
		assert_near(season_weight(&gravid, on(2026, 2, 19) + i), fifths[i] / 5, 1e-15);
}

static unsigned dice = 20260314;

/* 0..below - 1; a chain of remainders, the same at every run. */
static int thrown(int below)
{
	dice = dice * 1664525u + 1013904223u;
	return (int)((dice >> 8) % (unsigned)below);
}

/* What the season says of that very day of the calendar, where it begins. */
static bool is_date(int date, struct month_day wanted)
{
	time_t second = date * (time_t)86400, before = second - 86400;
	struct tm tm, yesterday;

	gmtime_r(&second, &tm);
	gmtime_r(&before, &yesterday);
	if (tm.tm_mon + 1 == wanted.month && tm.tm_mday == wanted.day)
		return true;
	return wanted.month == 2 && wanted.day == 29 && tm.tm_mon == 2 && tm.tm_mday == 1 &&
	       yesterday.tm_mday == 28;
}

/* The same without any arithmetic of dates: day by day back to the beginning
 * and on to the end, whichever is met first. */
static double weight_by_walking(const struct season_dates *dates, int date)
{
	int since = 0, left = 1;

	while (!is_date(date - since, dates->first)) {
		if (is_date(date - since, dates->last))
			return 0;
		since++;
	}
	/* Both on March 1: from 02-29 on it has no day, up to 02-29 it goes on. */
	if (dates->first.month == 2 && is_date(date - since, dates->last))
		return 0;
	while (!is_date(date + left, dates->last))
		left++;
	if (dates->ramp == 0)
		return 1;
	return fmin(1, fmin((double)since / dates->ramp, (double)left / dates->ramp));
}

static struct month_day thrown_day(void)
{
	static const int days[] = { 31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31 };
	int month = thrown(12);

	if (thrown(5) == 0)
		return (struct month_day){ 2, 29 };
	return (struct month_day){ month + 1, 1 + thrown(days[month]) };
}

static void random_dates_walked(void **state)
{
	(void)state;
	for (int i = 0; i < 600; i++) {
		struct season_dates dates = { .kind = YEARLY, .first = thrown_day(),
					      .last = thrown_day() };
		int shortest = 400, date = on(1999, 1, 1) + thrown(12000);

		if (dates.first.month == dates.last.month && dates.first.day == dates.last.day)
			continue;
		for (int year = 2021; year < 2025; year++) {
			int from, to;

			season_of_year(&dates, year, &from, &to);
			shortest = to - from < shortest ? to - from : shortest;
		}
		dates.ramp = thrown(shortest / 2 + 1);
		assert_near(season_weight(&dates, date), weight_by_walking(&dates, date), 1e-12);
	}
}

/* ---- rules -------------------------------------------------------------------- */

static const char snake[] =
	"bus \"b\" { port = \"/dev/b\" speaks = \"modbus\" }\n"
	"probe \"p\" { bus = \"b\" address = 1 temperature = \"input 1\" humidity = \"input 2\" }\n"
	"species \"snake\" {\n"
	"  cool_side { temperature { day = \"22..26 C\" night = \"20..24 C\" limits = \"12..32 C\"\n"
	"      patience = \"2h\" deadband = \"2 C\" source = \"ordinary\" } }\n"
	"  season \"brumation\" { ramp = \"10d\"\n"
	"    cool_side { temperature { day = \"8..12 C\" night = \"8..11 C\" limits = \"2..18 C\"\n"
	"      patience = \"6h\" source = \"a book\" } } }\n"
	"  season \"laying\" { from = \"06-01\" to = \"07-01\"\n"
	"    cool_side { temperature { day = \"24..28 C\" } humidity { day = \"60..80 %\" } } } }\n";

/* One enclosure of it, with whatever else it says. */
static struct conf *snake_with(void **state, const char *seasons)
{
	char *text = must_print("%senclosure \"T1\" { species = \"snake\"\n"
				" cool_side { probe = \"p\" }\n%s}\n",
				snake, seasons);
	struct conf *conf = load_good(state, text);

	free(text);
	return conf;
}

static const struct rule *rule_of(const struct conf *conf, enum quantity quantity)
{
	return &conf->enclosures[0].places[COOL_SIDE].rules[quantity];
}

static void assert_range(struct range range, double low, double high)
{
	assert_near(range.low, low, 1e-9);
	assert_near(range.high, high, 1e-9);
}

static void a_profile_waits_for_dates(void **state)
{
	struct conf *conf = snake_with(state, "");
	struct rule room;
	const struct rule *rule = rule_of(conf, TEMPERATURE);

	assert_int_equal(conf->species[0].season_count, 2);
	assert_string_equal(conf->species[0].seasons[0].name, "brumation");
	assert_int_equal(conf->species[0].seasons[0].dates.kind, UNDATED);
	assert_int_equal(conf->enclosures[0].season_count, 1); /* laying */
	assert_int_equal(rule->season_count, 1);
	assert_range(rule_on(rule, on(2026, 1, 1), &room)->day, 22, 26);
	/* The season of the species that has dates holds, its day all the time. */
	assert_range(rule_on(rule, on(2026, 6, 1), &room)->day, 24, 28);
	assert_range(rule_on(rule, on(2026, 6, 1), &room)->night, 24, 28);
	assert_range(rule_on(rule, on(2026, 7, 1), &room)->night, 20, 24);
	assert_range(rule_on(rule, on(2026, 7, 1), &room)->day, 22, 26);
	/* Where there is no band else there is one, and a night like its day. */
	rule = rule_of(conf, HUMIDITY);
	assert_false(rule->has_band);
	assert_true(rule_ever_has_band(rule));
	assert_false(rule_on(rule, on(2026, 5, 31), &room)->has_band);
	assert_true(rule_on(rule, on(2026, 6, 30), &room)->has_band);
	assert_range(rule_on(rule, on(2026, 6, 30), &room)->night, 60, 80);
	for (int date = on(2026, 1, 1); date < on(2027, 1, 1); date++)
		assert_int_equal(seasons_step(conf, date),
				 date == on(2026, 6, 1) || date == on(2026, 7, 1));
	conf_free(conf);
}

/* A tenth of the way a day: day 22..26 -> 8..12, night 20..24 -> 8..11,
 * limits 12..32 -> 2..18. */
static void edges_move_by_tenths(void **state)
{
	struct conf *conf = snake_with(
		state, " season \"brumation\" { from = \"11-15\" to = \"02-15\" }\n");
	const struct rule *rule = rule_of(conf, TEMPERATURE), *now;
	struct rule room;

	now = rule_on(rule, on(2025, 11, 15), &room);
	assert_range(now->day, 22, 26);
	assert_near(now->patience, 7200, 0);
	assert_string_equal(now->source, "ordinary");
	now = rule_on(rule, on(2025, 11, 18), &room);
	assert_range(now->day, 17.8, 21.8);
	assert_range(now->night, 16.4, 20.1);
	assert_range(now->limits, 9, 27.8);
	assert_near(now->patience, 21600, 0);
	assert_string_equal(now->source, "a book");
	assert_near(now->deadband, 1.85, 1e-9); /* half of 16.4..20.1 */
	now = rule_on(rule, on(2026, 1, 1), &room);
	assert_range(now->day, 8, 12);
	assert_range(now->night, 8, 11);
	assert_near(now->deadband, 1.5, 1e-9);
	assert_range(rule_on(rule, on(2026, 2, 14), &room)->day, 20.6, 24.6);
	now = rule_on(rule, on(2026, 2, 15), &room);
	assert_range(now->limits, 12, 32);
	assert_near(now->deadband, 2, 0);
	assert_null(now->seasons);
	conf_free(conf);
}

/* Dates, ramp and bands are taken over key by key; dates of the other kind as
 * a whole. */
static void an_enclosure_overrides(void **state)
{
	struct conf *conf = snake_with(state,
		" season \"brumation\" { from = \"2026-12-01\" until = \"2027-02-01\" ramp = \"0d\"\n"
		"  cool_side { temperature { night = \"9..11 C\" deadband = \"0.25 C\" } } }\n"
		" season \"laying\" { to = \"06-15\" }\n"
		" season \"care\" { until = \"2026-06-05\"\n"
		"  cool_side { temperature { limits = \"10..33 C\" patience = \"1h\" } } }\n");
	const struct rule *rule = rule_of(conf, TEMPERATURE), *now;
	struct rule room;

	assert_int_equal(rule->season_count, 3);
	assert_range(rule_on(rule, on(2026, 11, 30), &room)->day, 22, 26);
	now = rule_on(rule, on(2026, 12, 1), &room);
	assert_range(now->day, 8, 12);
	assert_range(now->night, 9, 11);
	assert_near(now->deadband, 0.25, 0);
	assert_range(rule_on(rule, on(2027, 1, 31), &room)->day, 8, 12);
	assert_range(rule_on(rule, on(2027, 2, 1), &room)->day, 22, 26);
	assert_range(rule_on(rule, on(2027, 12, 24), &room)->day, 22, 26);
	/* Two at a time. */
	now = rule_on(rule, on(2026, 6, 4), &room);
	assert_range(now->day, 24, 28);
	assert_range(now->limits, 10, 33);
	assert_near(now->patience, 3600, 0);
	now = rule_on(rule, on(2026, 6, 5), &room);
	assert_range(now->day, 24, 28);
	assert_range(now->limits, 12, 32);
	assert_range(rule_on(rule, on(2026, 6, 15), &room)->day, 22, 26);
	conf_free(conf);
}

static void the_later_over_the_former(void **state)
{
	struct conf *conf = snake_with(state,
		" season \"a\" { until = \"2026-03-14\"\n"
		"  cool_side { temperature { day = \"14..16 C\" night = \"13..15 C\" } } }\n"
		" season \"b\" { from = \"2026-03-10\" until = \"2026-03-14\" ramp = \"2d\"\n"
		"  cool_side { temperature { day = \"20..24 C\" } } }\n");
	const struct rule *rule = rule_of(conf, TEMPERATURE);
	struct rule room;

	assert_range(rule_on(rule, on(2026, 3, 10), &room)->day, 14, 16);
	assert_range(rule_on(rule, on(2026, 3, 11), &room)->day, 17, 20);
	assert_range(rule_on(rule, on(2026, 3, 12), &room)->day, 20, 24);
	assert_range(rule_on(rule, on(2026, 3, 12), &room)->night, 20, 24);
	conf_free(conf);
}

/* Band and limits, of the place and of a season of 4 days' ramp, there or not: on no day
 * does a band lie outside limits, and what the place lacks comes with what moves. */
static void what_is_not_there_does_not_move(void **state)
{
	(void)state;
	const struct season_dates dates = {
		.kind = YEARLY, .first = { 11, 15 }, .last = { 2, 15 }, .ramp = 4,
	};
	const struct range warm = { 26, 30 }, warm_limits = { 20, 35 };
	const struct range cold = { 8, 12 }, cold_limits = { 5, 15 };

	for (int has = 0; has < 16; has++) {
		struct rule base = { .has_band = has & 1, .has_limits = has & 2, .day = warm,
				     .night = warm, .limits = warm_limits };
		const struct season_rule says = {
			.day = has & 4, .night = has & 4, .limits = has & 8,
			.rule = { .has_band = has & 4, .has_limits = has & 8, .day = cold,
				  .night = cold, .limits = cold_limits },
		};
		struct rule_season season = { &dates, &says };
		/* Either alone would leave the other's where it does not belong: refused. */
		bool both = (says.day || !base.has_band) && (says.limits || !base.has_limits);

		base.seasons = &season;
		base.season_count = 1;
		for (int date = on(2026, 11, 1); both && date < on(2027, 3, 1); date++) {
			struct rule room;
			const struct rule *now = rule_on(&base, date, &room);
			double weight = season_weight(&dates, date);
			bool neither = !base.has_band && !base.has_limits;

			assert_int_equal(now->has_band, base.has_band ||
					 (says.day && (weight >= 1 || (neither && weight > 0))));
			assert_int_equal(now->has_limits, base.has_limits ||
					 (says.limits && (weight >= 1 || (neither && weight > 0))));
			if (!now->has_band || !now->has_limits)
				continue;
			assert_true(now->day.low >= now->limits.low);
			assert_true(now->day.high <= now->limits.high);
		}
	}
}

static void no_season_costs_nothing(void **state)
{
	struct conf *conf = load_good(state, "enclosure \"T1\" { cool_side { temperature {"
					     " day = \"22..26 C\" } } }\n");
	struct rule room;

	assert_ptr_equal(rule_on(rule_of(conf, TEMPERATURE), 20000, &room),
			 rule_of(conf, TEMPERATURE));
	assert_false(seasons_step(conf, 20000));
	conf_free(conf);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(civil_dates_are_the_calendars),
		cmocka_unit_test(weights_across_new_year),
		cmocka_unit_test(leap_days),
		cmocka_unit_test(once),
		cmocka_unit_test(random_dates_walked),
		cmocka_unit_test_setup_teardown(a_profile_waits_for_dates, folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(edges_move_by_tenths, folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(an_enclosure_overrides, folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(the_later_over_the_former, folder_new, folder_gone),
		cmocka_unit_test(what_is_not_there_does_not_move),
		cmocka_unit_test_setup_teardown(no_season_costs_nothing, folder_new, folder_gone),
	};

	setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
