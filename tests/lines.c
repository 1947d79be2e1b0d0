/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Templates, lines and what a wire makes of them.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "daemon/lines.h"

static struct line_template compiled(const char *text)
{
	struct line_template t;
	char *wrong = template_read(text, &t);

	if (wrong)
		fail_msg("%s: %s", text, wrong);
	return t;
}

static void the_usual_line(void **state)
{
	(void)state;
	struct line_template t = compiled("{probe},{temperature},{humidity}");
	struct line_values v;

	assert_true(t.names_probe);
	assert_true(line_match(&t, "t3c,24.50,51", &v));
	assert_string_equal(v.token, "t3c");
	assert_true(v.has[TEMPERATURE] && v.has[HUMIDITY]);
	assert_near(v.value[TEMPERATURE], 24.5, 0);
	assert_near(v.value[HUMIDITY], 51, 0);
}

static void text_around_values(void **state)
{
	(void)state;
	struct line_template t = compiled("{}: T={temperature} C, RH={humidity} %");
	struct line_values v;

	assert_false(t.names_probe);
	assert_true(line_match(&t, "  12:31: T= -0.5 C, RH=+99.9 % ", &v));
	assert_near(v.value[TEMPERATURE], -0.5, 0);
	assert_near(v.value[HUMIDITY], 99.9, 0);
	assert_string_equal(v.token, "");
	assert_false(line_match(&t, "12:31: T=21.5 F, RH=40 %", &v));
}

static void lines_of_json(void **state)
{
	(void)state;
	struct line_template t = compiled("{\"id\":\"{probe}\",\"t\":{temperature},\"h\":{humidity}}");
	struct line_values v;

	assert_true(line_match(&t, "{\"id\":\"a b\",\"t\":21,\"h\":40.25}", &v));
	assert_string_equal(v.token, "a b");
	assert_near(v.value[HUMIDITY], 40.25, 0);
}

static void fahrenheit_and_blanks(void **state)
{
	(void)state;
	struct line_template t = compiled("{temperature_f} {humidity}");
	struct line_values v;

	assert_true(line_match(&t, "\t77.0   40 ", &v));
	assert_near(v.value[TEMPERATURE], 25, 1e-12);
	assert_true(line_match(&t, "-40 40", &v));
	assert_near(v.value[TEMPERATURE], -40, 1e-12);
}

static void what_does_not_match(void **state)
{
	(void)state;
	struct line_template t = compiled("{probe},{temperature},{humidity}");
	const char *bad[] = {
		"", "ready", "t1", "t1,24.5", "t1,24.5,", ",24.5,50", " ,24.5,50", "t1,24.5,50,7",
		"t1,24,5,50", "t1,2 4.5,50", "t1,24.5x,50", "t1,0x18,50", "t1,1e1,50", "t1,inf,50",
		"t1,--5,50", "t1,24.5.1,50", "t1;24.5;50", "t1,.,50", "t1,-,50", "t1,24.5,50%",
	};
	struct line_values v;

	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		if (line_match(&t, bad[i], &v) && (v.has[TEMPERATURE] && v.has[HUMIDITY]))
			fail_msg("\"%s\" was taken for a line", bad[i]);
	for (size_t i = 5; i < sizeof bad / sizeof *bad; i++)
		if (line_match(&t, bad[i], &v))
			fail_msg("\"%s\" matched", bad[i]);
}

/* A value that is absent is a state, and the other one still counts. */
static void absent_values(void **state)
{
	(void)state;
	struct line_template t = compiled("{probe},{temperature},{humidity}");
	struct line_values v;

	assert_true(line_match(&t, "t1,nan,51.2", &v));
	assert_false(v.has[TEMPERATURE]);
	assert_true(v.has[HUMIDITY]);
	assert_true(line_match(&t, "t1, NaN , -nan", &v));
	assert_false(v.has[TEMPERATURE] || v.has[HUMIDITY]);
	assert_true(line_match(&t, "t1,24.5,", &v));
	assert_true(v.has[TEMPERATURE]);
	assert_false(v.has[HUMIDITY]);
	assert_false(line_match(&t, "t1,nano,51.2", &v));
}

static void templates_refused(void **state)
{
	(void)state;
	static const struct {
		const char *text, *says;
	} bad[] = {
		{ "", "needs {temperature}" },
		{ "{probe},{}", "needs {temperature}" },
		{ "{probe},{temprature}", "unknown field {temprature}" },
		{ "{temperature},{temperature_f}", "already" },
		{ "{humidity},{humidity}", "already" },
		{ "{probe}{temperature}", "nothing between" },
		{ "{probe},{temperature}{}", "nothing between" },
		{ "{probe,{temperature}", "a { without its }" },
		{ "{humidity}\n", "end of a line" },
		{ "{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{humidity}", "more than 16" },
	};
	struct line_template t;
	char endless[400];
	char *wrong;

	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		wrong = template_read(bad[i].text, &t);
		assert_non_null(wrong);
		if (!strstr(wrong, bad[i].says))
			fail_msg("\"%s\" says \"%s\"", bad[i].text, wrong);
		free(wrong);
	}
	memset(endless, 'x', sizeof endless);
	endless[sizeof endless - 1] = '\0';
	wrong = template_read(endless, &t);
	assert_non_null(strstr(wrong, "longer than"));
	free(wrong);
}

