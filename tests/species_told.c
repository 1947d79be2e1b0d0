/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Who says a value and where it is said to come from, and what a season makes of it.
 */
#include "tests/cm.h"

#include <time.h>

#include "report/species.h"
#include "tests/conftext.h"

static const char text[] =
	"bus \"b\" { port = \"/dev/b\" speaks = \"modbus\" }\n"
	"probe \"p\" { bus = \"b\" address = 1 temperature = \"input 1\" humidity = \"input 2\" }\n"
	"probe \"w\" { bus = \"b\" address = 2 temperature = \"input 1\" }\n"
	"species \"s\" {\n"
	"  hot_spot { temperature { day = \"30..33 C\" source = \"memory\" } }\n"
	"  warm_side { temperature { day = \"28..32 C\" night = \"18..32 C\" limits = \"10..36 C\"\n"
	"    patience = \"2h\" source = \"day: D; night: N; limits: L; patience: P\" } }\n"
	"  cool_side { humidity { day = \"40..60 %\" limits = \"20..90 %\" source = \"H\" } }\n"
	"  season \"rest\" { warm_side { temperature { day = \"8..12 C\" night = \"8..12 C\"\n"
	"    limits = \"4..18 C\" source = \"day, night: R\" } } } }\n"
	"enclosure \"E1\" { species = \"s\"\n"
	"  warm_side { probe = \"w\" temperature { day = \"28..32 C\" night = \"20..32 C\" } }\n"
	"  cool_side { probe = \"p\" humidity { limits = \"30..80 %\" source = \"mine\" } }\n"
	"  season \"rest\" { from = \"11-15\" to = \"02-15\" ramp = \"14d\"\n"
	"    warm_side { temperature { limits = \"5..18 C\" } } } }\n";

/* UTC, at noon. */
static double noon(int year, int month, int day)
{
	struct tm tm = { .tm_year = year - 1900, .tm_mon = month - 1, .tm_mday = day, .tm_hour = 12 };

	return (double)timegm(&tm);
}

static const struct told *find(const struct telling *telling, const char *season, enum place place,
			       enum quantity quantity)
{
	for (size_t i = 0; i < telling->count; i++) {
		const struct told *told = &telling->list[i];

		if (told->place == place && told->quantity == quantity &&
		    (season ? told->season && strcmp(told->season, season) == 0 : !told->season))
			return told;
	}
	fail_msg("%s is not told of", season ? season : "the ordinary rule");
	return NULL;
}

/* source NULL: none. */
static void says(const struct told *told, enum source_key key, enum speaker by, const char *source)
{
	assert_true(told->has[key]);
	assert_int_equal(told->by[key], by);
	if (source)
		assert_string_equal(told->source[key] ? told->source[key] : "(none)", source);
	else
		assert_null(told->source[key]);
}

static void a_species_says_all_itself(void **state)
{
	struct conf *conf = load_good(state, text);
	struct telling telling = species_telling(&conf->species[0]);
	const struct told *hot = find(&telling, NULL, HOT_SPOT, TEMPERATURE);
	const struct told *warm = find(&telling, NULL, WARM_SIDE, TEMPERATURE);
	const struct told *rest = find(&telling, "rest", WARM_SIDE, TEMPERATURE);

	assert_int_equal(telling.count, 4);
	says(hot, SOURCE_DAY, SPECIES_SAYS, "memory");
	says(hot, SOURCE_NIGHT, SPECIES_SAYS, "memory");
	says(hot, SOURCE_PATIENCE, BUILT_IN, NULL);
	assert_false(hot->has[SOURCE_LIMITS]);
	says(warm, SOURCE_NIGHT, SPECIES_SAYS, "N");
	says(warm, SOURCE_PATIENCE, SPECIES_SAYS, "P");
	says(rest, SOURCE_DAY, SPECIES_SAYS, "R");
	says(rest, SOURCE_LIMITS, SPECIES_SAYS, NULL);
	assert_false(rest->has[SOURCE_PATIENCE]);
	telling_clear(&telling);
	conf_free(conf);
}

