/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the tests of feed.c share; see feed_case.h.
 */
#include "tests/cm.h"

#include "tests/feed_case.h"

#include <errno.h>
#include <stdio.h>
#include <unistd.h>

#include "conf/memory.h"
#include "tests/rows.h"
#include "tests/small_conf.h"

double speed;
const double PATIENCE = 30;
const int64_t midnight = 1767571200;

struct told told;
char *folder;
struct conf *conf;
struct feed *feed;

static void damaged(void *context, size_t enclosure, const char *path)
{
	assert_ptr_equal(context, &told);
	told.damaged++;
	told.enclosure = enclosure;
	snprintf(told.path, sizeof told.path, "%s", path);
}

static void failing(void *context, const char *why)
{
	assert_ptr_equal(context, &told);
	told.failing++;
	snprintf(told.why, sizeof told.why, "%s", why);
}

static void working(void *context)
{
	assert_ptr_equal(context, &told);
	told.working++;
}

const struct feed_callbacks callbacks = { &told, damaged, failing, working };

int feed_case_set_up(void **state)
{
	char template[] = "/tmp/feed-XXXXXX";

	(void)state;
	assert_non_null(mkdtemp(template));
	folder = must_copy(template);
	conf = small_conf(folder, 2, 10);
	conf->archive = (struct archive_rows){ 86400 * 40, 86400 * 5, 86400 * 5, 0 };
	feed = feed_new(conf, &callbacks);
	speed = 20;
	memset(&told, 0, sizeof told);
	return 0;
}

void end_feed(void)
{
	feed_close(feed);
	assert_true(pump_until(feed, speed, PATIENCE, pump_closed, feed));
	assert_int_equal(feed_pid(feed), 0);
	feed_free(feed);
	feed = NULL;
}

int feed_case_tear_down(void **state)
{
	char *command = must_print("rm -r '%s'", folder);

	(void)state;
	if (feed)
		end_feed();
	assert_int_equal(system(command), 0);
	free(command);
	free(folder);
	small_conf_free(conf);
	return 0;
}

void add_as(size_t enclosure, unsigned number, int from, int to)
{
	for (int i = from; i < to; i++) {
		struct closed_minute minute = { .end = midnight + 60 * (i + 1), .count = 3 };

		for (size_t j = 0; j < 3; j++)
			minute.cells[j] = made_up_cell(minute.end, number * 4 + (unsigned)j);
		feed_add(feed, enclosure, &minute);
	}
}

void add(size_t enclosure, int from, int to)
{
	add_as(enclosure, (unsigned)enclosure, from, to);
}

char *file_of(const char *name)
{
	return must_print("%s/archive/%s", folder, name);
}

static void move_file(unsigned number, bool away)
{
	char *name = must_print("E%u.rrd", number + 1), *path = file_of(name);
	char *beside = must_print("%s.away", path);

	if (!away)
		assert_int_equal(unlink(path), 0);
	if (rename(away ? path : beside, away ? beside : path) != 0)
		assert_int_equal(errno, ENOENT);
	if (away)
		assert_int_equal(symlink(path, path), 0); /* it leads nowhere but to itself */
	free(beside);
	free(path);
	free(name);
}

void bar_file(unsigned number)
{
	move_file(number, true);
}

void unbar_file(unsigned number)
{
	move_file(number, false);
}

void expect_minutes(unsigned number, int from, int to)
{
	static const struct series all[] = { { WARM_SIDE, TEMPERATURE, false },
					     { COOL_SIDE, TEMPERATURE, false },
					     { COOL_SIDE, HUMIDITY, false } };
	char *name = must_print("E%u.rrd", number + 1), *path = file_of(name);
	struct rows rows;

	assert_true(
		rows_fetch(path, "AVERAGE", 60, midnight + 60 * from, midnight + 60 * to, &rows));
	for (int i = from; i < to; i++)
		for (unsigned j = 0; j < 3; j++)
			for (enum column column = 0; column < COLUMNS; column++) {
				int64_t end = midnight + 60 * (i + 1);
				struct minute_cell cell = made_up_cell(end, number * 4 + j);
				double should = column_value(&cell, column);
				char ds[DS_NAME];
				double is = rows_at(&rows, ds_name(all[j], column, ds), end);

				if (!(isnan(is) && isnan(should)))
					assert_near(is, should, 1e-10);
			}
	rows_free(&rows);
	free(name);
	free(path);
}

void wait_empty(void)
{
	assert_true(pump_until(feed, speed, PATIENCE, pump_empty, feed));
}

bool was_working(void *context)
{
	(void)context;
	return told.working;
}

bool was_failing(void *context)
{
	(void)context;
	return told.failing;
}