enum { LOG = 400 };

/* Feeds text in lumps of the given size and writes down what came of it:
 * "[line]" for a line, "!" for a bad one. */
static void feed(struct line_assembler *a, const char *text, size_t length, size_t lump,
		 char log[LOG])
{
	size_t used = strlen(log);
	enum line_event event;

	while (length) {
		size_t part = length < lump ? length : lump, done = 0;

		while (done < part) {
			done += line_take(a, text + done, part - done, &event);
			if (event == LINE_WHOLE)
				used += (size_t)snprintf(log + used, LOG - used, "[%s]", a->text);
			else if (event == LINE_BAD)
				used += (size_t)snprintf(log + used, LOG - used, "!");
			assert_true(used < LOG);
		}
		text += part;
		length -= part;
	}
}

static void lines_in_any_lumps(void **state)
{
	(void)state;
	const char text[] = "a,1\r\nb,2\n\n\r\n c \nhalf";

	for (size_t lump = 1; lump < sizeof text; lump++) {
		struct line_assembler a = { 0 };
		char log[LOG] = "";

		feed(&a, text, sizeof text - 1, lump, log);
		assert_string_equal(log, "[a,1][b,2][ c ]");
	}
}

static void the_first_part_of_a_line_is_dropped(void **state)
{
	(void)state;
	struct line_assembler a = { .skipping = true };
	char log[LOG] = "";

	feed(&a, "4.5,50\r\nt1,24.5,50\r\n", 20, 3, log);
	assert_string_equal(log, "[t1,24.5,50]");
}

static void binary_is_one_bad_line(void **state)
{
	(void)state;
	struct line_assembler a = { 0 };
	char log[LOG] = "";

	feed(&a, "a\0b\x01\n", 5, 2, log);
	feed(&a, "x\x7fy\n", 4, 4, log);
	feed(&a, "ok\t1 \xc2\xb0\n", 8, 1, log);
	assert_string_equal(log, "!![ok\t1 \xc2\xb0]");
}

/* ISO 8859-1 has its degree sign at 0xB0; U+009B begins a terminal's command (ECMA-48). */
static void what_is_no_utf8_is_marked(void **state)
{
	(void)state;
	struct line_assembler a = { 0 };
	struct line_template template;
	struct line_values values;
	char log[LOG] = "";

	feed(&a, "w1: 23.1\xb0" "C\t45.2%\n", 17, 5, log);
	feed(&a, "a\xc2\x9b" "2J\xc3\n", 7, 1, log);
	assert_string_equal(log, "[w1: 23.1?C\t45.2%][a?2J?]");
	feed(&a, "w1: 23.1\xb0" "C\n", 11, 11, log);
	assert_null(template_read("{probe}: {temperature}?C", &template));
	assert_true(line_match(&template, a.text, &values));
	assert_float_equal(23.1, values.value[TEMPERATURE], 1e-9);
}

static void over_long_is_one_bad_line(void **state)
{
	(void)state;
	struct line_assembler a = { 0 };
	char log[LOG] = "", longest[LINE_CEILING + 2];

	memset(longest, 'x', sizeof longest);
	for (int i = 0; i < 50; i++)
		feed(&a, longest, LINE_CEILING, 7, log);
	feed(&a, "\nok\n", 4, 4, log);
	assert_string_equal(log, "![ok]");
	log[0] = '\0';
	longest[LINE_CEILING] = '\n';
	feed(&a, longest, LINE_CEILING + 1, 100, log);
	assert_int_equal(strlen(log), LINE_CEILING + 2);
}

static void a_spoiled_half_takes_its_other_half_along(void **state)
{
	(void)state;
	struct line_assembler a = { 0 };
	char log[LOG] = "";

	assert_false(line_spoil(&a));
	feed(&a, "t1,2", 4, 4, log);
	assert_true(line_spoil(&a));
	feed(&a, "4.5,50\nt2,9.5,50\n", 17, 17, log);
	assert_string_equal(log, "![t2,9.5,50]");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_usual_line),
		cmocka_unit_test(text_around_values),
		cmocka_unit_test(lines_of_json),
		cmocka_unit_test(fahrenheit_and_blanks),
		cmocka_unit_test(what_does_not_match),
		cmocka_unit_test(absent_values),
		cmocka_unit_test(templates_refused),
		cmocka_unit_test(lines_in_any_lumps),
		cmocka_unit_test(the_first_part_of_a_line_is_dropped),
		cmocka_unit_test(binary_is_one_bad_line),
		cmocka_unit_test(what_is_no_utf8_is_marked),
		cmocka_unit_test(over_long_is_one_bad_line),
		cmocka_unit_test(a_spoiled_half_takes_its_other_half_along),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
