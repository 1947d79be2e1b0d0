/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the daemon has gathered and not archived yet, behind an archive's rows.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/gathered.h"
#include "report/totals.h"
#include "tests/archive_maker.h"

enum { MINUTES = 3100 };

static const long BEGIN = 1767571200; /* 2026-01-05T00:00:00Z */
static const struct series SERIES[] = { { WARM_SIDE, TEMPERATURE, false },
					{ COOL_SIDE, TEMPERATURE, false },
					{ COOL_SIDE, HUMIDITY, false } };

/* Whole stretches inside the band, below it, above it, and unknown. */
static struct minute *make_minutes(void)
{
	struct minute *minutes = calloc(MINUTES * 3, sizeof *minutes);

	for (size_t i = 0; i < MINUTES * 3; i++) {
		struct minute *m = &minutes[i];
		size_t stretch = i / 3 / 7 % 4;

		m->ok = stretch == 3 ? 0 : (double)(1 + i % 4) / 4;
		m->low = stretch == 1 ? m->ok : 0;
		m->high = stretch == 2 ? m->ok / 2 : 0;
		m->out = (m->low + m->high) * 5;
		m->value = 50 + (double)(i % 10);
	}
	return minutes;
}

/* Of the first `count` minutes. */
static struct totals truth(const struct minute *minutes, size_t series, size_t count)
{
	struct totals t = { .unknown = (double)count * 60 };

	for (size_t i = 0; i < count; i++) {
		const struct minute *m = &minutes[i * 3 + series];

		t.unknown -= m->ok * 60;
		t.low += m->low * 60;
		t.high += m->high * 60;
		t.degree_hours += m->out * 60 / 3600;
	}
	return t;
}

/* Minutes `from` to before `to` as the daemon would have gathered them. */
static void gather_minutes(const struct conf *conf, const struct minute *minutes, size_t from,
			   size_t to, size_t cut)
{
	struct gathered_minute record = { .name = "T3", .count = 3 };
	size_t size = gathered_size(3), used = GATHERED_MARK;
	unsigned char *bytes = calloc(1, used + (to - from) * size);
	char *path = state_path(conf->state, GATHERED_FILE);
	FILE *file = fopen(path, "w");

	for (size_t i = 0; i < 3; i++)
		record.series |= series_bit(SERIES[i]);
	gathered_mark(bytes);
	for (size_t m = from; m < to; m++, used += size) {
		record.end = BEGIN + 60 * ((int64_t)m + 1);
		for (size_t i = 0; i < 3; i++) {
			const struct minute *one = &minutes[m * 3 + i];

			record.cells[i] = (struct minute_cell){ one->value, one->low, one->high,
								one->ok, one->out };
		}
		gathered_put(bytes + used, &record);
	}
	assert_int_equal(fwrite(bytes, 1, used - cut, file), used - cut);
	assert_int_equal(fclose(file), 0);
	free(path);
	free(bytes);
}

/* Archived are 3000 minutes; the daemon holds some of them yet, and more. */
static void gathered_minutes_follow_the_archive(void **state)
{
	struct tiny tiny;
	struct minute *minutes = make_minutes();

	(void)state;
	tiny_begin(&tiny);
	archive_make(&tiny.conf, "T3", SERIES, 3, BEGIN, minutes, 3000);
	for (int torn = 0; torn < 2; torn++) {
		size_t last = torn ? 3046 : 3047;
		struct window window = { (double)BEGIN, (double)BEGIN + (double)last * 60 };
		struct record record;

		gather_minutes(&tiny.conf, minutes, 2990, 3047, torn ? 1 : 0);
		record_read(&tiny.conf, &tiny.enclosures[0], window, &record);
		assert_null(record.trouble);
		assert_near(record.newest, (double)BEGIN + (double)last * 60, 0);
		for (size_t i = 0; i < 3; i++) {
			struct totals t = totals_of(&record.series[i], window, true);
			struct totals want = truth(minutes, i, last);

			assert_near(t.low, want.low, 1e-5);
			assert_near(t.high, want.high, 1e-5);
			assert_near(t.unknown, want.unknown, 1e-5);
			assert_near(t.degree_hours, want.degree_hours, 1e-7);
		}
		record_clear(&record);
	}
	free(minutes);
	tiny_end(&tiny);
}

