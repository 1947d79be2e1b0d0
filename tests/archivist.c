/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The archivist by itself, at the end of two pipes: what it finds at birth,
 * and a batch that its watcher did not live to finish.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <sys/file.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/archivist.h"
#include "daemon/backlog.h"
#include "daemon/desk.h"
#include "tests/archive_update.h"
#include "tests/small_conf.h"

enum { ROOM = 262144 };

static const int64_t midnight = 1767571200;

static char *state_folder, *archive;
static struct in_hand *in_hand;
static int batches, reports; /* our ends */
static pid_t pid;

static int set_up(void **state)
{
	char template[] = "/tmp/archivist-XXXXXX";

	(void)state;
	assert_non_null(mkdtemp(template));
	state_folder = must_copy(template);
	archive = must_print("%s/archive", state_folder);
	assert_int_equal(mkdir(archive, 0755), 0);
	in_hand = mmap(NULL, sizeof *in_hand, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS,
		       -1, 0);
	assert_true(in_hand != MAP_FAILED);
	batches = reports = -1;
	pid = 0;
	return 0;
}

static void bear(const char *suspect)
{
	int down[2], up[2];

	assert_int_equal(pipe(down), 0);
	assert_int_equal(pipe(up), 0);
	pid = fork();
	if (pid == 0) {
		close(down[1]);
		close(up[0]);
		_exit(archivist_run(
			&(struct archivist){ state_folder, down[0], up[1], in_hand, suspect }));
	}
	close(down[0]);
	close(up[1]);
	batches = down[1];
	reports = up[0];
}

static void bury(int expected)
{
	int status;

	if (batches >= 0)
		close(batches);
	batches = -1;
	assert_int_equal(waitpid(pid, &status, 0), pid);
	assert_true(WIFEXITED(status));
	assert_int_equal(WEXITSTATUS(status), expected);
	pid = 0;
	close(reports);
}

static int tear_down(void **state)
{
	char *command = must_print("rm -r '%s'", state_folder);

	(void)state;
	assert_int_equal(pid, 0);
	assert_int_equal(system(command), 0);
	munmap(in_hand, sizeof *in_hand);
	free(command);
	free(state_folder);
	free(archive);
	return 0;
}

static struct report hear(void)
{
	struct report report;

	assert_int_equal(read(reports, &report, sizeof report), sizeof report);
	return report;
}

/* A batch of minutes number [from, to) for each of two enclosures. */
static size_t make_batch(unsigned char *bytes, int from, int to)
{
	struct conf *conf = small_conf(NULL, 2, 10);
	struct backlog *backlog = backlog_new(conf, ROOM);
	struct batch_head head = { .number = 5, .rows = { 1440, 144, 24 } };

	for (int i = from; i < to; i++)
		for (size_t j = 0; j < 2; j++) {
			struct closed_minute minute = { .end = midnight + 60 * (i + 1),
							.count = 3 };

			minute.cells[0] = (struct minute_cell){ .ok = 1, .value = 25 };
			backlog_add(backlog, j, &minute);
		}
	head.size = (uint32_t)backlog_fill(backlog, 0, BACKLOG_ALL, bytes + sizeof head,
					   ROOM - sizeof head, &head.sections);
	memcpy(bytes, &head, sizeof head);
	backlog_free(backlog);
	small_conf_free(conf);
	return sizeof head + head.size;
}

static int64_t last_of(const char *name)
{
	char *path = must_print("%s/%s", archive, name), why[ARCHIVE_TEXT];
	struct archive_head head;
	int64_t last = -1;

	if (archive_head_read(path, &head, why) == HEAD_GOOD)
		last = head.last;
	archive_head_free(&head);
	free(path);
	return last;
}

static void a_batch_is_written_and_acknowledged(void **state)
{
	(void)state;
	static unsigned char bytes[ROOM];
	size_t size = make_batch(bytes, 0, 20);

	bear(NULL);
	struct report report = hear();

	assert_int_equal(report.kind, REPORT_HELLO);
	assert_int_equal(report.end, 0);
	assert_int_equal(write(batches, bytes, size), (ssize_t)size);
	report = hear();
	assert_int_equal(report.kind, REPORT_DONE);
	assert_int_equal(report.number, 5);
	bury(0);
	assert_int_equal(last_of("E1.rrd"), midnight + 1200);
	assert_int_equal(last_of("E2.rrd"), midnight + 1200);
	assert_string_equal(in_hand->name, "");
}

