/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Real round-robin files, and what the report reads of them against sums made
 * from the very minutes that went in.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "report/fetch.h"
#include "report/totals.h"
#include "tests/archive_maker.h"

enum { DAYS = 5, MINUTES = DAYS * 1440 };

static const long BEGIN = 1767571200; /* 2026-01-05T00:00:00Z */
static const struct series SERIES[] = { { WARM_SIDE, TEMPERATURE, false },
					{ COOL_SIDE, TEMPERATURE, false },
					{ COOL_SIDE, HUMIDITY, false } };

/* Minutes with every kind of share, and whole stretches below, above and
 * unknown. */
static struct minute *make_minutes(void)
{
	struct minute *minutes = calloc(MINUTES * 3, sizeof *minutes);
	unsigned seed = 7;

	for (size_t i = 0; i < MINUTES * 3; i++) {
		struct minute *m = &minutes[i];
		size_t stretch = i / 3 / 45 % 5;
		double part = (double)(rand_r(&seed) % 1001) / 1000;

		m->ok = stretch == 4 ? 0 : rand_r(&seed) % 4 ? 1 : part;
		m->low = stretch == 1 ? m->ok : stretch == 2 ? m->ok * part : 0;
		m->high = stretch == 2 ? (m->ok - m->low) * part : stretch == 3 ? m->ok : 0;
		m->out = (m->low + m->high) * 5 * part;
		m->value = 50 + 10 * part;
	}
	return minutes;
}

/* The totals of one series from the minutes, rows of `size` minutes being cut
 * in proportion at the window's edges. */
static struct totals truth(const struct minute *minutes, size_t series, struct window window,
			   int size)
{
	struct totals t = { .min = INFINITY, .max = -INFINITY };
	double ok = 0;

	for (size_t i = 0; i < MINUTES; i++) {
		const struct minute *m = &minutes[i * 3 + series];
		double from = (double)BEGIN + 60.0 * (double)(i - i % (size_t)size);
		double to = from + 60 * size;
		double part = fmin(to, window.to) - fmax(from, window.from);

		if (part <= 0)
			continue;
		part /= to - from;
		ok += m->ok * 60 * part;
		t.low += m->low * 60 * part;
		t.high += m->high * 60 * part;
		t.degree_hours += m->out * 60 * part / 3600;
		if (m->ok > 0) {
			t.min = fmin(t.min, m->value);
			t.max = fmax(t.max, m->value);
		}
	}
	t.unknown = window.to - window.from - ok;
	t.inside = ok - t.low - t.high;
	return t;
}

struct fixture {
	struct tiny tiny;
	struct minute *minutes;
};

static int begin(void **state)
{
	struct fixture *f = calloc(1, sizeof *f);

	tiny_begin(&f->tiny);
	f->minutes = make_minutes();
	archive_make(&f->tiny.conf, "T3", SERIES, 3, BEGIN, f->minutes, MINUTES);
	*state = f;
	return 0;
}

static int end(void **state)
{
	struct fixture *f = *state;

	tiny_end(&f->tiny);
	free(f->minutes);
	free(f);
	return 0;
}

static void compare(struct fixture *f, struct window window, int row_size, int cut_minutes,
		    bool shared_out)
{
	struct record record;

	record_read(&f->tiny.conf, &f->tiny.enclosures[0], window, &record);
	assert_null(record.trouble);
	assert_int_equal(record.row_size, row_size);
	assert_int_equal(record.shared_out, shared_out);
	assert_near(record.newest, (double)BEGIN + DAYS * 86400, 0);
	assert_int_equal(record.count, 3);
	for (size_t i = 0; i < 3; i++) {
		struct totals t = totals_of(&record.series[i], window, true);
		struct totals want = truth(f->minutes, i, window, cut_minutes);

		assert_near(t.low, want.low, 1e-5);
		assert_near(t.high, want.high, 1e-5);
		assert_near(t.inside, want.inside, 1e-5);
		assert_near(t.unknown, want.unknown, 1e-5);
		assert_near(t.degree_hours, want.degree_hours, 1e-7);
		assert_near(t.low + t.high + t.inside + t.unknown, window.to - window.from, 1e-8);
		assert_int_equal(t.known, isfinite(want.min));
		if (t.known) {
			assert_near(t.min, want.min, 1e-9);
			assert_near(t.max, want.max, 1e-9);
		}
	}
	record_clear(&record);
}

