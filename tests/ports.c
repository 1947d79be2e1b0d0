/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The list of ports, of pseudo-terminals that stand for adapters: what is
 * written for each, who holds it, and whom permission fails.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/port_holder.h"
#include "daemon/ports.h"

enum { NOBODY = 65534, TTY_NAME = 64 };

static int open_master(char name[TTY_NAME])
{
	int master = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);

	assert_true(master >= 0 && grantpt(master) == 0 && unlockpt(master) == 0);
	assert_int_equal(0, ptsname_r(master, name, TTY_NAME));
	return master;
}

/* A child that opens the device, locks it when wanted, says so and waits. */
static pid_t hold(const char *device, bool lock, int *end)
{
	int ready[2], hold_on[2];
	char byte = 0;
	pid_t child;

	assert_int_equal(0, pipe(ready));
	assert_int_equal(0, pipe(hold_on));
	child = fork();
	if (child == 0) {
		int fd = open(device, O_RDWR | O_NOCTTY);

		close(hold_on[1]);
		if (fd < 0 || (lock && flock(fd, LOCK_EX | LOCK_NB) < 0) ||
		    write(ready[1], "", 1) != 1)
			_exit(1);
		_exit(read(hold_on[0], &byte, 1) < 0);
	}
	close(ready[1]);
	close(hold_on[0]);
	assert_int_equal(1, read(ready[0], &byte, 1));
	close(ready[0]);
	*end = hold_on[1];
	return child;
}

static void let_go(pid_t child, int end)
{
	close(end);
	assert_int_equal(child, waitpid(child, NULL, 0));
}

static char *printed(const struct port_list *ports)
{
	char *text = NULL;
	size_t size;
	FILE *out = open_memstream(&text, &size);

	assert_non_null(out);
	ports_print(out, ports);
	fclose(out);
	return text;
}

static void assert_says(const char *text, const char *wanted)
{
	if (!strstr(text, wanted))
		fail_msg("\"%s\" is not in:\n%s", wanted, text);
}

static void how_each_is_written(void **state)
{
	char first[TTY_NAME], second[TTY_NAME], third[TTY_NAME];
	int masters[] = { open_master(first), open_master(second), open_master(third) };
	struct port_found list[] = {
		{ .name = first, .is_usb = true, .vid = 0x1209, .pid = 1, .serial = (char[]){ "L0" },
		  .product = (char[]){ "Lighthouse adapter" } },
		{ .name = second, .is_usb = true, .vid = 0x1209, .pid = 2 },
		{ .name = third, .is_usb = true, .vid = 0x1209, .pid = 2 },
	};
	const struct port_list ports = { list, 3 };
	char *text = printed(&ports), *path;

	(void)state;
	assert_says(text, "  is        Lighthouse adapter\n  write     port = \"usb:1209:0001:L0\"\n");
	assert_says(text, "usb:1209:0002 is another port's too: name it by its path\n");
	path = text + strlen(first);
	assert_int_equal(0, strncmp(text, first, strlen(first)));
	assert_says(path, second);
	assert_says(path, third);
	free(text);
	for (int i = 0; i < 3; i++)
		close(masters[i]);
}

/* What an adapter says of itself goes to no terminal as it is (ECMA-48: ESC and
 * U+009B begin commands), and a serial that no text can hold is told of. */
static void hostile_adapters(void **state)
{
	char name[TTY_NAME];
	int master = open_master(name);
	struct port_found list[] = {
		{ .name = name, .is_usb = true, .vid = 0x1209, .pid = 1, .serial = (char[]){ "a\"b\\" },
		  .product = (char[]){ "Lamp\033[2J\xc2\x9b" "1m\xb0" } },
	};
	const struct port_list ports = { list, 1 };
	char *text = printed(&ports);

	(void)state;
	assert_says(text, "  is        Lamp?[2J?1m?\n");
	assert_says(text, "  USB       its serial number cannot be written: name it by its path\n");
	free(text);
	close(master);
}

static void who_holds_it(void **state)
{
	char name[TTY_NAME], text[PORT_HOLDER_TEXT], wanted[64];
	int master = open_master(name), end;
	struct port_found list[] = { { .name = name } };
	const struct port_list ports = { list, 1 };
	struct port_holders holders;
	char *block;

	(void)state;
	assert_int_equal(0, port_holders(name).count);
	for (int lock = 0; lock < 2; lock++) {
		pid_t child = hold(name, lock, &end);

		holders = port_holders(name);
		assert_int_equal(1, holders.count);
		assert_int_equal(child, holders.list[0].pid);
		assert_false(port_held_by_watch(&holders)); /* it is the test that holds it */
		snprintf(wanted, sizeof wanted, " (process %ld)", (long)child);
		assert_says(port_holders_text(&holders, text), wanted);
		/* Who serves a pseudo-terminal may have its near end open. */
		port_holders_in_the_way(&holders);
		assert_int_equal(lock, holders.count);
		block = printed(&ports);
		assert_says(block, wanted);
		free(block);
		let_go(child, end);
		assert_int_equal(0, port_holders(name).count);
	}
	close(master);
}

/* In a child that is nobody, with what it says taken back; "" when it may. */
static char *as_nobody(const char *device, bool listed)
{
	int answer[2];
	char *text = calloc(1, 1000), *forbidden;
	pid_t child;
	struct port_holders holders;

	assert_int_equal(0, pipe(answer));
	child = fork();
	if (child == 0) {
		if (setgid(NOBODY) < 0 || setuid(NOBODY) < 0)
			_exit(1);
		if (listed)
			holders = port_holders(device);
		forbidden = listed ? NULL : port_forbidden(device);
		dprintf(answer[1], "%s", listed ? (holders.count ? "seen" : "unseen")
						: forbidden ? forbidden : "");
		_exit(0);
	}
	close(answer[1]);
	assert_true(read(answer[0], text, 999) >= 0);
	close(answer[0]);
	assert_int_equal(child, waitpid(child, NULL, 0));
	return text;
}

static void whom_permission_fails(void **state)
{
	char name[TTY_NAME];
	int master, end;
	char *text;
	pid_t child;

	(void)state;
	if (geteuid() != 0)
		skip();
	master = open_master(name);
	assert_int_equal(0, chown(name, 0, 20));
	assert_int_equal(0, chmod(name, 0660));
	assert_null(port_forbidden(name));
	text = as_nobody(name, false);
	assert_says(text, "may not open it: run `usermod -aG ");
	assert_says(text, "then log out and in again");
	free(text);
	assert_int_equal(0, chmod(name, 0600));
	text = as_nobody(name, false);
	assert_says(text, "a udev rule");
	free(text);
	assert_int_equal(0, chmod(name, 0666));
	text = as_nobody(name, false);
	assert_string_equal("", text);
	free(text);
	/* Root's program is seen by its lock, though its descriptors are not. */
	child = hold(name, true, &end);
	text = as_nobody(name, true);
	assert_string_equal("seen", text);
	free(text);
	let_go(child, end);
	close(master);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(how_each_is_written),
		cmocka_unit_test(hostile_adapters),
		cmocka_unit_test(who_holds_it),
		cmocka_unit_test(whom_permission_fails),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