static void whole_minutes_of_a_cut_batch_are_written(void **state)
{
	(void)state;
	static unsigned char bytes[ROOM];
	size_t record = sizeof(struct minute_head) + 3 * sizeof(struct minute_cell);
	size_t first = sizeof(struct batch_head) + sizeof(struct section_head) + 20 * record;
	size_t size = first + sizeof(struct section_head) + 7 * record + record / 2;

	assert_true(size < make_batch(bytes, 0, 20));
	bear(NULL);
	hear();
	assert_int_equal(write(batches, bytes, size), (ssize_t)size);
	bury(0);
	assert_int_equal(last_of("E1.rrd"), midnight + 1200);
	assert_int_equal(last_of("E2.rrd"), midnight + 420);
}

static void put_file(const char *name)
{
	char *path = must_print("%s/%s", archive, name);
	int fd = open(path, O_CREAT | O_WRONLY, 0644);

	assert_true(fd >= 0);
	close(fd);
	free(path);
}

static bool there(const char *name)
{
	char *path = must_print("%s/%s", archive, name);
	bool is = access(path, F_OK) == 0;

	free(path);
	return is;
}

static void what_dead_ones_left_is_removed_and_nothing_else(void **state)
{
	(void)state;
	static const char *const gone[] = { "E1.rrdAb3dE9", "my E.rrdxxxxxx", "E2.rrdresize" };
	static const char *const kept[] = { "E1.rrd.damaged-20260105T000000Z", "E1.rrd.copy",
					    "notes.txt", "E1.rrdAb3dE", "E1.rrdAb3dE99" };

	for (size_t i = 0; i < 3; i++)
		put_file(gone[i]);
	for (size_t i = 0; i < 5; i++)
		put_file(kept[i]);
	bear(NULL);
	assert_int_equal(hear().kind, REPORT_HELLO);
	bury(0);
	for (size_t i = 0; i < 3; i++)
		assert_false(there(gone[i]));
	for (size_t i = 0; i < 5; i++)
		assert_true(there(kept[i]));
}

static void a_suspect_is_set_aside_before_hello(void **state)
{
	(void)state;
	put_file("E2.rrd");
	bear("E2");
	struct report report = hear();

	assert_int_equal(report.kind, REPORT_DAMAGED);
	assert_string_equal(report.name, "E2");
	assert_true(there(report.file));
	assert_false(there("E2.rrd"));
	assert_int_equal(hear().kind, REPORT_HELLO);
	bury(0);
}

static void a_predecessor_is_waited_for(void **state)
{
	(void)state;
	put_file(".lock");
	char *path = must_print("%s/.lock", archive);
	int fd = open(path, O_RDWR), flags;
	struct report report;

	assert_int_equal(flock(fd, LOCK_EX), 0);
	bear(NULL);
	flags = fcntl(reports, F_GETFL);
	fcntl(reports, F_SETFL, flags | O_NONBLOCK);
	usleep(100000); /* the time in which it must not say hello */
	assert_int_equal(read(reports, &report, sizeof report), -1);
	fcntl(reports, F_SETFL, flags);
	/* The child has a copy of fd: unlock, closing would not do. */
	assert_int_equal(flock(fd, LOCK_UN), 0);
	assert_int_equal(hear().kind, REPORT_HELLO);
	bury(0);
	close(fd);
	free(path);
}

/* A reader that holds the lock for long, with an update to be undone before. */
static pid_t lock_it(const char *path)
{
	int ready[2];
	char byte = 0;

	assert_int_equal(pipe(ready), 0);
	pid_t holder = fork();

	if (holder == 0) {
		struct flock lock = { .l_type = F_RDLCK, .l_whence = SEEK_SET };
		int fd = open(path, O_RDONLY);

		if (fcntl(fd, F_SETLK, &lock) < 0 || write(ready[1], &byte, 1) != 1)
			_exit(1);
		for (;;)
			pause();
	}
	assert_int_equal(read(ready[0], &byte, 1), 1);
	close(ready[0]);
	close(ready[1]);
	return holder;
}

