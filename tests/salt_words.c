/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What warmside salt says: of a jar that gives no result, and of one that does.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "report/salt_view.h"
#include "tests/small_conf.h"

static const struct jar settled = {
	.verdict = JAR_SETTLED, .settled = 1767592800, .until = 1767636000,
	.read = 77.34, .spread = 0.21, .drift = 0.004, .celsius = 22.04, .coldest = 21.8,
	.warmest = 22.3, .actual = 75.42,
	.parts = { .salt = 0.08, .scatter = 0.02, .moving = 0.07, .temperature = 0.004,
		   .unequal = 0.11, .resolution = 0.03 },
	.uncertainty = 0.31, .unseen = INFINITY,
};

/* Each is one sentence that says what was found and what to do. */
static void refusals(void **state)
{
	static const struct {
		struct jar jar;
		enum units units;
		const char *found, *cure;
	} rows[] = {
		{ { .verdict = JAR_SHORT }, CELSIUS, "less than 6 h", "leave it for 12 h" },
		{ { .verdict = JAR_GAPS }, CELSIUS, "too little", "say a --to before" },
		{ { .verdict = JAR_OPENED }, CELSIUS, "jumps", "say a --to from before" },
		{ { .verdict = JAR_WET, .read = 99.6 }, CELSIUS, "at 100 %", "let it dry" },
		{ { .verdict = JAR_OUTSIDE, .celsius = 12 }, CELSIUS, "at 12.0 °C",
		  "from 15.0 °C to 30.0 °C; test it in a room" },
		{ { .verdict = JAR_OUTSIDE, .celsius = 35 }, FAHRENHEIT, "at 95.0 °F", "to 86.0 °F" },
		{ { .verdict = JAR_SWINGING, .coldest = 20, .warmest = 23.4 }, CELSIUS,
		  "20.0 °C to 23.4 °C", "wrap the jar" },
		{ { .verdict = JAR_LEAKING, .leak = 3.27 }, CELSIUS, "by about 3.3 %", "make lid" },
		{ { .verdict = JAR_MOVING, .read = 68.2, .drift = 0.412, .celsius = 22 }, CELSIUS,
		  "at 68.2 % it still moves by 0.41 % an hour", "leave the jar closed longer" },
		{ { .verdict = JAR_MOVING, .read = 68.2, .drift = -0.412, .celsius = 22 }, CELSIUS,
		  "moves away from the salt's 75.4 % by 0.41 % an hour", "close the jar tightly" },
		{ { .verdict = JAR_MOVING, .read = 77, .drift = 0.2, .celsius = 22 }, CELSIUS,
		  "still moves by 0.20", "leave the jar closed longer" },
		{ { .verdict = JAR_NOISY }, CELSIUS, "scatter too much", "for a day" },
		{ { .verdict = JAR_FAR, .read = 33.4, .celsius = 22, .actual = 75.4 }, CELSIUS,
		  "reads 33.4 % where sodium chloride has 75.4 %", "another salt (mgcl2 has 33.0 %)" },
		{ { .verdict = JAR_FAR, .read = 5, .celsius = 22, .actual = 75.4 }, CELSIUS, "reads 5.0 %",
		  "is it another salt, is it wet" },
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char *text = salt_refusal(&rows[i].jar, NACL, rows[i].units);

		if (!strstr(text, rows[i].found) || !strstr(text, rows[i].cure) || strchr(text, '\n'))
			fail_msg("%s: neither %s nor %s", text, rows[i].found, rows[i].cure);
		free(text);
	}
}

/* What is found in such a jar of a probe that is 1.9 % off. */
static struct salt_view found(struct jar jar)
{
	return (struct salt_view){ .jars = { jar }, .line = { "-1.9 %", { -1.9, 1 } } };
}

static const struct correction none = { 0, 1 };

/* The text of one such test; malloc'ed. */
static char *text_of(struct salt_view view, enum units units, struct correction correction)
{
	struct conf *conf = small_conf(NULL, 1, 60);
	char *text = NULL;
	size_t size;
	FILE *out = open_memstream(&text, &size);
	struct terminal terminal = terminal_onto(out, 0, false, false);
	struct request request = { .conf = conf, .terminal = &terminal, .test_count = 1,
				   .tests = { { NACL, { 1767571200, 1767636000 } } } };

	view.request = &request;
	view.probe = &conf->probes[0];
	view.enclosure = &conf->enclosures[0];
	view.place = COOL_SIDE;
	conf->units = units;
	conf->probes[0].correction[HUMIDITY] = correction;
	salt_print_text(&view);
	fclose(out);
	small_conf_free(conf);
	return text;
}

static void assert_says(char *text, bool yes, const char *words)
{
	if (!strstr(text, words) == yes)
		fail_msg("%s: %s\n%s", yes ? "it does not say" : "it says", words, text);
}

static void of_one_that_is_wrong(void **state)
{
	char *text = text_of(found(settled), CELSIUS, none);

	(void)state;
	assert_says(text, true, "closed 2026-01-05 00:00 to 2026-01-05 18:00:");
	assert_says(text, true, "settled at 2026-01-05 06:00; the plateau is 12 h, at 22.0 °C (21.8 °C");
	assert_says(text, true, "The probe reads 77.3 % there (scatter 0.21 %); the salt has 75.4 %.");
	/* 0.31 is never told as less. */
	assert_says(text, true, "It reads 1.9 ± 0.4 % too high.");
	/* The largest first; what rounds to nothing is left out. */
	assert_says(text, true, "changed 0.11, the salt's own value 0.08, what may still have been to "
				"come 0.07, the probe's resolution 0.03, scatter 0.02.");
	assert_says(text, true, "Without another probe in the room");
	assert_says(text, true, "    humidity_correction = \"-1.9 %\"\n    calibrated = \"2026-01-05\"\n");
	assert_says(text, false, "taken off again");
	assert_says(text, false, "doubtful");
	free(text);
}

