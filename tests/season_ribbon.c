/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The ribbon of a series with a season: the past from the log of bands, days to
 * come from the configuration while it says what the log says last.  Figures by
 * hand: day 22..26 -> 8..12 in fifths of 14 °C, 2.8 °C a step.
 */
#include "tests/cm.h"

#include "conf/band.h"
#include "report/excursions.h"
#include "report/ribbon.h"
#include "tests/conftext.h"

static const char snake[] =
	"day { from = \"08:00\" to = \"20:00\" changeover = \"1h\" }\n"
	"bus \"b\" { port = \"/dev/b\" speaks = \"modbus\" }\n"
	"probe \"p\" { bus = \"b\" address = 1 temperature = \"input 1\" }\n"
	"enclosure \"T1\" {\n"
	"  cool_side { probe = \"p\" temperature { day = \"22..26 C\" limits = \"10..32 C\" } }\n"
	"  season \"cold\" { from = \"12-28\" to = \"01-20\" ramp = \"5d\"\n"
	"    cool_side { temperature { day = \"8..12 C\" limits = \"5..17 C\" } } }\n"
	"}\n";

static const struct series cool = { COOL_SIDE, TEMPERATURE, false };

/* An instant; the zone is UTC. */
static double at(int year, int month, int day, int hour)
{
	return 86400.0 * civil_day(year, month, day) + 3600.0 * hour;
}

static void assert_band(const struct ribbon *ribbon, double instant, double low, double high)
{
	struct in_force force = ribbon_at(ribbon, instant);

	assert_true(force.has_band);
	assert_near(force.band.low, low, 1e-9);
	assert_near(force.band.high, high, 1e-9);
	assert_true(force.from <= instant && instant < force.until);
}

/* A log with one line, of when the watch began. */
static struct ribbon ribbon_since(const struct conf *conf, double since, double low_moved,
				  double until)
{
	struct band_record record = band_record_of(conf, &conf->enclosures[0], cool, since);
	struct band_list bands = { &record, 1 };
	struct ribbon ribbon;

	record.day.low += low_moved;
	record.night.low += low_moved;
	ribbon_make(&bands, conf, &conf->enclosures[0], cool, until, &ribbon);
	return ribbon;
}

static void days_to_come(void **state)
{
	struct conf *conf = load_good(state, snake);
	struct ribbon ribbon = ribbon_since(conf, at(2026, 6, 1, 0), 0, at(2027, 6, 1, 0));

	/* Five steps down, five up. */
	assert_int_equal(ribbon.count, 11);
	assert_near(ribbon.list[1].time, at(2026, 12, 29, 8), 0);
	assert_band(&ribbon, at(2026, 12, 28, 12), 22, 26);
	assert_band(&ribbon, at(2026, 12, 29, 8) - 1, 22, 26);
	assert_band(&ribbon, at(2026, 12, 29, 8), 19.2, 23.2);
	assert_band(&ribbon, at(2026, 12, 30, 7), 19.2, 23.2); /* the same keeper's day */
	assert_band(&ribbon, at(2026, 12, 30, 8), 16.4, 20.4);
	assert_band(&ribbon, at(2026, 12, 31, 23), 13.6, 17.6);
	assert_band(&ribbon, at(2027, 1, 1, 7), 13.6, 17.6); /* the old year's, until 08:00 */
	assert_band(&ribbon, at(2027, 1, 10, 12), 8, 12);
	assert_band(&ribbon, at(2027, 1, 19, 12), 19.2, 23.2);
	assert_band(&ribbon, at(2027, 1, 20, 8), 22, 26);
	assert_near(ribbon_record(&ribbon, at(2027, 1, 10, 12))->limits.high, 17, 1e-9);
	assert_near(ribbon_at(&ribbon, at(2026, 12, 30, 7)).until, at(2026, 12, 30, 8), 0);
	ribbon_clear(&ribbon);
	conf_free(conf);
}