/* The first minutes, of one series only, up to the full hour. */
static void write_first_hour(const char *path)
{
	static const uint64_t rows[ROW_SIZES] = { 1440, 144, 24 };
	const struct minute_cell cell = { .ok = 1, .value = 25 };
	struct archive_minute minutes[60];
	char why[ARCHIVE_TEXT];

	for (int i = 0; i < 60; i++)
		minutes[i] = (struct archive_minute){
			.end = midnight + 60 * (i + 1), .cells = &cell,
			.series = series_bit((struct series){ WARM_SIDE, TEMPERATURE, false }) };
	assert_int_equal(archive_update(path, rows, minutes, 60, why), ARCHIVE_WRITTEN);
}

/* Were it made wider, the head would be another archive's, and the half update stay. */
static void what_cannot_be_undone_is_not_made_wider(void **state)
{
	(void)state;
	static unsigned char bytes[ROOM];
	char *path = must_print("%s/E1.rrd", archive), why[ARCHIVE_TEXT];
	struct archive_head head;
	int up[2];

	write_first_hour(path);
	assert_int_equal(pipe(up), 0);
	reports = up[0];
	struct archivist archivist = { state_folder, -1, up[1], in_hand, NULL };
	struct desk desk = { .a = &archivist };

	assert_int_equal(archive_head_read(path, &head, why), HEAD_GOOD);
	assert_true(undo_open(&desk.undo, archive, why));
	undo_add(&desk.undo, "E1", &head);
	size_t size = make_batch(bytes, 60, 80), columns = head.ds_count;

	archive_head_free(&head);
	memcpy(&desk.batch.head, bytes, sizeof desk.batch.head);
	desk.batch.bytes = bytes + sizeof desk.batch.head;
	desk.batch.size = size - sizeof desk.batch.head;
	pid_t holder = lock_it(path);

	desk_work(&desk);
	kill(holder, SIGKILL);
	assert_int_equal(waitpid(holder, NULL, 0), holder);
	struct report report = hear();

	assert_int_equal(report.kind, REPORT_FAILED);
	assert_string_equal(report.name, "E1");
	assert_non_null(strstr(report.text, "another program has it locked"));
	assert_int_equal(hear().kind, REPORT_DONE);
	assert_int_equal(last_of("E2.rrd"), midnight + 4800);
	assert_int_equal(archive_head_read(path, &head, why), HEAD_GOOD);
	assert_int_equal(head.ds_count, columns);
	archive_head_free(&head);
	assert_string_equal(undo_name(&desk.undo, 0), "E1");
	desk_work(&desk);
	assert_int_equal(hear().kind, REPORT_DONE);
	assert_int_equal(last_of("E1.rrd"), midnight + 4800);
	assert_null(undo_name(&desk.undo, 0));
	undo_close(&desk.undo);
	close(up[0]);
	close(up[1]);
	free(path);
}

static void an_undo_file_that_is_none_is_named(void **state)
{
	(void)state;
	char *undo = must_print("%s/.undo", archive);

	assert_int_equal(mkdir(undo, 0700), 0);
	bear(NULL);
	struct report report = hear();

	assert_int_equal(report.kind, REPORT_FOLDER);
	assert_non_null(strstr(report.text, "/archive/.undo: Is a directory; remove it"));
	bury(EXIT_FAILURE);
	assert_int_equal(rmdir(undo), 0);
	assert_int_equal(mkfifo(undo, 0600), 0);
	bear(NULL);
	report = hear();
	assert_int_equal(report.kind, REPORT_FOLDER);
	assert_non_null(strstr(report.text, "/archive/.undo: it is no file; remove it"));
	bury(EXIT_FAILURE);
	free(undo);
}

static void a_folder_that_cannot_be_used_ends_it(void **state)
{
	(void)state;
	assert_int_equal(rmdir(archive), 0);
	int fd = open(archive, O_CREAT | O_WRONLY, 0644);

	assert_true(fd >= 0);
	close(fd);
	bear(NULL);
	struct report report = hear();

	assert_int_equal(report.kind, REPORT_FOLDER);
	assert_non_null(strstr(report.text, "/archive: "));
	bury(EXIT_FAILURE);
}

#define each(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		each(a_batch_is_written_and_acknowledged),
		each(whole_minutes_of_a_cut_batch_are_written),
		each(what_dead_ones_left_is_removed_and_nothing_else),
		each(a_suspect_is_set_aside_before_hello),
		each(a_predecessor_is_waited_for),
		each(a_folder_that_cannot_be_used_ends_it),
		each(what_cannot_be_undone_is_not_made_wider),
		each(an_undo_file_that_is_none_is_named),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
