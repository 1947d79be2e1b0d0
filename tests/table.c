/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include <stdio.h>

#include "report/table.h"

static const struct column_head HEADS[] = {
	{ "enclosure", TO_LEFT }, { "place", TO_LEFT },  { "below", TO_RIGHT },
	{ "above", TO_RIGHT },    { "mean", TO_RIGHT },
};
static const char *const CELLS[] = {
	"T1 · Büschel", "cool side humidity",    "20 min", "–", "45 %",
	"T2",           "warm side temperature", "1 h",    "",  "20.0 °C",
};

enum { COLUMNS = sizeof HEADS / sizeof *HEADS, COUNT = sizeof CELLS / sizeof *CELLS };

/* The table on a terminal; malloc'ed. */
static char *printed(size_t width, bool colour, bool ascii)
{
	char *text;
	size_t size;
	FILE *file = open_memstream(&text, &size);
	struct terminal terminal = terminal_onto(file, width, colour, ascii);
	struct table table;

	table_begin(&table, HEADS, COLUMNS);
	for (size_t i = 0; i < COUNT; i++)
		table_inked(&table, i % COLUMNS == 2 ? INK_BELOW : INK_PLAIN, CELLS[i]);
	table_print(&table, &terminal);
	table_clear(&table);
	assert_true(terminal_close(&terminal));
	fclose(file);
	return text;
}

static void assert_printed(size_t width, bool ascii, const char *expected)
{
	char *text = printed(width, false, ascii);

	assert_string_equal(text, expected);
	free(text);
}

static const char IN_COLUMNS[] =
	"enclosure     place                   below  above     mean\n"
	"T1 · Büschel  cool side humidity     20 min      –     45 %\n"
	"T2            warm side temperature     1 h         20.0 °C\n";

static void columns_stand_under_one_another(void **state)
{
	(void)state;
	assert_printed(0, false, IN_COLUMNS);
	assert_printed(59, false, IN_COLUMNS); /* it is just so wide */
}

static void a_wide_table_is_folded(void **state)
{
	(void)state;
	assert_printed(58, false, "T1 · Büschel  cool side humidity\n"
				  "  below 20 min  mean 45 %\n"
				  "T2  warm side temperature\n"
				  "  below 1 h  mean 20.0 °C\n");
	assert_printed(22, false, "T1 · Büschel\n"
				  "  cool side humidity\n"
				  "  below 20 min\n"
				  "  mean 45 %\n"
				  "T2\n"
				  "  warm side\n"
				  "  temperature\n"
				  "  below 1 h\n"
				  "  mean 20.0 °C\n");
}

/* "·" and "°C" are narrower or as wide there, "ü" is two bytes. */
static void columns_where_utf8_is_not_spoken(void **state)
{
	(void)state;
	assert_printed(59, true, "enclosure      place                   below  above    mean\n"
				 "T1 - Büschel  cool side humidity     20 min      -    45 %\n"
				 "T2             warm side temperature     1 h         20.0 C\n");
}

/* Takes the escape codes out, in place. */
static void uncolour(char *text)
{
	char *to = text;

	for (const char *from = text; *from; from++)
		if (*from == '\033')
			from = strchr(from, 'm');
		else
			*to++ = *from;
	*to = '\0';
}

static void colours_take_no_columns(void **state)
{
	(void)state;
	static const size_t widths[] = { 0, 59, 58, 22 };

	for (size_t i = 0; i < sizeof widths / sizeof *widths; i++) {
		char *plain = printed(widths[i], false, false);
		char *coloured = printed(widths[i], true, false);

		assert_non_null(strstr(coloured, "\033[34m20"));
		uncolour(coloured);
		assert_string_equal(coloured, plain);
		free(plain);
		free(coloured);
	}
}

/* ---- sentences ---------------------------------------------------------------- */

static void assert_said(size_t width, size_t indent, const char *said, const char *expected)
{
	char *text;
	size_t size;
	FILE *file = open_memstream(&text, &size);
	struct terminal terminal = terminal_onto(file, width, false, false);

	terminal_say(&terminal, indent, said);
	assert_true(terminal_close(&terminal));
	fclose(file);
	assert_string_equal(text, expected);
	free(text);
}

static void sentences_are_broken_at_blanks(void **state)
{
	(void)state;
	assert_said(0, 2, "too dry for 6 h", "  too dry for 6 h\n");
	assert_said(11, 0, "too dry for 6 h", "too dry for\n6 h\n");
	assert_said(10, 0, "too dry for 6 h", "too dry\nfor 6 h\n");
	assert_said(8, 2, "a 40 °C b", "  a\n  40 °C\n  b\n"); /* a number and its unit stay */
	assert_said(8, 0, "for 10 hours", "for 10\nhours\n");
	assert_said(6, 1, "temperatures at 100 % of x", " temperatures\n at\n 100 %\n of x\n");
	assert_said(80, 0, "", "");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(columns_stand_under_one_another),
		cmocka_unit_test(a_wide_table_is_folded),
		cmocka_unit_test(columns_where_utf8_is_not_spoken),
		cmocka_unit_test(colours_take_no_columns),
		cmocka_unit_test(sentences_are_broken_at_blanks),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