/* The daemon was off for an hour and has gathered since. */
static void a_gap_before_gathered_minutes_is_unknown(void **state)
{
	struct tiny tiny;
	struct minute *minutes = make_minutes();
	struct record record;
	struct window window = { (double)BEGIN, (double)BEGIN + 200 * 60 };
	double ok = 0;

	(void)state;
	tiny_begin(&tiny);
	archive_make(&tiny.conf, "T3", SERIES, 3, BEGIN, minutes, 120);
	gather_minutes(&tiny.conf, minutes, 180, 200, 0);
	record_read(&tiny.conf, &tiny.enclosures[0], window, &record);
	for (size_t m = 0; m < 200; m++)
		ok += m < 120 || m >= 180 ? minutes[m * 3].ok * 60 : 0;
	assert_near(totals_of(&record.series[0], window, true).unknown, 200 * 60 - ok, 1e-5);
	for (size_t n = 1; n < record.series[0].count; n++)
		assert_near(record.series[0].list[n].from, record.series[0].list[n - 1].to, 0);
	record_clear(&record);
	free(minutes);
	tiny_end(&tiny);
}

/* The archive makes room for a new place at the next full hour, and drops what
 * comes before: that is not shown first and gone then. */
static void a_new_place_shows_what_the_archive_will_take(void **state)
{
	struct tiny tiny;
	struct minute *minutes = make_minutes(), *one = calloc(100, sizeof *one);
	struct record record;
	struct window window = { (double)BEGIN, (double)BEGIN + 140 * 60 };
	double ok = 0;

	(void)state;
	for (size_t m = 0; m < 100; m++)
		one[m] = minutes[m * 3];
	tiny_begin(&tiny);
	archive_make(&tiny.conf, "T3", SERIES, 1, BEGIN, one, 100);
	gather_minutes(&tiny.conf, minutes, 100, 140, 0);
	record_read(&tiny.conf, &tiny.enclosures[0], window, &record);
	assert_int_equal(BEGIN % 3600, 0);
	for (size_t m = 120; m < 140; m++)
		ok += minutes[m * 3 + 1].ok * 60;
	assert_true(ok > 0);
	assert_near(totals_of(&record.series[1], window, true).unknown, 140 * 60 - ok, 1e-5);
	record_clear(&record);
	free(one);
	free(minutes);
	tiny_end(&tiny);
}

/* It is said, and only where it matters. */
static void what_is_gathered_and_cannot_be_read_is_said(void **state)
{
	struct tiny tiny;
	struct minute *minutes = make_minutes();
	struct record record;

	(void)state;
	tiny_begin(&tiny);
	char *path = state_path(tiny.conf.state, GATHERED_FILE);

	archive_make(&tiny.conf, "T3", SERIES, 3, BEGIN, minutes, 120);
	assert_int_equal(mkdir(path, 0700), 0);
	for (int minute = 120; minute <= 121; minute++) {
		struct window window = { (double)BEGIN, (double)BEGIN + minute * 60 };

		record_read(&tiny.conf, &tiny.enclosures[0], window, &record);
		assert_null(record.trouble);
		assert_true(minute > 120 ? record.behind && strstr(record.behind, path)
					 : !record.behind);
		record_clear(&record);
	}
	assert_int_equal(rmdir(path), 0);
	free(path);
	free(minutes);
	tiny_end(&tiny);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(gathered_minutes_follow_the_archive),
		cmocka_unit_test(a_gap_before_gathered_minutes_is_unknown),
		cmocka_unit_test(a_new_place_shows_what_the_archive_will_take),
		cmocka_unit_test(what_is_gathered_and_cannot_be_read_is_said),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
