/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whose turn it is: written down round by round as the letters of those asked.
 */
#include "tests/cm.h"

#include "daemon/round.h"

/* What each member does when asked: '.' answers, 'x' is disturbed, '-' unheard. */
static char *play(struct round *round, const char *does, char *log)
{
	size_t member, used = 0;

	round_begin(round);
	while (round_next(round, &member)) {
		if (round_is_retry(round) && (!used || !strchr(log, '/')))
			log[used++] = '/';
		log[used++] = (char)('a' + member);
		log[used] = '\0';
		round_result(round, member,
			     does[member] == '.' ? ANSWERED :
			     does[member] == 'x' ? DISTURBED : UNHEARD);
	}
	log[used] = '\0';
	return log;
}

static void everybody_in_turn(void **state)
{
	(void)state;
	struct round r;
	char log[64];

	round_init(&r, 4, 6);
	for (int i = 0; i < 3; i++)
		assert_string_equal(play(&r, "....", log), "abcd");
	round_free(&r);
}

static void a_second_try_at_the_end(void **state)
{
	(void)state;
	struct round r;
	char log[64];

	round_init(&r, 4, 6);
	for (int i = 0; i < 3; i++)
		assert_string_equal(play(&r, ".x.x", log), "abcd/bd");
	round_free(&r);
}

static void the_silent_sit_out_ever_longer(void **state)
{
	(void)state;
	const char *const expected[] = { "ab/b", "a", "ab", "a", "a", "a", "ab", "a", "a", "a",
					 "a", "a", "ab" };
	struct round r;
	char log[64];

	round_init(&r, 2, 6);
	for (size_t i = 0; i < sizeof expected / sizeof *expected; i++)
		assert_string_equal(play(&r, ".-", log), expected[i]);
	/* five more rounds out, then it answers and is asked every time again */
	for (int i = 0; i < 5; i++)
		assert_string_equal(play(&r, "..", log), "a");
	for (int i = 0; i < 3; i++)
		assert_string_equal(play(&r, "..", log), "ab");
	assert_string_equal(play(&r, ".-", log), "ab/b");
	round_free(&r);
}

static void something_is_not_nothing(void **state)
{
	(void)state;
	struct round r;
	char log[64];

	round_init(&r, 1, 6);
	assert_string_equal(play(&r, "-", log), "a/a");
	assert_string_equal(play(&r, "-", log), "");
	assert_string_equal(play(&r, "x", log), "a");
	assert_string_equal(play(&r, "x", log), "a/a");
	round_free(&r);
}

static void nobody_sits_out_when_rounds_are_rare(void **state)
{
	(void)state;
	struct round r;
	char log[64];

	round_init(&r, 1, 1);
	assert_string_equal(play(&r, "-", log), "a/a");
	for (int i = 0; i < 5; i++)
		assert_string_equal(play(&r, "-", log), "a");
	round_free(&r);
}

static void a_new_port_forgets(void **state)
{
	(void)state;
	struct round r;
	char log[64];

	round_init(&r, 1, 30);
	for (int i = 0; i < 20; i++)
		play(&r, "-", log);
	round_forget(&r);
	assert_string_equal(play(&r, "-", log), "a/a");
	round_free(&r);
}

static void nobody_at_all(void **state)
{
	(void)state;
	struct round r;
	size_t member;

	round_init(&r, 0, 6);
	round_begin(&r);
	assert_false(round_next(&r, &member));
	round_free(&r);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(everybody_in_turn),
		cmocka_unit_test(a_second_try_at_the_end),
		cmocka_unit_test(the_silent_sit_out_ever_longer),
		cmocka_unit_test(something_is_not_nothing),
		cmocka_unit_test(nobody_sits_out_when_rounds_are_rare),
		cmocka_unit_test(a_new_port_forgets),
		cmocka_unit_test(nobody_at_all),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