/* The file keeps 6 h of minutes, 2 d of ten minutes and 10 d of hours. */
static void each_row_size_gives_the_truth(void **state)
{
	struct fixture *f = *state;
	double newest = (double)BEGIN + DAYS * 86400;

	compare(f, (struct window){ newest - 6 * 3600, newest }, 60, 1, false);
	compare(f, (struct window){ newest - 5 * 3600 - 60, newest - 3540 }, 60, 1, false);
	compare(f, (struct window){ newest - 60, newest }, 60, 1, false);
	compare(f, (struct window){ newest - 6 * 3600 - 600, newest }, 600, 10, false);
	compare(f, (struct window){ newest - 2 * 86400, newest }, 600, 10, false);
	compare(f, (struct window){ newest - 2 * 86400, newest - 86400 }, 600, 10, false);
	compare(f, (struct window){ newest - 2 * 86400 - 3600, newest }, 3600, 60, false);
	compare(f, (struct window){ (double)BEGIN, newest }, 3600, 60, false);
	compare(f, (struct window){ (double)BEGIN, (double)BEGIN + 3600 }, 3600, 60, false);
}

/* The coarse rows stop where finer ones can go on to the very minute. */
static void the_end_is_read_in_finer_rows(void **state)
{
	struct fixture *f = *state;
	double newest = (double)BEGIN + DAYS * 86400;

	compare(f, (struct window){ (double)BEGIN, newest - 1860 }, 3600, 1, false);
	compare(f, (struct window){ newest - 86400, newest - 7260 }, 600, 1, false);
}

static void other_edges_are_shared_out(void **state)
{
	struct fixture *f = *state;
	double newest = (double)BEGIN + DAYS * 86400;

	compare(f, (struct window){ newest - 3600 + 17.5, newest - 30 }, 60, 1, true);
	compare(f, (struct window){ newest - 86400 + 77, newest - 86400 + 6000 }, 600, 10, true);
	compare(f, (struct window){ (double)BEGIN + 1234, newest - 4 * 86400 + 100 }, 3600, 60,
		true);
}

/* Before the file, and after its newest minute. */
static void what_no_row_covers_is_unknown(void **state)
{
	struct fixture *f = *state;
	double newest = (double)BEGIN + DAYS * 86400;

	compare(f, (struct window){ newest - 3600, newest + 1800 }, 60, 1, false);
	compare(f, (struct window){ (double)BEGIN - 20 * 86400, newest }, 3600, 60, false);
	compare(f, (struct window){ (double)BEGIN - 30 * 86400, (double)BEGIN - 29 * 86400 }, 3600,
		60, false);
	compare(f, (struct window){ newest + 600, newest + 1200 }, 60, 1, false);
}

/* The last hour and the last ten minutes are not closed yet. */
static void an_open_hour_is_read_in_minutes(void **state)
{
	struct tiny tiny;
	struct minute *minutes = make_minutes();
	struct record record;

	(void)state;
	tiny_begin(&tiny);
	archive_make(&tiny.conf, "T3", SERIES, 3, BEGIN, minutes, 3000 + 47);

	struct window window = { (double)BEGIN, (double)BEGIN + 3047 * 60 };

	record_read(&tiny.conf, &tiny.enclosures[0], window, &record);
	assert_null(record.trouble);
	for (size_t i = 0; i < 3; i++) {
		struct totals t = totals_of(&record.series[i], window, true);
		struct totals want = truth(minutes, i, window, 1);

		assert_near(t.low, want.low, 1e-5);
		assert_near(t.unknown, want.unknown, 1e-5);
	}
	record_clear(&record);
	free(minutes);
	tiny_end(&tiny);
}

static void a_place_added_later_has_no_history(void **state)
{
	struct tiny tiny;
	struct minute old[60], both[60][2];
	struct record record;

	(void)state;
	tiny_begin(&tiny);
	for (size_t i = 0; i < 60; i++) {
		old[i] = (struct minute){ .value = 30, .ok = 1 };
		both[i][0] = old[i];
		both[i][1] = (struct minute){ .value = 24, .ok = 1 };
	}
	archive_make(&tiny.conf, "T3", SERIES, 1, BEGIN, old, 60);
	archive_widen(&tiny.conf, "T3", SERIES[1]);
	archive_go_on(&tiny.conf, "T3", 2, BEGIN + 3600, both[0], 60);

	struct window window = { (double)BEGIN, (double)BEGIN + 7200 };

	record_read(&tiny.conf, &tiny.enclosures[0], window, &record);
	assert_null(record.trouble);
	assert_near(totals_of(&record.series[0], window, true).inside, 7200, 0);
	assert_near(totals_of(&record.series[1], window, true).inside, 3600, 0);
	assert_near(totals_of(&record.series[1], window, true).unknown, 3600, 0);
	assert_near(totals_of(&record.series[1], window, true).mean, 24, 1e-9);
	/* The third one is configured and not archived at all yet. */
	assert_int_equal(record.series[2].count, 0);
	assert_near(totals_of(&record.series[2], window, true).unknown, 7200, 0);
	record_clear(&record);
	tiny_end(&tiny);
}

