/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Corrections from salts: a worked example, and that the configuration makes of each printed
 * line what it was made from.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "report/chance.h"
#include "report/salt.h"
#include "report/salt_line.h"
#include "tests/conftext.h"

static double corrected(struct correction correction, double read)
{
	return correction.offset + correction.slope * read;
}

/* MgCl2 and NaCl at 25 °C (Greenspan 1977, table 2: 32.78 and 75.29) read as 35.1 and 73.0:
 * slope 42.51 / 37.9 = 1.12164, and 60.0 becomes 32.78 + 24.9 x 1.12164 = 60.709.  The
 * arithmetic was done by hand elsewhere. */
static void a_worked_example(void **state)
{
	static const struct salt_point points[] = { { 35.1, 32.78 }, { 73.0, 75.29 } };
	struct correction exact = salt_correction(points, 2);
	struct salt_line line;

	(void)state;
	assert_near(exact.slope, 1.12164, 0.000005);
	assert_near(corrected(exact, 60.0), 60.709, 0.0005);
	assert_near(corrected(exact, 35.1), 32.78, 1e-9);
	assert_near(corrected(exact, 73.0), 75.29, 1e-9);
	/* In words, to a tenth; in either order. */
	assert_int_equal(salt_line_make(points, 2, &line), LINE_GOOD);
	assert_string_equal(line.text, "35.1=32.8 73.0=75.3");
	assert_near(corrected(line.correction, 60.0), 60.709, 0.05);
	assert_int_equal(salt_line_make((struct salt_point[]){ points[1], points[0] }, 2, &line),
			 LINE_GOOD);
	assert_string_equal(line.text, "35.1=32.8 73.0=75.3");
}

static void one_salt_shifts(void **state)
{
	static const struct {
		double read, actual;
		const char *text;
	} rows[] = { { 73.16, 75.29, "+2.1 %" }, { 77.33, 75.29, "-2.0 %" },
		     { 75.27, 75.29, "+0.0 %" }, { 75.31, 75.29, "+0.0 %" },
		     { 73.22, 75.29, "+2.1 %" } };
	struct salt_line line;

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct salt_point point = { rows[i].read, rows[i].actual };

		assert_int_equal(salt_line_make(&point, 1, &line), LINE_GOOD);
		assert_string_equal(line.text, rows[i].text);
		assert_near(corrected(line.correction, rows[i].read), rows[i].actual, 0.051);
	}
}

static void what_cannot_be_a_line(void **state)
{
	struct salt_line line;

	(void)state;
	/* NaCl and KCl lie 9 % apart. */
	assert_int_equal(salt_line_make((struct salt_point[]){ { 75, 75.3 }, { 84, 84.3 } }, 2, &line),
			 LINE_CLOSE);
	assert_int_equal(salt_line_make((struct salt_point[]){ { 75, 75.3 }, { 76, 75.3 } }, 2, &line),
			 LINE_CLOSE);
	/* The wrong way round, hardly moving, and moving far too much. */
	assert_int_equal(salt_line_make((struct salt_point[]){ { 60, 32.8 }, { 50, 75.3 } }, 2, &line),
			 LINE_BROKEN);
	assert_int_equal(salt_line_make((struct salt_point[]){ { 45, 32.8 }, { 60, 75.3 } }, 2, &line),
			 LINE_BROKEN);
	assert_int_equal(salt_line_make((struct salt_point[]){ { 5, 32.8 }, { 95, 75.3 } }, 2, &line),
			 LINE_BROKEN);
	assert_int_equal(salt_line_make((struct salt_point[]){ { 36, 32.8 }, { 71, 75.3 } }, 2, &line),
			 LINE_DOUBTFUL);
	assert_int_equal(salt_line_make((struct salt_point[]){ { 30, 32.8 }, { 80, 75.3 } }, 2, &line),
			 LINE_GOOD); /* 0.85 */
	assert_int_equal(salt_line_make(&(struct salt_point){ 40, 75.3 }, 1, &line), LINE_BROKEN);
}

/* 0.85 to 1.15: what is just within it is good, what is just beyond doubtful. */
static void a_slope_far_from_one(void **state)
{
	static const struct {
		double slope;
		enum salt_line_trouble trouble;
	} rows[] = { { 0.6, LINE_DOUBTFUL }, { 0.84, LINE_DOUBTFUL }, { 0.86, LINE_GOOD },
		     { 1.14, LINE_GOOD }, { 1.16, LINE_DOUBTFUL }, { 1.4, LINE_DOUBTFUL } };
	struct salt_line line;

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		double half = 42.5 / 2 / rows[i].slope; /* MgCl2 32.8 %, NaCl 75.3 % */
		struct salt_point points[] = { { 54 - half, 32.8 }, { 54 + half, 75.3 } };

		assert_int_equal(salt_line_make(points, 2, &line), rows[i].trouble);
		assert_near(line.correction.slope, rows[i].slope, 0.004);
	}
}

