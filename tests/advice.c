/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Advice: a word and a shipped text for each, fit for the end of a message
 * and marked as what it is; a species' own comes first.
 */
#include "tests/cm.h"

#include "conf/advice.h"
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

static void each_text_is_short_and_says_what_it_is(void **state)
{
	(void)state;
	static const char mark[] = ". (common practice)";
	const struct species silent_on_all = { 0 };

	for (int i = 0; i < ADVICES; i++) {
		const char *text = advice_text(NULL, (enum advice)i);
		size_t length = strlen(text), sentences = 0;

		assert_true(utf8_is_line(text, 300));
		assert_true(length > sizeof mark);
		assert_string_equal(text + length - strlen(mark), mark);
		for (const char *at = text; (at = strchr(at, '.')) != NULL; at++)
			sentences++;
		assert_in_range(sentences, 1, 2);
		assert_ptr_equal(advice_text(&silent_on_all, (enum advice)i), text);
		for (int j = 0; j < i; j++)
			assert_string_not_equal(advice_text(NULL, (enum advice)j), text);
	}
}

static void a_species_own_comes_first(void **state)
{
	(void)state;
	char own[] = "See to the pump.";
	const struct species species = { .advice = { [ADVICE_DRY] = own } };

	assert_string_equal(advice_text(&species, ADVICE_DRY), own);
	assert_ptr_equal(advice_text(&species, ADVICE_DAMP), advice_text(NULL, ADVICE_DAMP));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(each_has_its_word),
		cmocka_unit_test(each_text_is_short_and_says_what_it_is),
		cmocka_unit_test(a_species_own_comes_first),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
