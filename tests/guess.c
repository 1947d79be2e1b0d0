/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The template of an unknown board's lines, and what is printed of them.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/found.h"
#include "daemon/guess.h"
#include "daemon/lines.h"

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
		/* A name may hold whatever its board prints. */
		{ "{probe},{temperature},{humidity}",
		  { "Höhle,23.1,45.2", "Küche,22.1,48.2", "Warm (oben),30.0,40.0" } },
		{ "{probe},{temperature},{humidity}", { "shelf/1,23.1,45.2", "shelf/2,30.0,40.0" } },
		{ "{probe},{temperature},{humidity}", { "w1 # /* x,23.1,45.2", "w1 # /* x,23.2,45.1" } },
		{ "{probe},{temperature},{humidity}", { "Tub 1,23.1,45.2", "Tub 12,30.0,40.0" } },
		{ "{probe},{temperature}", { "Tub 1,23", "Tub 2,30" } },
		{ "{probe} T={temperature} H={humidity}", { "shelf 1 T=23.1 H=45", "shelf 2 T=21.0 H=50" } },
		{ "Tub {probe} {temperature} {humidity}", { "Tub 1 23.1 45.2", "Tub 2 30.0 40.0" } },
		{ "{probe} {temperature}, {humidity}", { "w1 23.1, 45.2", "w2 4.0, 38.0" } },
		{ "Temp (C): {temperature}", { "Temp (C): 23.1", "Temp (C): 23.4" } },
		/* Half a name does not make the temperature something else. */
		{ "{probe} warm {temperature} {humidity}", { "Tub warm 23.1 45.2", "Tub warm 23.2 45.1" } },
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

/* A number that grows with every line is no name; names that come again are. */
static void counters_are_skipped(void **state)
{
	static const struct {
		bool counts;
		const char *lines[MOST];
	} cases[] = {
		{ true, { "1006,23.1,45.2", "2006,23.1,45.1", "3007,23.2,45", "4007,23.2,45", "5008,23,45" } },
		{ true, { "1,23.1,45.2", "2,23.1,45.1", "3,23.2,45.2", "4,23.2,45.2", "5,23.3,45.2" } },
		{ false, { "1,23.1,45.2", "2,30.1,38.1", "3,23.2,45.2", "1,23.2,45.2", "2,30.3,38.2" } },
		{ false, { "1006,23.1,45.2", "2006,23.1,45.1", "3007,23.2,45.2" } }, /* too few to say */
		{ false, { "a,23.1,45.2", "b,23.1,45.1", "c,23.2,45.2", "d,23.2,45.2", "e,23.3,45.2" } },
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		char *const *lines = (char *const *)(uintptr_t)cases[i].lines;
		size_t count = count_of(lines);
		struct line_values values;
		struct guess guess;

		assert_true(guess_template(lines, count, &guess));
		assert_string_equal("{probe},{temperature},{humidity}", guess.text);
		assert_int_equal(cases[i].counts, guess_counts(&guess, lines, count));
		guess_drop_name(&guess);
		assert_string_equal("{},{temperature},{humidity}", guess.text);
		assert_true(guess.counter && line_match(&guess.compiled, lines[0], &values));
		assert_float_equal(23.1, values.value[TEMPERATURE], 1e-9);
	}
}

/* ---- what was heard ---- */

/* Lines `step` s apart, and listened to until `until`. */
static void hear(struct heard *heard, char *const *lines, size_t count, double step, double until)
{
	*heard = (struct heard){ .baud = 9600 };
	for (size_t i = 0; i < count; i++)
		heard_add(heard, lines[i], (double)i * step);
	heard_guess(heard);
	heard_settle(heard, until);
}

static void assert_printed(const struct heard *heard, const char *wanted)
{
	char *text = NULL;
	size_t size;
	FILE *out = open_memstream(&text, &size);

	assert_non_null(out);
	found_print_board(out, "board", "/dev/ttyS0", heard);
	found_print_board_probes(out, "board", heard, CELSIUS);
	fclose(out);
	if (!strstr(text, wanted))
		fail_msg("\"%s\" is not in:\n%s", wanted, text);
	free(text);
}

/* As long as they come; a burst with a pause behind it is of so many probes. */
static void a_counter_is_one_probe(void **state)
{
	char *lines[] = { (char[]){ "1,23.1,45" }, (char[]){ "2,23.1,45" }, (char[]){ "3,23.2,45" },
			  (char[]){ "4,23.2,45" }, (char[]){ "5,23.2,45" } };
	struct heard_probe probes[HEARD_PROBES];
	struct heard heard;

	(void)state;
	hear(&heard, lines, 5, 12, 65);
	assert_int_equal(1, heard_probes(&heard, probes));
	assert_printed(&heard, "line = \"{},{temperature},{humidity}\"  every = \"12s\" }\n"
			       "# A number that grows with every line was taken for a counter");
	heard_free(&heard);
	hear(&heard, lines, 5, 0.1, 65);
	assert_int_equal(5, heard_probes(&heard, probes));
	heard_free(&heard);
}

static void the_latest_lines_are_kept(void **state)
{
	struct heard heard = { .baud = 9600 };
	char line[40];

	(void)state;
	for (int i = 0; i < HEARD_LINES + 3; i++) {
		snprintf(line, sizeof line, "boot step %d", i);
		heard_add(&heard, line, i);
	}
	assert_int_equal(HEARD_LINES, heard.count);
	assert_string_equal("boot step 3", heard.lines[0]);
	assert_string_equal("boot step 202", heard.lines[HEARD_LINES - 1]);
	assert_true(heard.times[0] == 3 && heard.times[HEARD_LINES - 1] == 202);
	heard_free(&heard);
}

static void boards_in_words(void **state)
{
	char longest[] = "0123456789012345678901234567890123456789012345678901234567890,21.0,50";
	char *lines[] = { (char[]){ "w10,23.1,45" },   (char[]){ "w2,30.0,40" },
			  (char[]){ "w1,70.5,99" },    (char[]){ "a/b,20.0,50" },
			  (char[]){ "a b,20.5,50" },   (char[]){ "a_b,21.0,50" },
			  (char[]){ "number 1,22,50" }, longest, (char[]){ "no sensor at pin 4" } };
	char names[HEARD_PROBES][FOUND_NAME];
	struct heard heard;
	size_t count;

	(void)state;
	hear(&heard, lines, 9, 0.1, 1);
	heard.guess.fahrenheit = false;
	count = found_names("board", &heard, names);
	assert_int_equal(7, count);
	for (size_t i = 0; i < count; i++)
		for (size_t j = 0; j < i; j++)
			assert_string_not_equal(names[i], names[j]);
	assert_printed(&heard, "{ bus = \"board\"  address = \"w2\" }  # 30.0 °C, 40 %\n"
			       "probe \"board w10\"");
	assert_printed(&heard, "# 70.5 °C, 99 %; unlikely in a home: is it right?\n");
	assert_printed(&heard, "# Left out, for its name has a tab in it or more than 60 characters: 0123");
	assert_printed(&heard, "# Lines of another kind come too, which are passed over, such as\n"
			       "#     no sensor at pin 4\n");
	heard_free(&heard);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(each_to_its_template),
		cmocka_unit_test(nothing_is_made_of_it),
		cmocka_unit_test(fahrenheit_is_a_remark),
		cmocka_unit_test(counters_are_skipped),
		cmocka_unit_test(a_counter_is_one_probe),
		cmocka_unit_test(the_latest_lines_are_kept),
		cmocka_unit_test(boards_in_words),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
