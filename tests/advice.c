/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Advice: a word and a shipped text for each, fit for the end of a message
 * and marked as what it is; a species' own comes first, but for whoever rests.
 */
#include "tests/cm.h"

#include "conf/advice.h"
#include "conf/season.h"
#include "conf/utf8.h"

static void each_has_its_word(void **state)
{
	(void)state;
	static const char *const words[ADVICES] = {
		[ADVICE_COLD] = "too_cold",	    [ADVICE_HOT] = "too_hot",
		[ADVICE_DRY] = "too_dry",	    [ADVICE_DAMP] = "too_damp",
		[ADVICE_GRADIENT] = "no_gradient", [ADVICE_SILENT] = "silent",
		[ADVICE_FROZEN] = "frozen",
	};

	for (int i = 0; i < ADVICES; i++)
		assert_string_equal(advice_word((enum advice)i), words[i]);
}

/* Two sentences at most, and the mark behind them. */
static void is_short(const char *text)
{
	static const char mark[] = ". (common practice)";
	size_t length = strlen(text), sentences = 0;

	assert_true(utf8_is_line(text, 300));
	assert_true(length > sizeof mark);
	assert_string_equal(text + length - strlen(mark), mark);
	for (const char *at = text; (at = strchr(at, '.')) != NULL; at++)
		sentences++;
	assert_in_range(sentences, 1, 2);
}

static void each_text_is_short_and_says_what_it_is(void **state)
{
	(void)state;
	struct species silent_on_all = { 0 };
	const struct enclosure home = { .species = &silent_on_all };
	const struct advised there = { .enclosure = &home };

	for (int i = 0; i < ADVICES; i++) {
		const char *text = advice_text(NULL, (enum advice)i);

		is_short(text);
		assert_ptr_equal(advice_text(&there, (enum advice)i), text);
		for (int j = 0; j < i; j++)
			assert_string_not_equal(advice_text(NULL, (enum advice)j), text);
	}
}

static void a_species_own_comes_first(void **state)
{
	(void)state;
	char own[] = "See to the pump.";
	struct species species = { .advice = { [ADVICE_DRY] = own, [ADVICE_COLD] = own } };
	const struct enclosure home = { .species = &species };
	const struct advised there = { .enclosure = &home }, hot = { &home, .hot_spot = true };

	assert_string_equal(advice_text(&there, ADVICE_DRY), own);
	assert_ptr_equal(advice_text(&there, ADVICE_DAMP), advice_text(NULL, ADVICE_DAMP));
	assert_string_equal(advice_text(&hot, ADVICE_COLD), own);
}

/* A probe in the air under a lamp must not bring the lamp nearer. */
static void a_cold_hot_spot_moves_no_lamp(void **state)
{
	(void)state;
	const struct enclosure home = { .label = NULL };
	const struct advised hot = { &home, .hot_spot = true };
	const char *text = advice_text(&hot, ADVICE_COLD);

	is_short(text);
	assert_non_null(strstr(text, "infrared thermometer"));
	assert_non_null(strstr(text, "bring no lamp nearer"));
	for (int i = 0; i < ADVICES; i++)
		if (i != ADVICE_COLD)
			assert_ptr_equal(advice_text(&hot, (enum advice)i),
					 advice_text(NULL, (enum advice)i));
}

/* A rest from 28..32 to `low`..`high`, from the 10th to the 30th of January. */
struct rest {
	struct season season;
	struct season_rule says;
	struct rule_season hung;
	struct enclosure home;
};