static char *trouble_of(struct fixture *f, bool *missing)
{
	struct record record;
	double newest = (double)BEGIN + DAYS * 86400;

	record_read(&f->tiny.conf, &f->tiny.enclosures[0],
		    (struct window){ newest - 86400, newest }, &record);

	char *trouble = record.trouble ? strdup(record.trouble) : NULL;

	*missing = record.missing;
	for (size_t i = 0; trouble && i < record.count; i++)
		assert_int_equal(record.series[i].count, 0);
	record_clear(&record);
	return trouble;
}

static void bad_files_get_a_sentence(void **state)
{
	struct fixture *f = *state;
	char *path = archive_path(f->tiny.folder, "T3");
	struct stat about;
	char *trouble;
	bool missing;

	assert_int_equal(stat(path, &about), 0);
	assert_int_equal(truncate(path, about.st_size - 8), 0);
	trouble = trouble_of(f, &missing);
	assert_non_null(strstr(trouble, "too short"));
	free(trouble);
	assert_int_equal(truncate(path, 100), 0);
	trouble = trouble_of(f, &missing);
	assert_non_null(strstr(trouble, "too short"));
	free(trouble);
	assert_int_equal(truncate(path, 0), 0);
	trouble = trouble_of(f, &missing);
	assert_non_null(strstr(trouble, "damaged"));
	free(trouble);
	assert_int_equal(truncate(path, 20000), 0);
	trouble = trouble_of(f, &missing);
	assert_non_null(strstr(trouble, "does not begin like"));
	assert_false(missing);
	free(trouble);
	assert_int_equal(unlink(path), 0);
	trouble = trouble_of(f, &missing);
	assert_non_null(strstr(trouble, "does not exist"));
	assert_true(missing);
	free(trouble);
	free(path);
}

/* Each word of the head in turn: a sentence or an answer, and never a signal. */
static void no_damaged_head_kills_the_reader(void **state)
{
	struct fixture *f = *state;
	char *path = archive_path(f->tiny.folder, "T3");
	int file = open(path, O_RDWR | O_CLOEXEC);
	const uint64_t patterns[] = { 0, UINT64_MAX, 0x4141414141414141u };
	int refused = 0;

	assert_true(file >= 0);
	for (off_t at = 0; at < 4000; at += 8)
		for (int p = 0; p < 3; p++) {
			uint64_t kept;
			bool missing;

			assert_int_equal(pread(file, &kept, 8, at), 8);
			assert_int_equal(pwrite(file, &patterns[p], 8, at), 8);

			char *trouble = trouble_of(f, &missing);

			refused += trouble != NULL;
			free(trouble);
			assert_int_equal(pwrite(file, &kept, 8, at), 8);
		}
	print_message("%d of 1500 damaged heads refused\n", refused);
	assert_true(refused > 50);
	close(file);
	free(path);
}

/* The archivist holds the file for a moment. */
static void a_locked_file_is_waited_for(void **state)
{
	struct fixture *f = *state;
	char *path = archive_path(f->tiny.folder, "T3");
	int ready[2];
	char byte;
	bool missing;

	assert_int_equal(pipe(ready), 0);

	pid_t child = fork();

	assert_true(child >= 0);
	if (child == 0) {
		int file = open(path, O_RDWR);
		struct flock lock = { .l_type = F_WRLCK, .l_whence = SEEK_SET };
		bool held = fcntl(file, F_SETLK, &lock) == 0 && write(ready[1], "x", 1) == 1;

		nanosleep(&(struct timespec){ .tv_nsec = 300000000 }, NULL);
		_exit(held ? 0 : 1);
	}
	assert_int_equal(read(ready[0], &byte, 1), 1);

	char *trouble = trouble_of(f, &missing);
	int status;

	assert_int_equal(waitpid(child, &status, WNOHANG), child); /* it had let go before */
	assert_int_equal(status, 0);
	if (trouble)
		fail_msg("%s", trouble);
	close(ready[0]);
	close(ready[1]);
	free(path);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(each_row_size_gives_the_truth, begin, end),
		cmocka_unit_test_setup_teardown(the_end_is_read_in_finer_rows, begin, end),
		cmocka_unit_test_setup_teardown(other_edges_are_shared_out, begin, end),
		cmocka_unit_test_setup_teardown(what_no_row_covers_is_unknown, begin, end),
		cmocka_unit_test(an_open_hour_is_read_in_minutes),
		cmocka_unit_test(a_place_added_later_has_no_history),
		cmocka_unit_test_setup_teardown(bad_files_get_a_sentence, begin, end),
		cmocka_unit_test_setup_teardown(no_damaged_head_kills_the_reader, begin, end),
		cmocka_unit_test_setup_teardown(a_locked_file_is_waited_for, begin, end),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
