/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include <errno.h>
#include <stdio.h>

#include "report/terminal.h"

/* What a sink received; freed by the next. */
struct caught {
	FILE *file;
	char *text;
	size_t size;
};

static struct terminal catch_in(struct caught *caught, size_t width, bool colour, bool ascii)
{
	caught->file = open_memstream(&caught->text, &caught->size);
	assert_non_null(caught->file);
	return terminal_onto(caught->file, width, colour, ascii);
}

static void assert_caught(struct caught *caught, struct terminal *terminal, const char *expected)
{
	assert_true(terminal_close(terminal));
	assert_int_equal(fclose(caught->file), 0);
	assert_string_equal(caught->text, expected);
	free(caught->text);
}

static const char OURS[] = "T1 · 27.4 °C, 81.3 °F – 3 m² …\n";
static const char IN_ASCII[] = "T1 - 27.4 C, 81.3 F - 3 m2 ...\n";

static void our_signs_in_ascii(void **state)
{
	(void)state;
	struct caught caught;
	struct terminal terminal = catch_in(&caught, 80, false, true);

	fputs(OURS, terminal.file);
	assert_caught(&caught, &terminal, IN_ASCII);
}

static void a_sign_torn_apart(void **state)
{
	(void)state;
	struct caught caught;
	struct terminal terminal = catch_in(&caught, 80, false, true);

	for (size_t i = 0; OURS[i]; i++) {
		fputc(OURS[i], terminal.file);
		fflush(terminal.file);
	}
	assert_caught(&caught, &terminal, IN_ASCII);
}

/* "ü" begins with the byte that "×" begins with, "’" with the two of "–"; a
 * degree sign without a unit is none of ours. */
static void the_keepers_bytes_stay(void **state)
{
	(void)state;
	static const char label[] = "Büschel ’s 90° \xc3\xff\xe2\x80 \xe8\x9b\x87 \xc2";
	struct caught caught;
	struct terminal terminal = catch_in(&caught, 80, false, true);

	for (size_t i = 0; label[i]; i++) {
		fputc(label[i], terminal.file);
		fflush(terminal.file);
	}
	assert_caught(&caught, &terminal, label);
}

static void nothing_is_touched_without_need(void **state)
{
	(void)state;
	struct caught caught;
	struct terminal terminal = catch_in(&caught, 0, false, false);

	assert_ptr_equal(terminal.file, terminal.sink);
	fputs(OURS, terminal.file);
	assert_caught(&caught, &terminal, OURS);
}

/* Linux: every write to /dev/full fails so (full(4)). */
static void a_full_disk_is_told(void **state)
{
	(void)state;
	for (int ascii = 0; ascii < 2; ascii++) {
		FILE *full = fopen("/dev/full", "we");
		struct terminal terminal;

		if (!full)
			skip();
		terminal = terminal_onto(full, 80, false, ascii);
		fputs(OURS, terminal.file);
		errno = 0;
		assert_false(terminal_close(&terminal));
		assert_int_equal(errno, ENOSPC);
		fclose(full);
	}
}

static void inks(void **state)
{
	(void)state;
	const struct terminal plain = terminal_onto(stdout, 80, false, false);
	const struct terminal coloured = terminal_onto(stdout, 80, true, false);

	for (int ink = INK_PLAIN; ink <= INK_QUIET; ink++) {
		assert_string_equal(ink_on(&plain, (enum ink)ink), "");
		assert_string_equal(ink_off(&plain, (enum ink)ink), "");
		assert_int_equal(*ink_on(&coloured, (enum ink)ink) != 0, ink != INK_PLAIN);
		assert_int_equal(*ink_off(&coloured, (enum ink)ink) != 0, ink != INK_PLAIN);
	}
	/* ECMA-48, SGR (from memory): 34 is blue. */
	assert_string_equal(ink_on(&coloured, INK_BELOW), "\033[34m");
	assert_string_equal(ink_off(&coloured, INK_BELOW), "\033[0m");
}

static void columns(void **state)
{
	(void)state;
	const struct terminal utf8 = { .ascii = false }, other = { .ascii = true };

	assert_int_equal(text_width(""), 0);
	assert_int_equal(text_width("27.4 °C"), 7);
	assert_int_equal(text_width("e\xcc\x81"), 1);         /* e and a combining acute accent */
	assert_int_equal(text_width("\xe8\x9b\x87"), 2);      /* U+86C7 */
	assert_int_equal(text_width("\xf0\x9f\x90\x8d"), 2);  /* U+1F40D */
	assert_int_equal(text_width("a\xff" "b"), 3);
	assert_int_equal(terminal_columns(&utf8, "Büschel …"), 9);
	assert_int_equal(terminal_columns(&other, "27.4 °C"), 6);
	assert_int_equal(terminal_columns(&other, "Büschel …"), 12); /* ü is two bytes there */
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(our_signs_in_ascii),
		cmocka_unit_test(a_sign_torn_apart),
		cmocka_unit_test(the_keepers_bytes_stay),
		cmocka_unit_test(nothing_is_touched_without_need),
		cmocka_unit_test(a_full_disk_is_told),
		cmocka_unit_test(inks),
		cmocka_unit_test(columns),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