static void rest_make(struct rest *rest, double low, double high, struct species *species)
{
	const struct rule ordinary = { .has_band = true, .day = { 28, 32 }, .night = { 18, 32 } };

	*rest = (struct rest){
		.season = { .dates = { .kind = YEARLY, .first = { 1, 10 }, .last = { 1, 30 } },
			    .rules = &rest->says, .rule_count = 1 },
		.says = { .place = COOL_SIDE, .quantity = TEMPERATURE, .day = true, .night = true,
			  .rule = { .has_band = true, .day = { low, high }, .night = { low, high } } },
		.hung = { &rest->season.dates, &rest->says },
		.home = { .species = species, .seasons = &rest->season, .season_count = 1 },
	};
	rest->home.places[COOL_SIDE].rules[TEMPERATURE] = ordinary;
	rest->home.places[COOL_SIDE].rules[TEMPERATURE].seasons = &rest->hung;
	rest->home.places[COOL_SIDE].rules[TEMPERATURE].season_count = 1;
}

static void who_rests_is_neither_warmed_nor_wetted(void **state)
{
	(void)state;
	static const enum advice kept[] = { ADVICE_GRADIENT, ADVICE_SILENT, ADVICE_FROZEN };
	char own[] = "Turn up the heat mat.", of_season[] = "Ask at the surgery.";
	struct species species = { .advice = { [ADVICE_COLD] = own } };
	int in = civil_day(2026, 1, 20), after = civil_day(2026, 1, 30);
	struct rest rest;

	rest_make(&rest, 8, 13, &species);
	const struct advised there = { &rest.home, .hot_spot = true, .date = in };
	const struct advised later = { &rest.home, .date = after };

	for (int i = 0; i <= ADVICE_DAMP; i++) {
		const char *text = advice_text(&there, (enum advice)i);

		is_short(text);
		assert_non_null(strstr(text, "It rests"));
		assert_null(strstr(advice_text(&later, (enum advice)i), "It rests"));
	}
	for (size_t i = 0; i < sizeof kept / sizeof *kept; i++)
		assert_ptr_equal(advice_text(&there, kept[i]), advice_text(NULL, kept[i]));
	assert_string_equal(advice_text(&later, ADVICE_COLD), own);
	rest.season.advice[ADVICE_COLD] = of_season;
	assert_string_equal(advice_text(&there, ADVICE_COLD), of_season);
	assert_string_equal(advice_text(&later, ADVICE_COLD), own);
}

/* The middle of 28..32 is 30: 25 is a cool spell, below it a rest. */
static void a_cool_spell_is_no_rest(void **state)
{
	(void)state;
	struct species species = { 0 };
	struct rest rest;
	const struct advised there = { &rest.home, .date = civil_day(2026, 1, 20) };

	rest_make(&rest, 23, 27, &species);
	assert_ptr_equal(advice_text(&there, ADVICE_COLD), advice_text(NULL, ADVICE_COLD));
	rest_make(&rest, 22.9, 27, &species);
	assert_non_null(strstr(advice_text(&there, ADVICE_COLD), "It rests"));
	/* A box that is only used in winter. */
	rest_make(&rest, 4, 15, &species);
	rest.home.places[COOL_SIDE].rules[TEMPERATURE].has_band = false;
	assert_non_null(strstr(advice_text(&there, ADVICE_COLD), "It rests"));
	rest_make(&rest, 4, 16, &species);
	rest.home.places[COOL_SIDE].rules[TEMPERATURE].has_band = false;
	assert_ptr_equal(advice_text(&there, ADVICE_COLD), advice_text(NULL, ADVICE_COLD));
	/* Nor is a lamp that is dark. */
	rest_make(&rest, 8, 13, &species);
	rest.home.places[HOT_SPOT] = rest.home.places[COOL_SIDE];
	rest.home.places[COOL_SIDE] = (struct place_conf){ 0 };
	rest.says.place = HOT_SPOT;
	assert_ptr_equal(advice_text(&there, ADVICE_COLD), advice_text(NULL, ADVICE_COLD));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(each_has_its_word),
		cmocka_unit_test(each_text_is_short_and_says_what_it_is),
		cmocka_unit_test(a_species_own_comes_first),
		cmocka_unit_test(a_cold_hot_spot_moves_no_lamp),
		cmocka_unit_test(who_rests_is_neither_warmed_nor_wetted),
		cmocka_unit_test(a_cool_spell_is_no_rest),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
