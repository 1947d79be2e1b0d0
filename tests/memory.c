/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Arrays that grow by one.
 */
#include "tests/cm.h"

#include <stdint.h>

#include "conf/memory.h"

/* What valgrind or the sanitizers would complain of is that one write is outside. */
static void each_has_room(void **state)
{
	enum { COUNT = 1000 };
	uint32_t *list = NULL;
	size_t moves = 0;

	(void)state;
	for (uint32_t i = 0; i < COUNT; i++) {
		uint32_t *before = list;

		list = must_grow(list, i, sizeof *list);
		moves += list != before;
		list[i] = i;
	}
	for (uint32_t i = 0; i < COUNT; i++)
		assert_int_equal(list[i], i);
	assert_in_range(moves, 1, 11); /* 1, 2, 4 ... 1024 */
	free(list);
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(each_has_room) };

	return cmocka_run_group_tests(tests, NULL, NULL);
}