static void an_enclosure_over_its_species(void **state)
{
	struct conf *conf = load_good(state, text);
	struct telling telling = enclosure_telling(conf, &conf->enclosures[0], noon(2026, 7, 1));
	const struct told *warm = find(&telling, NULL, WARM_SIDE, TEMPERATURE);
	const struct told *damp = find(&telling, NULL, COOL_SIDE, HUMIDITY);
	const struct told *rest = find(&telling, "rest", WARM_SIDE, TEMPERATURE);

	/* No probe at the hot spot; the cool side's temperature is not judged. */
	assert_int_equal(telling.count, 3);
	says(warm, SOURCE_DAY, SPECIES_SAYS, "D");      /* the same in both */
	says(warm, SOURCE_NIGHT, ENCLOSURE_SAYS, NULL); /* the species' source is not of it */
	says(warm, SOURCE_LIMITS, SPECIES_SAYS, "L");
	says(warm, SOURCE_PATIENCE, SPECIES_SAYS, "P");
	says(damp, SOURCE_DAY, SPECIES_SAYS, "H");
	says(damp, SOURCE_LIMITS, ENCLOSURE_SAYS, "mine");
	says(damp, SOURCE_PATIENCE, BUILT_IN, NULL);
	says(rest, SOURCE_DAY, SPECIES_SAYS, "R");
	says(rest, SOURCE_LIMITS, ENCLOSURE_SAYS, NULL);
	telling_clear(&telling);
	conf_free(conf);
}

/* On 11-22 half of the ramp of 14 days is done: edges lie half way. */
static void what_is_in_force(void **state)
{
	struct conf *conf = load_good(state, text);
	static const struct {
		int year, month, day;
		bool in_season;
		double low, high, least;
	} table[] = {
		{ 2025, 11, 15, false, 0, 0, 0 },
		{ 2025, 11, 22, true, 18, 22, 7.5 },
		{ 2026, 1, 10, true, 8, 12, 5 },
		{ 2026, 2, 15, false, 0, 0, 0 },
	};

	for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
		struct telling telling = enclosure_telling(
			conf, &conf->enclosures[0], noon(table[i].year, table[i].month, table[i].day));
		const struct told *warm = find(&telling, NULL, WARM_SIDE, TEMPERATURE);

		assert_int_equal(warm->in_season, table[i].in_season);
		assert_false(find(&telling, NULL, COOL_SIDE, HUMIDITY)->in_season);
		if (table[i].in_season) {
			assert_near(warm->today.day.low, table[i].low, 1e-9);
			assert_near(warm->today.day.high, table[i].high, 1e-9);
			assert_near(warm->today.limits.low, table[i].least, 1e-9);
		}
		telling_clear(&telling);
	}
	conf_free(conf);
}

static void dates_in_words(void **state)
{
	static const struct {
		struct season_dates dates;
		const char *text;
	} table[] = {
		{ { .kind = UNDATED }, "without dates" },
		{ { .kind = YEARLY, .first = { 11, 15 }, .last = { 2, 5 } }, "15 Nov to 5 Feb" },
		{ { .kind = YEARLY, .first = { 3, 1 }, .last = { 4, 1 }, .ramp = 1 },
		  "1 Mar to 1 Apr, coming and going in 1 day" },
		{ { .kind = ONCE, .until = 20526 }, "until 14 Mar 2026" },
		{ { .kind = ONCE, .has_from = true, .from = 20505, .until = 20526, .ramp = 3 },
		  "21 Feb 2026 to 14 Mar 2026, coming and going in 3 days" },
	};

	(void)state;
	for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
		char *words = dates_text(&table[i].dates);

		assert_string_equal(words, table[i].text);
		free(words);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(a_species_says_all_itself, folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(an_enclosure_over_its_species, folder_new,
						folder_gone),
		cmocka_unit_test_setup_teardown(what_is_in_force, folder_new, folder_gone),
		cmocka_unit_test(dates_in_words),
	};

	setenv("TZ", "UTC", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
