/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Who has a port, found without standing still.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/port_holder.h"

/* A file is looked at only where devices lie: another folder may be a share that
 * does not answer.  The device is that of /dev/full (Linux, admin-guide/devices). */
static void files_elsewhere_are_not_looked_at(void **state)
{
	(void)state;
	char folder[] = "/tmp/warmside-port.XXXXXX", node[64];

	assert_non_null(mkdtemp(folder));
	snprintf(node, sizeof node, "%s/full", folder);
	int made = mknod(node, S_IFCHR | 0600, makedev(1, 7));
	int elsewhere = open(node, O_RDONLY | O_CLOEXEC);

	unlink(node);
	rmdir(folder);
	if (made < 0 || elsewhere < 0)
		skip(); /* only root may, and not on every file system */
	assert_false(port_is_ours("/dev/full"));
	int here_too = open("/dev/full", O_RDONLY | O_CLOEXEC);

	assert_true(port_is_ours("/dev/full"));
	close(here_too);
	close(elsewhere);
}

/* A child that has it open until it is killed. */
static pid_t hold(const char *name, bool lock)
{
	int ends[2];
	pid_t child;
	char byte;

	assert_int_equal(pipe(ends), 0);
	child = fork();
	if (child == 0) {
		int own = open(name, O_RDWR | O_NOCTTY);

		close(ends[0]);
		_exit((lock && flock(own, LOCK_EX | LOCK_NB) < 0) ||
		      write(ends[1], "", 1) != 1 || pause() != -1);
	}
	close(ends[1]);
	assert_int_equal(read(ends[0], &byte, 1), 1);
	close(ends[0]);
	return child;
}

static void let_go(pid_t child)
{
	assert_int_equal(kill(child, SIGKILL), 0);
	assert_int_equal(waitpid(child, NULL, 0), child);
}

/* Whoever locks a port is found without a walk over all programs' files. */
static void who_locks_it_is_known_at_once(void **state)
{
	(void)state;
	int far = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
	char name[64];

	assert_int_equal(grantpt(far) | unlockpt(far) | ptsname_r(far, name, sizeof name), 0);
	pid_t opens = hold(name, false);

	assert_int_equal(port_lockers(name).count, 0);
	assert_int_equal(port_holders(name).count, 1);
	pid_t locks = hold(name, true);
	struct port_holders lockers = port_lockers(name);

	assert_int_equal(lockers.count, 1);
	assert_int_equal(lockers.list[0].pid, locks);
	assert_int_equal(port_holders(name).count, 2);
	let_go(locks);
	assert_int_equal(port_lockers(name).count, 0);
	let_go(opens);
	close(far);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(files_elsewhere_are_not_looked_at),
		cmocka_unit_test(who_locks_it_is_known_at_once),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
