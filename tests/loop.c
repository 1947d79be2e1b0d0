/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The event loop hears every archivist, also one whose pipe has the number
 * of its dead predecessor's.
 */
#include "tests/cm.h"

#include <ftw.h>
#include <signal.h>
#include <stdio.h>
#include <sys/wait.h>

#include "daemon/loop.h"
#include "daemon/when.h"
#include "tests/rows.h"
#include "tests/small_conf.h"

enum { DEATHS = 5, SERIES = 3, PATIENCE = 30 /* s */ };

struct fixture {
	char folder[40];
	struct conf *conf;
	struct watch watch;
	struct loop *loop;
};

static int set_up(void **state)
{
	static struct fixture f;

	f = (struct fixture){ .folder = "/tmp/warmside-loop-XXXXXX" };
	assert_non_null(mkdtemp(f.folder));
	f.conf = small_conf(f.folder, 1, 10);
	assert_true(watch_open(&f.watch, f.conf, false, false));
	f.loop = loop_new(&f.watch);
	assert_non_null(f.loop);
	*state = &f;
	return 0;
}

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *walk)
{
	(void)about;
	(void)kind;
	(void)walk;
	return remove(path);
}

static int tear_down(void **state)
{
	struct fixture *f = *state;

	watch_close(&f->watch);
	loop_free(f->loop);
	small_conf_free(f->conf);
	return nftw(f->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

static void add_minute(struct fixture *f, int64_t end)
{
	struct closed_minute minute = { .end = end, .count = SERIES };

	for (unsigned i = 0; i < SERIES; i++)
		minute.cells[i] = made_up_cell(end, i);
	feed_add(f->watch.feed, 0, &minute);
}

static void until_all_is_archived(struct fixture *f)
{
	double until = when_monotonic() + PATIENCE;

	while (feed_backlog(f->watch.feed) > 0) {
		if (when_monotonic() > until)
			fail_msg("the archivist is not heard within %d s", PATIENCE);
		loop_once(f->loop, 1);
	}
}

/* Death and the end of its pipe are there before the loop looks, so that it
 * meets both in one turn, and the next pipe has the old one's number. */
static void every_archivist_is_heard(void **state)
{
	struct fixture *f = *state;
	int64_t end = 1767571200;

	add_minute(f, end);
	until_all_is_archived(f);
	for (int i = 0; i < DEATHS; i++) {
		pid_t pid = feed_pid(f->watch.feed);
		siginfo_t info;

		assert_true(pid > 0);
		assert_int_equal(kill(pid, SIGKILL), 0);
		assert_int_equal(waitid(P_PID, (id_t)pid, &info, WEXITED | WNOWAIT), 0);
		end += 60;
		add_minute(f, end);
		until_all_is_archived(f);
		assert_true(feed_pid(f->watch.feed) != pid);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(every_archivist_is_heard, set_up, tear_down),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
