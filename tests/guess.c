/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The template of an unknown board's lines.
 */
#include "tests/cm.h"

#include "daemon/guess.h"

enum { MOST = 6 };

static size_t count_of(char *const lines[MOST])
{
	size_t count = 0;

	while (count < MOST && lines[count])
		count++;
	return count;
}

static void each_to_its_template(void **state)
{
	static const struct {
		const char *wanted;
		const char *lines[MOST];
	} cases[] = {
		{ "{probe},{temperature},{humidity}", { "w1,23.1,45.2", "w2,30.4,38.0", "w1,23.2,45.1" } },
		{ "{probe};{temperature};{humidity}", { "sill warm;23.1;45", "sill cool;21.0;50" } },
		{ "{probe} {temperature} {humidity}", { "w1 -3.5 45.2", "w2 30.4 38.0" } },
		{ "{probe}: {temperature} C, {humidity} %", { "w1: 23.1 C, 45.2 %", "w2: 23 C, 45 %" } },
		{ "{probe},{temperature}", { "w1,23.1", "w2,24.9" } },
		{ "{temperature},{humidity}", { "23.1,45.2", "23.0,45.0" } },
		{ "{temperature}", { "23.1", "23.0" } },
		{ "T={temperature},H={humidity}", { "T=23.1,H=45.2", "T=23.2,H=45.1" } },
		{ "H={humidity} T={temperature}", { "H=45.2 T=23.1", "H=45.1 T=23.2" } },
		{ "Humidity: {humidity}%  Temperature: {temperature}C",
		  { "Humidity: 45.2%  Temperature: 23.1C", "Humidity: 45.0%  Temperature: 23.2C" } },
		{ "{probe},{temperature},{humidity}", { "1,23.1,45.2", "2,30.4,38.0" } },
		{ "{probe} T={temperature} H={humidity}", { "shelf T=23.1 H=45.2", "sill T=21 H=50" } },
		{ "{probe},{temperature},{humidity},{}", { "w1,23.1,45.2,3.31", "w2,23.2,45.1,3.30" } },
		{ "{probe} bat={} t={temperature}", { "w1 bat=3.3 t=23.1", "w2 bat=3.2 t=23.4" } },
		{ "{\"probe\":\"{probe}\",\"t\":{temperature},\"h\":{humidity}}",
		  { "{\"probe\":\"w1\",\"t\":23.1,\"h\":45.2}", "{\"probe\":\"w2\",\"t\":21,\"h\":50}" } },
		/* What a board says when it starts is not in the way. */
		{ "{probe},{temperature},{humidity}",
		  { "board v1.2", "2 probes found", "w1,23.1,45.2", "w2,30.4,38.0" } },
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		char *const *lines = (char *const *)(uintptr_t)cases[i].lines;
		struct guess guess;

		if (!guess_template(lines, count_of(lines), &guess))
			fail_msg("nothing is made of %s", lines[0]);
		assert_string_equal(cases[i].wanted, guess.text);
		assert_false(guess.fahrenheit);
	}
}

static void nothing_is_made_of_it(void **state)
{
	static const char *const cases[][MOST] = {
		{ "hello", "hello" },
		{ "w1,23.1,45.2" }, /* one line is none */
		{ "12:30:01 up", "12:30:02 up" },
		{ "w1,23.1,145.2", "w2,23.1,145.2" },
		{ "w1,-60,45", "w2,-60,45" },
		{ "", "" },
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		char *const *lines = (char *const *)(uintptr_t)cases[i];
		struct guess guess;

		if (guess_template(lines, count_of(lines), &guess))
			fail_msg("%s is taken for %s", lines[0], guess.text);
	}
}

/* 74 °F is a room, 74 °C is none; it is left to the keeper. */
static void fahrenheit_is_a_remark(void **state)
{
	char *lines[] = { (char[]){ "w1,74.3,45" }, (char[]){ "w2,88.0,40" } };
	struct guess guess;

	(void)state;
	assert_true(guess_template(lines, 2, &guess));
	assert_true(guess.fahrenheit);
	assert_string_equal("{probe},{temperature},{humidity}", guess.text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(each_to_its_template),
		cmocka_unit_test(nothing_is_made_of_it),
		cmocka_unit_test(fahrenheit_is_a_remark),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
