/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A real feed with a real archivist: orderly and disorderly ends, files that
 * kill or cannot be written, and configurations that change on the way.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/archive_head.h"
#include "tests/feed_pump.h"
#include "tests/rows.h"
#include "tests/small_conf.h"

/* Pauses pass so much faster; no case may take longer than PATIENCE, real s. */
static const double speed = 100;
static const double PATIENCE = 30;

static const int64_t midnight = 1767571200;

static struct {
	int damaged, failing, working;
	size_t enclosure;
	char path[512], why[512];
} told;

static char *folder;
static struct conf *conf;
static struct feed *feed;

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

static const struct feed_callbacks callbacks = { &told, damaged, failing, working };

static int set_up(void **state)
{
	char template[] = "/tmp/feed-XXXXXX";

	(void)state;
	assert_non_null(mkdtemp(template));
	folder = must_copy(template);
	conf = small_conf(folder, 2, 10);
	conf->archive = (struct archive_rows){ 86400 * 40, 86400 * 5, 86400 * 5 };
	feed = feed_new(conf, &callbacks);
	memset(&told, 0, sizeof told);
	return 0;
}

static void end_feed(void)
{
	feed_close(feed);
	assert_true(pump_until(feed, speed, PATIENCE, pump_closed, feed));
	assert_int_equal(feed_pid(feed), 0);
	feed_free(feed);
	feed = NULL;
}

static int tear_down(void **state)
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

static void add_as(size_t enclosure, unsigned number, size_t series, int from, int to)
{
	for (int i = from; i < to; i++) {
		struct closed_minute minute = { .end = midnight + 60 * (i + 1), .count = series };

		for (size_t j = 0; j < series; j++)
			minute.cells[j] = made_up_cell(minute.end, number * 4 + (unsigned)j);
		feed_add(feed, enclosure, &minute);
	}
}

/* Minutes number [from, to) after midnight of an enclosure. */
static void add(size_t enclosure, int from, int to)
{
	add_as(enclosure, (unsigned)enclosure, 3, from, to);
}

static char *file_of(const char *name)
{
	return must_print("%s/archive/%s", folder, name);
}