/* The last that was in force is not what the file says now: nobody knows of more. */
static void an_edited_file_foretells_nothing(void **state)
{
	struct conf *conf = load_good(state, snake);
	struct ribbon ribbon = ribbon_since(conf, at(2026, 6, 1, 0), -1, at(2027, 6, 1, 0));

	assert_int_equal(ribbon.count, 1);
	assert_band(&ribbon, at(2027, 1, 10, 12), 21, 26);
	ribbon_clear(&ribbon);
	conf_free(conf);
}

/* As the daemon logs it, with 15 digits: behind the step of December 30 it goes on
 * with that of the 31st, once. */
static void a_log_in_the_middle_of_a_ramp(void **state)
{
	struct conf *conf = load_good(state, snake);
	struct band_record records[2];
	struct band_list bands = { records, 2 };
	struct ribbon ribbon;

	for (int i = 0; i < 2; i++) {
		struct band_record said = band_record_of(conf, &conf->enclosures[0], cool,
							 at(2026, 12, 29 + i, 8));
		char *line = band_to_line(&said);

		assert_true(band_from_line(line, &records[i]));
		assert_true(band_same(&said, &records[i]));
		free(line);
	}
	ribbon_make(&bands, conf, &conf->enclosures[0], cool, at(2027, 1, 1, 12), &ribbon);
	assert_int_equal(ribbon.count, 4);
	assert_near(ribbon.list[2].time, at(2026, 12, 31, 8), 0);
	assert_band(&ribbon, at(2026, 12, 31, 8), 13.6, 17.6);
	assert_band(&ribbon, at(2027, 1, 1, 8), 10.8, 14.8);
	/* As seen on December 29, when the next line was not written yet. */
	ribbon_foresee(&ribbon, conf, &conf->enclosures[0], at(2026, 12, 29, 20),
		       at(2026, 12, 31, 7));
	assert_int_equal(ribbon.count, 2);
	assert_band(&ribbon, at(2026, 12, 30, 12), 16.4, 20.4);
	ribbon_clear(&ribbon);
	conf_free(conf);
}

static void without_a_log_the_file_counts(void **state)
{
	struct conf *conf = load_good(state, snake);
	struct band_list bands = { 0 };
	struct ribbon ribbon;

	ribbon_make(&bands, conf, &conf->enclosures[0], cool, at(2027, 1, 12, 12), &ribbon);
	assert_band(&ribbon, at(2026, 7, 1, 12), 22, 26);
	assert_band(&ribbon, at(2027, 1, 10, 12), 8, 12);
	ribbon_clear(&ribbon);
	conf_free(conf);
}

/* 18 °C is within the limits of December 28 and beyond those of January. */
static void limits_are_those_of_their_day(void **state)
{
	struct conf *conf = load_good(state, snake);
	const double days[] = { at(2026, 12, 28, 12), at(2027, 1, 10, 12) };
	struct row list[2];
	struct series_rows rows = { .list = list, .count = 2 };
	const struct band_list bands = { 0 };
	struct excursions found;
	struct ribbon ribbon;

	for (int i = 0; i < 2; i++)
		list[i] = (struct row){ .from = days[i], .to = days[i] + 60, .ok = 60,
					.low = i == 0 ? 60 : 0, .high = i == 0 ? 0 : 60,
					.out = 240, .has_value = true, .value = 18, .min = 18,
					.max = 18 };
	ribbon_make(&bands, conf, &conf->enclosures[0], cool, days[1] + 3600, &ribbon);
	excursions_find(&rows, days[1] + 3600, &ribbon, &found);
	ribbon_clear(&ribbon);
	assert_int_equal(found.count, 2);
	assert_false(found.list[0].beyond_limits);
	assert_true(found.list[1].beyond_limits);
	excursions_clear(&found);
	conf_free(conf);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(days_to_come, folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(an_edited_file_foretells_nothing, folder_new,
						folder_gone),
		cmocka_unit_test_setup_teardown(a_log_in_the_middle_of_a_ramp, folder_new,
						folder_gone),
		cmocka_unit_test_setup_teardown(without_a_log_the_file_counts, folder_new,
						folder_gone),
		cmocka_unit_test_setup_teardown(limits_are_those_of_their_day, folder_new,
						folder_gone),
	};

	setenv("TZ", "UTC0", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
