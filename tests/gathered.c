/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Records of gathered minutes: what goes in comes out, and what is not whole
 * ends the file.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "conf/gathered.h"

static unsigned char bytes[4096];

static struct gathered_minute minute_of(const char *name, int64_t end, double value)
{
	const struct series cool_h = { .place = COOL_SIDE, .quantity = HUMIDITY };
	const struct series warm_t = { .place = WARM_SIDE, .quantity = TEMPERATURE };
	struct gathered_minute minute = { .end = end, .count = 2 };

	snprintf(minute.name, sizeof minute.name, "%s", name);
	minute.series = series_bit(cool_h) | series_bit(warm_t);
	minute.cells[0] = (struct minute_cell){ value, 0.25, 0.5, 0.875, 1.5 };
	minute.cells[1] = (struct minute_cell){ .value = -value, .ok = 1 };
	return minute;
}

static size_t fill(void)
{
	static const char *const names[] = { "T1", "T2", "T1" };
	size_t used = GATHERED_MARK;

	gathered_mark(bytes);
	for (int i = 0; i < 3; i++) {
		struct gathered_minute minute = minute_of(names[i], 60 * (i + 1), i + 1);

		gathered_put(bytes + used, &minute);
		used += gathered_size(minute.count);
	}
	return used;
}

static int count(size_t size, const char *name)
{
	struct gathered_minute minute;
	size_t at = 0;
	int count = 0;

	while (gathered_next(bytes, size, name, &at, &minute))
		count++;
	return count;
}

static void what_goes_in_comes_out(void **state)
{
	size_t size = fill(), at = 0;
	struct gathered_minute minute, want = minute_of("T1", 180, 3);

	(void)state;
	assert_int_equal(count(size, NULL), 3);
	assert_int_equal(count(size, "T1"), 2);
	assert_int_equal(count(size, "T3"), 0);
	assert_true(gathered_next(bytes, size, "T1", &at, &minute));
	assert_int_equal(minute.end, 60);
	assert_true(gathered_next(bytes, size, "T1", &at, &minute));
	assert_string_equal(minute.name, "T1");
	assert_int_equal(minute.end, 180);
	assert_int_equal(minute.series, want.series);
	assert_int_equal(minute.count, 2);
	assert_memory_equal(minute.cells, want.cells, 2 * sizeof *want.cells);
	assert_false(gathered_next(bytes, size, "T1", &at, &minute));
}

static void a_record_cut_short_ends_the_file(void **state)
{
	size_t size = fill(), whole = gathered_size(2);

	(void)state;
	for (size_t cut = size - whole; cut < size; cut++)
		assert_int_equal(count(cut, NULL), 2);
	for (size_t cut = 0; cut < GATHERED_MARK; cut++)
		assert_int_equal(count(cut, NULL), 0);
}

/* Whatever byte is wrong: never a minute that was not put in. */
static void a_damaged_record_ends_the_file(void **state)
{
	size_t size = fill(), second = GATHERED_MARK + gathered_size(2);

	(void)state;
	for (size_t i = second; i < second + gathered_size(2); i++) {
		bytes[i] ^= 0x20;
		assert_int_equal(count(size, NULL), 1);
		bytes[i] ^= 0x20;
	}
	bytes[0] ^= 1;
	assert_int_equal(count(size, NULL), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_goes_in_comes_out),
		cmocka_unit_test(a_record_cut_short_ends_the_file),
		cmocka_unit_test(a_damaged_record_ends_the_file),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
