/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A real feed with a real archivist: orderly and disorderly ends of either,
 * and configurations that change on the way.
 */
#include "tests/cm.h"

#include <signal.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/feed_case.h"

static void minutes_arrive_and_the_end_is_known(void **state)
{
	(void)state;
	double end = -1;

	assert_false(feed_archive_end(feed, &end));
	assert_true(pump_until(feed, speed, PATIENCE, pump_hello, feed));
	assert_true(feed_archive_end(feed, &end));
	assert_near(end, 0, 0);
	add(0, 0, 100);
	add(1, 0, 120);
	assert_true(feed_backlog(feed) > 0);
	wait_empty();
	expect_minutes(0, 0, 100);
	expect_minutes(1, 0, 120);
	end_feed();
	feed = feed_new(conf, &callbacks);
	assert_true(pump_until(feed, speed, PATIENCE, pump_hello, feed));
	assert_true(feed_archive_end(feed, &end));
	assert_near(end, (double)midnight + 120 * 60, 0);
	assert_int_equal(told.damaged + told.failing + told.working, 0);
}

static void closing_sends_what_waits(void **state)
{
	(void)state;
	add(0, 0, 5);
	end_feed();
	expect_minutes(0, 0, 5);
}

static void closing_before_anything_starts_nothing(void **state)
{
	(void)state;
	feed_close(feed);
	assert_true(feed_closed(feed));
	assert_true(feed_step(feed, pump_clock(speed)) == INFINITY);
	assert_int_equal(feed_pid(feed), 0);
}

/* The watcher dies the moment it has handed over a batch; its successor finds
 * all of it archived. */
static void a_dead_watcher_loses_nothing_handed_over(void **state)
{
	(void)state;
	double end;
	pid_t pid = fork();

	if (pid == 0) {
		if (!pump_until(feed, speed, PATIENCE, pump_hello, feed))
			_exit(1);
		add(0, 0, 3000);
		add(1, 0, 3000);
		feed_close(feed);
		do {
			feed_step(feed, pump_clock(speed));
			feed_writable(feed);
		} while (feed_wants_write(feed));
		raise(SIGKILL);
	}
	int status;

	assert_int_equal(waitpid(pid, &status, 0), pid);
	assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
	assert_true(pump_until(feed, speed, PATIENCE, pump_hello, feed));
	assert_true(feed_archive_end(feed, &end));
	assert_near(end, (double)midnight + 3000 * 60, 0);
	expect_minutes(0, 0, 3000);
	expect_minutes(1, 0, 3000);
}

static void sigterm_does_not_end_the_archivist(void **state)
{
	(void)state;
	assert_true(pump_until(feed, speed, PATIENCE, pump_hello, feed));
	pid_t pid = feed_pid(feed);

	kill(pid, SIGTERM);
	add(0, 0, 10);
	wait_empty();
	assert_int_equal(feed_pid(feed), pid);
	expect_minutes(0, 0, 10);
}

/* It dies unseen, and a batch is written to nobody. */
static void a_write_to_a_dead_archivist_is_survived(void **state)
{
	(void)state;
	siginfo_t dead;

	assert_true(pump_until(feed, speed, PATIENCE, pump_hello, feed));
	kill(feed_pid(feed), SIGKILL);
	assert_int_equal(waitid(P_PID, (id_t)feed_pid(feed), &dead, WEXITED | WNOWAIT), 0);
	add(0, 0, 9000); /* more than a batch: it is sent at once */
	feed_step(feed, pump_clock(speed));
	feed_writable(feed);
	wait_empty();
	expect_minutes(0, 0, 9000);
}

/* As a card that answers no more would make it. */
static void an_archivist_that_hangs_is_told(void **state)
{
	(void)state;
	speed = 400;
	assert_true(pump_until(feed, speed, PATIENCE, pump_hello, feed));
	kill(feed_pid(feed), SIGSTOP);
	add(0, 0, 10);
	assert_true(pump_until(feed, speed, PATIENCE, was_failing, NULL));
	assert_non_null(strstr(told.why, "does not answer"));
	kill(feed_pid(feed), SIGCONT);
	wait_empty();
	assert_int_equal(told.failing, 1);
	assert_int_equal(told.working, 1);
}

static void a_reload_keeps_order_and_names(void **state)
{
	(void)state;
	struct enclosure first = conf->enclosures[0];

	add(0, 0, 10);
	add(1, 0, 10);
	conf->enclosures[0] = conf->enclosures[1];
	conf->enclosures[1] = first;
	feed_reload(feed, conf);
	add_as(0, 1, 10, 20); /* E2 comes first now */
	add_as(1, 0, 10, 20);
	wait_empty();
	expect_minutes(0, 0, 20);
	expect_minutes(1, 0, 20);
	conf->enclosure_count = 1;
	add_as(1, 0, 20, 30);
	feed_reload(feed, conf);
	add_as(0, 1, 20, 30);
	wait_empty();
	expect_minutes(0, 0, 30);
	expect_minutes(1, 0, 30);
	conf->enclosure_count = 2;
}

static bool has_size(const char *name, off_t least, off_t most)
{
	char *path = file_of(name);
	struct stat about;

	assert_int_equal(stat(path, &about), 0);
	free(path);
	return about.st_size >= least && about.st_size <= most;
}

/* Of an enclosure that gets no more minutes the file stays as it is. */
static void a_reload_changes_the_rows(void **state)
{
	const off_t day = 1440 * 3 * COLUMNS * sizeof(double);

	(void)state;
	conf->archive.minutes = conf->archive.ten_minutes = conf->archive.hours = 86400;
	feed_reload(feed, conf);
	add(0, 0, 100);
	add(1, 0, 100);
	wait_empty();
	assert_true(has_size("E1.rrd", day, 2 * day) && has_size("E2.rrd", day, 2 * day));
	conf->archive.minutes = 5 * 86400;
	feed_reload(feed, conf);
	add(0, 100, 200);
	wait_empty();
	assert_true(has_size("E1.rrd", 5 * day, 6 * day) && has_size("E2.rrd", day, 2 * day));
	expect_minutes(0, 0, 200);
	expect_minutes(1, 0, 100);
	conf->archive.minutes = 86400;
	feed_reload(feed, conf);
	add(0, 200, 300);
	wait_empty();
	assert_true(has_size("E1.rrd", day, 2 * day));
	expect_minutes(0, 0, 300);
}

#define each(test) cmocka_unit_test_setup_teardown(test, feed_case_set_up, feed_case_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		each(minutes_arrive_and_the_end_is_known),
		each(closing_sends_what_waits),
		each(closing_before_anything_starts_nothing),
		each(a_dead_watcher_loses_nothing_handed_over),
		each(sigterm_does_not_end_the_archivist),
		each(a_write_to_a_dead_archivist_is_survived),
		each(an_archivist_that_hangs_is_told),
		each(a_reload_keeps_order_and_names),
		each(a_reload_changes_the_rows),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