static void of_others(void **state)
{
	struct jar jar = settled;
	struct salt_view view;
	char *text;

	(void)state;
	jar.read = 75.6;
	jar.room_known = true;
	view = found(jar);
	view.doubtful = true;
	text = text_of(view, CELSIUS, (struct correction){ 2, 1 });
	assert_says(text, true, "That is +0.2 ± 0.4 %: as right as can be told.");
	assert_says(text, true, "The room's air was too steady");
	assert_says(text, true, "taken off again");
	assert_says(text, true, "The humidity_correction makes it 77.6 %, which is 2.2 ± 0.4 % too high.");
	assert_says(text, true, "instead of the humidity_correction there");
	assert_says(text, true, "A doubtful probe");
	free(text);
	jar.read = 72;
	jar.unseen = 0.72;
	text = text_of(found(jar), CELSIUS, none);
	assert_says(text, false, "humidity_correction makes it");
	assert_says(text, true, "It reads 3.4 ± 0.4 % too low.");
	assert_says(text, true, "by less than about 0.8 % would not have shown");
	free(text);
}

/* 35.1=32.8 73.0=75.3: offset -6.56, slope 1.12137. */
static void of_one_that_is_corrected(void **state)
{
	const struct correction line = { -6.56, 1.12137 };
	struct salt_view view;
	struct jar jar = settled;
	char *text;

	(void)state;
	jar.read = 73.2; /* 75.52 */
	view = found(jar);
	view.holds = true;
	view.line = (struct salt_line){ .correction = line };
	text = text_of(view, CELSIUS, line);
	assert_says(text, true, "It reads 2.2 ± 0.4 % too low.");
	assert_says(text, true, "The humidity_correction makes it 75.5 %, that is +0.1 ± 0.4 %: as right");
	assert_says(text, true, "the correction there still holds, and only the day is new:\n"
				"    calibrated = \"2026-01-05\"\n");
	assert_says(text, false, "humidity_correction = ");
	assert_says(text, false, "instead");
	free(text);
	view = found(jar);
	view.jars[0].read = 75; /* 77.54 */
	view.kept_slope = true;
	view.line = (struct salt_line){ .text = "35.0=30.5 75.0=75.4", .correction = { -8.7, 1.1225 } };
	text = text_of(view, CELSIUS, line);
	assert_says(text, true, "makes it 77.5 %, which is 2.1 ± 0.4 % too high.");
	assert_says(text, true, "One salt shows no slope: that of the humidity_correction there is kept, and "
				"its line is shifted by -2.1 %.");
	assert_says(text, true, "humidity_correction = \"35.0=30.5 75.0=75.4\"");
	free(text);
}

static void over_another_salt(void **state)
{
	static const struct {
		struct salt_reading reading;
		enum salt other;
		bool corrected;
		const char *words;
	} rows[] = {
		{ { NACL, 22, 84.9 }, KCL, false,
		  "it reads 84.9 % where sodium chloride has 75.4 %, which is nearer to potassium chloride "
		  "(kcl) with 84.8 %; if that was in the jar, say --salt kcl, and if the probe is that "
		  "wrong, test it over mgno3 too, since two salts tell" },
		{ { NACL, 22, 84.9 }, KCL, true,
		  "as it is corrected, it reads 84.9 % where sodium chloride has 75.4 %, which is nearer to "
		  "potassium chloride (kcl) with 84.8 %; if that was in the jar, say --salt kcl, and if the "
		  "probe or its humidity_correction is that wrong, test it over mgno3 too, since two salts "
		  "tell" },
		{ { MGNO3, 22, 67 }, NACL, false,
		  "it reads 67.0 % where magnesium nitrate has 53.8 %, which is nearer to sodium chloride "
		  "(nacl) with 75.4 %; if that was in the jar, say --salt nacl, and if the probe is that "
		  "wrong, replace it" },
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char *text = salt_mistaken_refusal(&rows[i].reading, rows[i].other, rows[i].corrected);

		assert_string_equal(text, rows[i].words);
		free(text);
	}
}

/* Saturated vapour at 22.04 °C has 2652 Pa, at 1 °C more 2818, at 1 °F more 2743 (Sonntag 1990, as
 * tests/reference/salt.py has it): 75.42 % becomes 4.45 or 2.51 % less. */
static void in_the_keepers_units(void **state)
{
	char *text = text_of(found(settled), CELSIUS, none);

	(void)state;
	assert_says(text, true, "all the time (by 1 °C: 4.4 %)");
	free(text);
	text = text_of(found(settled), FAHRENHEIT, none);
	assert_says(text, true, "all the time (by 1 °F: 2.5 %)");
	assert_says(text, false, "°C");
	free(text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(refusals),
		cmocka_unit_test(of_one_that_is_wrong),
		cmocka_unit_test(of_others),
		cmocka_unit_test(of_one_that_is_corrected),
		cmocka_unit_test(over_another_salt),
		cmocka_unit_test(in_the_keepers_units),
	};

	setenv("TZ", "UTC0", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
