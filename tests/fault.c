/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include "conf/fault.h"

static void keeps_copies(void **state)
{
	(void)state;
	struct faults faults = { 0 };
	char file[] = "a.conf";

	fault_add(&faults, file, 3, "baud %d is none of %s", 9601, "them");
	file[0] = 'b';
	assert_int_equal(faults.count, 1);
	assert_string_equal(faults.list[0].file, "a.conf");
	assert_int_equal(faults.list[0].line, 3);
	assert_string_equal(faults.list[0].text, "baud 9601 is none of them");
	faults_clear(&faults);
}

static void sorts_by_file_as_met_then_line_then_order(void **state)
{
	(void)state;
	struct faults faults = { 0 };
	const char *expected[] = { "z1a", "z9b", "z9c", "a2d", "a5e" };

	fault_add(&faults, "z", 9, "z9b");
	fault_add(&faults, "a", 5, "a5e");
	fault_add(&faults, "z", 9, "z9c");
	fault_add(&faults, "a", 2, "a2d");
	fault_add(&faults, "z", 1, "z1a");
	faults_sort(&faults);
	for (size_t i = 0; i < 5; i++)
		assert_string_equal(faults.list[i].text, expected[i]);
	faults_clear(&faults);
}

static void is_usable_after_clear(void **state)
{
	(void)state;
	struct faults faults = { 0 };

	faults_sort(&faults);
	faults_clear(&faults);
	fault_add(&faults, "a", 1, "x");
	assert_int_equal(faults.count, 1);
	faults_clear(&faults);
	assert_int_equal(faults.count, 0);
	assert_null(faults.list);
}

static void the_same_once(void **state)
{
	(void)state;
	struct faults faults = { 0 };

	for (int i = 0; i < 2; i++) {
		fault_add(&faults, "a", 1, "x");
		fault_add(&faults, "a", 2, "x");
		fault_add(&faults, "b", 1, "x");
		fault_add(&faults, "a", 1, "y");
	}
	assert_int_equal(faults.count, 4);
	faults_clear(&faults);
}

static void has_an_end_and_says_so(void **state)
{
	(void)state;
	struct faults faults = { 0 };

	for (int i = 0; i < 10 * FAULTS_MOST; i++) {
		assert_int_equal(faults_full(&faults), i > FAULTS_MOST);
		fault_add(&faults, "a", i, "fault %d", i);
	}
	assert_int_equal(faults.count, FAULTS_MOST + 1);
	assert_string_equal(faults.list[FAULTS_MOST - 1].text, "fault 199");
	assert_non_null(strstr(faults.list[FAULTS_MOST].text, "more faults"));
	faults_clear(&faults);
}

/* The name of a file may hold what a terminal would obey. */
static void shows_no_control_characters(void **state)
{
	(void)state;
	struct faults faults = { 0 };

	fault_add(&faults, "a\033[2J.conf", 1, "%s cannot be read", "\033]0;x\a\xff\r.inc");
	assert_string_equal(faults.list[0].file, "a?[2J.conf");
	assert_string_equal(faults.list[0].text, "?]0;x???.inc cannot be read");
	faults_clear(&faults);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(keeps_copies),
		cmocka_unit_test(sorts_by_file_as_met_then_line_then_order),
		cmocka_unit_test(is_usable_after_clear),
		cmocka_unit_test(the_same_once),
		cmocka_unit_test(has_an_end_and_says_so),
		cmocka_unit_test(shows_no_control_characters),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