/* Every minute of [from, to) is there with the values it was fed with. */
static void expect_minutes(unsigned number, int from, int to)
{
	static const struct series all[] = { { WARM_SIDE, TEMPERATURE },
					     { COOL_SIDE, TEMPERATURE },
					     { COOL_SIDE, HUMIDITY } };
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

static void wait_empty(void)
{
	assert_true(pump_until(feed, speed, PATIENCE, pump_empty, feed));
}

static bool was_working(void *context)
{
	(void)context;
	return told.working;
}

static bool was_failing(void *context)
{
	(void)context;
	return told.failing;
}

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

/* reference: bytes 40 and 32 of the head, measured to make librrd 1.7.2 die
 * by SIGFPE and SIGSEGV. */
static void damaged_heads_are_set_aside_and_others_go_on(void **state)
{
	(void)state;
	static const struct {
		off_t at;
		uint64_t word;
	} words[] = { { 40, 0 }, { 32, UINT64_MAX } };
	char *path = file_of("E1.rrd");

	add(0, 0, 10);
	add(1, 0, 10);
	wait_empty();
	for (int i = 0; i < 2; i++) {
		int fd = open(path, O_RDWR);
		int from = 600 * (i + 1);

		assert_int_equal(pwrite(fd, &words[i].word, 8, words[i].at), 8);
		close(fd);
		add(0, from, from + 10);
		add(1, from, from + 10);
		wait_empty();
		assert_int_equal(told.damaged, i + 1);
		assert_int_equal(told.enclosure, 0);
		assert_non_null(strstr(told.path, "/archive/E1.rrd.damaged-"));
		assert_int_equal(access(told.path, F_OK), 0);
		expect_minutes(0, from, from + 10);
		expect_minutes(1, 0, 10);
		expect_minutes(1, from, from + 10);
	}
	assert_int_equal(told.failing, 0);
	free(path);
}

/* Waits until the file is being written, and crashes the archivist with it in
 * hand, as a head would that slips through the check.  It may be too fast. */
static void crash_amid(const char *head)
{
	int status;

	while (access(head, F_OK) != 0)
		if (pump_empty(feed))
			return;
		else
			pump(feed, speed, 0);
	assert_true(feed_pid(feed) > 0);
	kill(feed_pid(feed), SIGSEGV);
	assert_int_equal(waitpid(feed_pid(feed), &status, 0), feed_pid(feed));
	assert_int_equal(WTERMSIG(status), SIGSEGV);
	feed_child_died(feed, status, pump_clock(speed));
	while (!pump(feed, speed, 10))
		; /* until the next one has put the head back and said hello */
}

static void a_file_that_kills_is_set_aside_and_others_go_on(void **state)
{
	(void)state;
	char *head = file_of("E1.rrd.head");
	int next = 5;

	add(0, 0, 5);
	add(1, 0, 5);
	wait_empty();
	/* Two crashes in a row do; one that comes too late does not count. */
	for (int i = 0; !told.damaged; i++) {
		assert_true(i < 40);
		if (i % 2 == 0) {
			add(0, next, next + 2000);
			add(1, next, next + 2000);
			next += 2000;
		}
		crash_amid(head);
		if (i % 2)
			wait_empty();
	}
	assert_int_equal(told.damaged, 1);
	assert_int_equal(told.enclosure, 0);
	assert_int_equal(access(told.path, F_OK), 0);
	expect_minutes(1, 0, next);
	expect_minutes(0, next - 2000, next);
	free(head);
}

static void a_folder_that_cannot_be_used_is_told_and_waited_for(void **state)
{
	(void)state;
	char *archive = file_of("");

	archive[strlen(archive) - 1] = '\0';
	int fd = open(archive, O_CREAT | O_WRONLY, 0644);

	assert_true(fd >= 0);
	close(fd);
	add(0, 0, 10);
	assert_true(pump_until(feed, speed, PATIENCE, was_failing, NULL));
	assert_non_null(strstr(told.why, "archive"));
	assert_int_equal(unlink(archive), 0);
	assert_true(pump_until(feed, speed, PATIENCE, was_working, NULL));
	assert_int_equal(told.failing, 1);
	wait_empty();
	expect_minutes(0, 0, 10);
	free(archive);
}

/* A folder lies where E1's head must be saved, whoever runs the test. */
static void a_file_that_cannot_be_written_holds_up_no_other(void **state)
{
	(void)state;
	char *head = file_of("E1.rrd.head");

	add(0, 0, 10);
	wait_empty();
	assert_int_equal(mkdir(head, 0755), 0);
	add(0, 10, 20);
	assert_true(pump_until(feed, speed, PATIENCE, was_failing, NULL));
	assert_non_null(strstr(told.why, "E1.rrd"));
	size_t held = feed_backlog(feed);

	add(1, 0, 50);
	double end = pump_clock(1) + PATIENCE;

	while (feed_backlog(feed) > held && pump_clock(1) < end)
		pump(feed, speed, 10);
	assert_int_equal(feed_backlog(feed), held);
	expect_minutes(1, 0, 50);
	assert_int_equal(told.working, 0);
	assert_int_equal(rmdir(head), 0);
	wait_empty();
	assert_int_equal(told.failing, 1);
	assert_int_equal(told.working, 1);
	expect_minutes(0, 0, 20);
	free(head);
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
	add_as(0, 1, 3, 10, 20); /* E2 comes first now */
	add_as(1, 0, 3, 10, 20);
	wait_empty();
	expect_minutes(0, 0, 20);
	expect_minutes(1, 0, 20);
	conf->enclosure_count = 1;
	add_as(1, 0, 3, 20, 30);
	feed_reload(feed, conf);
	add_as(0, 1, 3, 20, 30);
	wait_empty();
	expect_minutes(0, 0, 30);
	expect_minutes(1, 0, 30);
	conf->enclosure_count = 2;
}

#define each(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

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
		each(damaged_heads_are_set_aside_and_others_go_on),
		each(a_file_that_kills_is_set_aside_and_others_go_on),
		each(a_folder_that_cannot_be_used_is_told_and_waited_for),
		each(a_file_that_cannot_be_written_holds_up_no_other),
		each(a_reload_keeps_order_and_names),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
