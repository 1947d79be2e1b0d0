/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the judge makes of a value that never moves, for every rule of conf/species.conf:
 * one that lies outside the day's band is told within two days, though the night may
 * allow it; and where the lamps are off at night, one that is right by day is told at
 * night.  Time is counted, not waited for.
 */
#include "tests/cm.h"

#include "conf/memory.h"
#include "conf/words.h"
#include "daemon/judge.h"
#include "tests/conftext.h"
#include "tests/species_check.h"

enum { MINUTE = 60, DAYS = 2, NOON = 1767614400 /* 2026-01-05T12:00:00Z */ };

/* Whether anything is due within two days of that value. */
static bool is_told(const struct conf *conf, const struct rule *rule, enum quantity quantity,
		    double value)
{
	struct judged judged = { 0 };
	struct daypart_cache cache = { 0 };
	bool told = false;

	for (int i = 0; i < DAYS * 1440 && !told; i++) {
		struct sample sample = { NOON + (double)i * MINUTE, value };

		judge_reading(&judged, quantity, rule, &conf->day, &cache, 3 * MINUTE, 0, sample);
		told = judged.band.due || judged.limits.due;
	}
	judged_free(&judged);
	return told;
}

struct tried {
	const struct conf *conf;
	const struct species *species;
	const char *season;     /* NULL: the ordinary rule */
	enum place place;
	enum quantity quantity;
	size_t count;           /* values tried */
};

static void must_be_told(struct tried *tried, const struct rule *rule, double value)
{
	tried->count++;
	if (!is_told(tried->conf, rule, tried->quantity, value))
		fail_msg("%s, %s, %s %s: %g is never told", tried->species->name,
			 tried->season ? tried->season : "ordinarily", place_word(tried->place),
			 quantity_word(tried->quantity), value);
}

/* Half way from an edge of the day to the night's, and to the limit's where it lies
 * farther out; by_side -1: below, 1: above. */
static void try_outside(struct tried *tried, const struct rule *rule, int by_side)
{
	double day = by_side < 0 ? rule->day.low : rule->day.high;
	double night = by_side < 0 ? rule->night.low : rule->night.high;
	double limit = by_side < 0 ? rule->limits.low : rule->limits.high;

	if (by_side * (night - day) > 0)
		must_be_told(tried, rule, (day + night) / 2);
	if (rule->has_limits && by_side * (limit - day) > 0)
		must_be_told(tried, rule, (day + limit) / 2);
}

static void try_rule(struct tried *tried, const struct rule *rule)
{
	double middle = (rule->day.low + rule->day.high) / 2;

	if (!rule->has_band)
		return;
	try_outside(tried, rule, -1);
	try_outside(tried, rule, 1);
	if (middle > rule->night.high)
		must_be_told(tried, rule, middle);
	/* The judge tells nothing of what is well day and night. */
	if (middle <= rule->night.high)
		assert_false(is_told(tried->conf, rule, tried->quantity, middle));
}

static void try_species(struct tried *tried, const struct species *species)
{
	tried->species = species;
	tried->season = NULL;
	for (int p = 0; p < PLACES; p++)
		for (int q = 0; q < QUANTITIES; q++) {
			tried->place = (enum place)p;
			tried->quantity = (enum quantity)q;
			try_rule(tried, &species->rules[p][q]);
		}
	for (size_t s = 0; s < species->season_count; s++)
		for (size_t r = 0; r < species->seasons[s].rule_count; r++) {
			const struct season_rule *says = &species->seasons[s].rules[r];

			tried->season = species->seasons[s].name;
			tried->place = says->place;
			tried->quantity = says->quantity;
			try_rule(tried, &says->rule);
		}
}

static void a_value_outside_the_day_is_told_within_two_days(void **state)
{
	char *text = shipped_species();
	struct conf *conf = load_good(state, text);
	struct tried tried = { .conf = conf };

	for (size_t i = 0; i < conf->species_count; i++)
		try_species(&tried, &conf->species[i]);
	assert_true(tried.count > 300);
	conf_free(conf);
	free(text);
}

/* What the allowance of a day is for: without it the same air is never told. */
static void without_the_allowance_a_damp_night_hides_it(void **state)
{
	char *text = shipped_species();
	struct conf *conf = load_good(state, text);
	size_t hidden = 0;

	for (size_t i = 0; i < conf->species_count; i++) {
		struct rule rule = conf->species[i].rules[COOL_SIDE][HUMIDITY];

		if (!rule.has_band || rule.night.high <= rule.day.high)
			continue;
		assert_true(rule.has_daily);
		rule.has_daily = false;
		hidden += !is_told(conf, &rule, HUMIDITY, (rule.day.high + rule.night.high) / 2);
	}
	assert_true(hidden > 5);
	conf_free(conf);
	free(text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(a_value_outside_the_day_is_told_within_two_days,
						folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(without_the_allowance_a_damp_night_hides_it,
						folder_new, folder_gone),
	};

	setenv("TZ", "UTC", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