/* Of the line 35.1=32.8 73.0=75.3 (slope 42.5 / 37.9 = 1.12137) a probe that reads 73.4 over 75.3
 * keeps the slope: 40 % drier, at 33.4, it is 75.3 - 44.855 = 30.4. */
static void one_salt_keeps_a_slope(void **state)
{
	static const double slopes[] = { 0.6, 0.9, 1.12137, 1.9 };
	struct salt_line line;

	(void)state;
	assert_int_equal(salt_line_shift(&(struct salt_point){ 73.4, 75.3 }, 42.5 / 37.9, &line),
			 LINE_GOOD);
	assert_string_equal(line.text, "33.4=30.4 73.4=75.3");
	for (int s = 0; s < SALTS; s++)
		for (size_t i = 0; i < sizeof slopes / sizeof *slopes; i++)
			for (double off = -4; off <= 4; off += 2) {
				double actual = salt_humidity((enum salt)s, 22);
				struct salt_point point = { actual + off, actual };
				enum salt_line_trouble trouble =
					salt_line_shift(&point, slopes[i], &line);
				double low, low_is, high, high_is;

				assert_int_equal(sscanf(line.text, "%lf=%lf %lf=%lf", &low, &low_is, &high,
							&high_is), 4);
				/* Two points the configuration takes, of that slope, through the test. */
				assert_true(low_is >= 0 && high_is <= 100 && low >= 0 && high <= 102);
				assert_true(high - low >= 10);
				assert_near((high_is - low_is) / (high - low), slopes[i], 0.02);
				assert_near(corrected(line.correction, point.read), actual, 0.11);
				assert_true(trouble == LINE_BROKEN ||
					    (trouble == LINE_DOUBTFUL) == (fabs(slopes[i] - 1) > 0.15));
			}
	assert_int_equal(salt_line_shift(&(struct salt_point){ 40, 75.3 }, 1.1, &line), LINE_BROKEN);
}

/* Whatever is printed, the configuration takes it, and as the very same correction. */
static void the_configuration_takes_what_is_printed(void **state)
{
	uint64_t chance = 12;
	size_t printed = 0, broken = 0;

	for (int i = 0; i < 200; i++) {
		enum salt dry = (enum salt)(chance_even(&chance) * NACL);
		double slope = 0.7 + 0.6 * chance_even(&chance), celsius = 15 + 15 * chance_even(&chance);
		double offset = 30 * chance_even(&chance) - 15;
		struct salt_point points[SALT_TESTS];
		size_t count = i % 2 ? 2 : 1;
		struct salt_line line;

		for (size_t n = 0; n < count; n++) {
			points[n].actual = salt_humidity(n ? dry : NACL, celsius);
			points[n].read = points[n].actual * slope + offset + 3 * chance_even(&chance);
		}
		if (points[0].read < 1 || points[0].read > 99 ||
		    (count > 1 && (points[1].read < 1 || points[1].read > 99)))
			continue;
		enum salt_line_trouble trouble = salt_line_make(points, count, &line);

		if (trouble != LINE_GOOD && trouble != LINE_DOUBTFUL) {
			broken++;
			continue;
		}
		char *text = must_print("bus \"b\" { port = \"/dev/x\" speaks = \"lines\"\n"
					"  line = \"{probe},{temperature},{humidity}\" }\n"
					"probe \"p\" { bus = \"b\" humidity_correction = \"%s\"\n"
					"  calibrated = \"2025-11-30\" }\n", line.text);
		struct conf *conf = load_good(state, text);
		const struct correction *taken = &conf->probes[0].correction[HUMIDITY];

		assert_near(taken->slope, line.correction.slope, 1e-9);
		assert_near(taken->offset, line.correction.offset, 1e-9);
		for (size_t n = 0; n < count; n++)
			assert_near(corrected(*taken, points[n].read), points[n].actual, 0.15);
		conf_free(conf);
		free(text);
		printed++;
	}
	printf("%zu lines taken, %zu not printed\n", printed, broken);
	assert_true(printed >= 100 && broken > 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_worked_example),
		cmocka_unit_test(one_salt_shifts),
		cmocka_unit_test(what_cannot_be_a_line),
		cmocka_unit_test(a_slope_far_from_one),
		cmocka_unit_test(one_salt_keeps_a_slope),
		cmocka_unit_test_setup_teardown(the_configuration_takes_what_is_printed, folder_new,
						folder_gone),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
