/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * USB identities on made-up lists; opening, sharing and losing a port on
 * pseudo-terminals.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <grp.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include "daemon/port.h"
#include "daemon/port_trouble.h"

static struct port_found here[] = {
	{ .name = "/dev/ttyS0" },
	{ .name = "/dev/ttyUSB0", .is_usb = true, .vid = 0x0403, .pid = 0x6001, .serial = "A1:B2" },
	{ .name = "/dev/ttyUSB1", .is_usb = true, .vid = 0x0403, .pid = 0x6001, .serial = "A1" },
	{ .name = "/dev/ttyACM0", .is_usb = true, .vid = 0x1209, .pid = 0xab01 },
	{ .name = "/dev/ttyUSB2", .is_usb = true, .vid = 0x1a86, .pid = 0x7523 },
	{ .name = "/dev/ttyUSB3", .is_usb = true, .vid = 0x1a86, .pid = 0x7523 },
	{ .name = "/dev/ttyACM1", .is_usb = true, .vid = 0x10c4, .pid = 1, .serial = "S" },
	{ .name = "/dev/ttyACM2", .is_usb = true, .vid = 0x10c4, .pid = 1, .serial = "S" },
};
static const struct port_list ports = { here, sizeof here / sizeof *here };

static void assert_found(const char *identity, const char *name)
{
	char why[PORT_WHY] = "";
	const struct port_found *found = port_resolve(&ports, identity, why);

	if (!found)
		fail_msg("%s: %s", identity, why);
	assert_string_equal(found->name, name);
}

static void assert_refused(const char *identity, const char *says)
{
	char why[PORT_WHY] = "";

	assert_null(port_resolve(&ports, identity, why));
	if (!strstr(why, says))
		fail_msg("%s says \"%s\", not \"%s\"", identity, why, says);
}

static void identities_found(void **state)
{
	(void)state;
	assert_found("usb:1209:ab01", "/dev/ttyACM0");
	assert_found("usb:1209:AB01", "/dev/ttyACM0");
	assert_found("usb:403:6001:A1", "/dev/ttyUSB1");
	assert_found("usb:0403:6001:A1:B2", "/dev/ttyUSB0");
}

static void identities_refused(void **state)
{
	(void)state;
	const char *const malformed[] = {
		"usb:", "usb:1209", "usb:1209:", "usb:1209:ab01:", "usb:12091:1", "usb:12g9:1",
		"usb:0x1209:1", "usb::1", "usb:1209:1 ", "usb:-1:1", "1209:ab01",
	};

	for (size_t i = 0; i < sizeof malformed / sizeof *malformed; i++)
		assert_refused(malformed[i], "is no USB identity");
	assert_refused("usb:1209:ab02", "is it plugged in");
	assert_refused("usb:1209:ab01:X", "is it plugged in");
	assert_refused("usb:0403:6001:a1", "is it plugged in");
	assert_refused("usb:0403:6001", "usb:0403:6001:A1:B2 for the first");
	assert_refused("usb:1a86:7523", "by-path");
	assert_refused("usb:10c4:1", "by-path");
	assert_refused("usb:10c4:1:S", "/dev/ttyACM1 and /dev/ttyACM2");
}

/* The real list, whatever it holds: names and nothing that overruns. */
static void the_list_of_this_machine(void **state)
{
	(void)state;
	struct port_list real = port_list();

	for (size_t i = 0; i < real.count; i++)
		assert_true(strlen(real.list[i].name) > 0);
	port_list_free(&real);
	assert_int_equal(real.count, 0);
}

/* ---- pseudo-terminals ---- */

struct pair {
	int far;
	char name[64];
};

static struct pair open_pair(void)
{
	struct pair p = { .far = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC) };

	assert_true(p.far >= 0);
	assert_int_equal(grantpt(p.far) | unlockpt(p.far), 0);
	assert_int_equal(ptsname_r(p.far, p.name, sizeof p.name), 0);
	return p;
}

static struct bus bus_at(char *path)
{
	return (struct bus){ .port = path, .baud = 9600, .parity = PARITY_NONE, .stop_bits = 1 };
}

static struct port *must_open(char *path)
{
	const struct bus bus = bus_at(path);
	char why[PORT_WHY] = "";
	struct port *port = port_open(&bus, why);

	if (!port)
		fail_msg("%s", why);
	return port;
}

static void assert_unopened(char *path, const char *says)
{
	const struct bus bus = bus_at(path);
	char why[PORT_WHY] = "";

	assert_null(port_open(&bus, why));
	if (!strstr(why, says))
		fail_msg("%s says \"%s\", not \"%s\"", path, why, says);
}

static void wait_readable(int fd)
{
	struct pollfd p = { .fd = fd, .events = POLLIN };

	assert_int_equal(poll(&p, 1, 5000), 1);
}

static void bytes_pass_unchanged_both_ways(void **state)
{
	(void)state;
	struct pair pair = open_pair();
	struct port *port = must_open(pair.name);
	uint8_t all[256], back[256];
	size_t count = sizeof all, got = 0;

	for (size_t i = 0; i < sizeof all; i++)
		all[i] = (uint8_t)i;
	assert_int_equal(port_read(port, back, &count), PORT_LATER);
	assert_int_equal(write(pair.far, all, sizeof all), sizeof all);
	while (got < sizeof all) {
		wait_readable(port_fd(port));
		count = sizeof back - got;
		assert_int_equal(port_read(port, back + got, &count), PORT_DONE);
		got += count;
	}
	assert_memory_equal(all, back, sizeof all);
	count = sizeof all;
	assert_int_equal(port_write(port, all, &count), PORT_DONE);
	assert_int_equal(count, sizeof all);
	for (got = 0; got < sizeof all;) {
		wait_readable(pair.far);
		got += (size_t)read(pair.far, back + got, sizeof back - got);
	}
	assert_memory_equal(all, back, sizeof all);
	port_close(port);
	close(pair.far);
}

static void settings_are_made(void **state)
{
	(void)state;
	struct pair pair = open_pair();
	struct bus bus = bus_at(pair.name);
	char why[PORT_WHY];
	struct termios t;
	struct port *port;

	bus.baud = 38400;
	bus.stop_bits = 2;
	port = port_open(&bus, why);
	assert_non_null(port);
	assert_int_equal(tcgetattr(port_fd(port), &t), 0);
	assert_int_equal(cfgetospeed(&t), B38400);
	assert_int_equal(cfgetispeed(&t), B38400);
	assert_true(t.c_cflag & CSTOPB);
	assert_true(t.c_cflag & CLOCAL);
	assert_false(t.c_cflag & (HUPCL | CRTSCTS));
	assert_false(t.c_iflag & (IXON | IXOFF | ICRNL | INLCR));
	assert_false(t.c_lflag & (ICANON | ECHO | ISIG));
	assert_false(t.c_oflag & OPOST);
	assert_true(fcntl(port_fd(port), F_GETFD) & FD_CLOEXEC);
	assert_true(fcntl(port_fd(port), F_GETFL) & O_NONBLOCK);
	port_close(port);
	bus.baud = 12345;
	assert_null(port_open(&bus, why));
	assert_non_null(strstr(why, "does not take these settings"));
	close(pair.far);
}

static void one_owner_at_a_time(void **state)
{
	(void)state;
	struct pair pair = open_pair();
	struct port *port = must_open(pair.name);

	assert_unopened(pair.name, "another bus of this configuration has it");
	port_close(port);
	port = must_open(pair.name);
	port_close(port);
	close(pair.far);
}

/* Another process takes the port, and says so by a byte. */
static void whoever_holds_it_is_named(void **state)
{
	(void)state;
	struct pair pair = open_pair();
	char byte, wanted[64];
	int told[2];

	assert_int_equal(pipe(told), 0);
	pid_t child = fork();

	if (child == 0) {
		struct port *port = must_open(pair.name);

		if (write(told[1], port ? "y" : "n", 1) == 1)
			pause();
		_exit(0);
	}
	assert_int_equal(read(told[0], &byte, 1), 1);
	snprintf(wanted, sizeof wanted, "(process %ld); it is free when that has ended", (long)child);
	assert_unopened(pair.name, wanted);
	assert_int_equal(kill(child, SIGKILL), 0);
	assert_int_equal(waitpid(child, NULL, 0), child);
	close(told[0]);
	close(told[1]);
	close(pair.far);
}

static void a_hang_up_is_noticed(void **state)
{
	(void)state;
	struct pair pair = open_pair();
	struct port *port = must_open(pair.name);
	uint8_t byte = 0;
	size_t count = 1;

	close(pair.far);
	wait_readable(port_fd(port));
	assert_int_equal(port_read(port, &byte, &count), PORT_GONE);
	assert_int_equal(count, 0);
	count = 1;
	assert_int_equal(port_write(port, &byte, &count), PORT_GONE);
	port_close(port);
}

static void links_are_followed_anew(void **state)
{
	(void)state;
	struct pair one = open_pair(), two = open_pair();
	char folder[] = "/tmp/warmside-port.XXXXXX", link[64];
	struct port *port;

	assert_non_null(mkdtemp(folder));
	snprintf(link, sizeof link, "%s/probe", folder);
	assert_int_equal(symlink(one.name, link), 0);
	port = must_open(link);
	assert_string_equal(port_device(port), one.name);
	port_close(port);
	unlink(link);
	assert_int_equal(symlink(two.name, link), 0);
	port = must_open(link);
	assert_string_equal(port_device(port), two.name);
	port_close(port);
	unlink(link);
	assert_unopened(link, "no such port");
	rmdir(folder);
	close(one.far);
	close(two.far);
}

static void what_is_no_port(void **state)
{
	(void)state;
	assert_unopened("/dev/null", "no serial port");
	assert_unopened("/", "no serial port");
	assert_unopened("/dev/nowhere", "no such port");
	assert_unopened("usb:nowhere", "no USB identity");
}

/* What somebody without any right is told of a port of that mode. */
static void assert_forbidden(mode_t mode, const char *says)
{
	struct pair pair = open_pair();
	int status;
	pid_t child;

	assert_int_equal(chmod(pair.name, mode), 0);
	child = fork();
	if (child == 0) {
		const struct bus bus = bus_at(pair.name);
		char why[PORT_WHY] = "";

		if (geteuid() == 0 && (setgroups(0, NULL) < 0 || setgid(65534) < 0 ||
				       setuid(65534) < 0))
			_exit(2);
		bool said = !port_open(&bus, why) && strstr(why, says);

		if (!said)
			fprintf(stderr, "\"%s\" does not say \"%s\"\n", why, says);
		_exit(said ? 0 : 1);
	}
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_int_equal(status, 0);
	close(pair.far);
}

static void no_permission_is_said(void **state)
{
	(void)state;
	struct pair pair = open_pair();
	struct stat status;
	char cure[80];

	assert_forbidden(0, "nor may any group: a udev rule has to give it to one");
	assert_int_equal(stat(pair.name, &status), 0);
	const struct group *group = getgrgid(status.st_gid);

	close(pair.far);
	if (geteuid() != 0 || !group)
		return; /* the owner may do everything with a mode that names a group */
	snprintf(cure, sizeof cure, "usermod -aG %s ", group->gr_name);
	assert_forbidden(0660, cure);
}

static void what_is_here_is_listed(void **state)
{
	(void)state;
	const struct port_list none = { 0 }, one = { here, 1 }, two = { here, 2 };
	char why[PORT_WHY], text[PORT_WHY];

	assert_string_equal(port_list_say(&none, text, sizeof text), "No serial port is here");
	assert_string_equal(port_list_say(&one, text, sizeof text), "Here is /dev/ttyS0");
	assert_string_equal(port_list_say(&two, text, sizeof text),
			    "Here are /dev/ttyS0, /dev/ttyUSB0 (usb:0403:6001:A1:B2)");
	assert_string_equal(port_list_say(&ports, text, sizeof text),
			    "Here are /dev/ttyS0, /dev/ttyUSB0 (usb:0403:6001:A1:B2), "
			    "/dev/ttyUSB1 (usb:0403:6001:A1) and 5 more");
	assert_string_equal(port_list_say(&ports, text, 20), "Here are /dev/ttyS0");
	port_say_absent(why, "/dev/ttyUSB9", &two);
	assert_string_equal(why, "/dev/ttyUSB9: there is no such port; is its adapter plugged in? "
				 "Here are /dev/ttyS0, /dev/ttyUSB0 (usb:0403:6001:A1:B2)");
	assert_refused("usb:1209:ab02", "Here are /dev/ttyS0");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(identities_found),
		cmocka_unit_test(identities_refused),
		cmocka_unit_test(the_list_of_this_machine),
		cmocka_unit_test(bytes_pass_unchanged_both_ways),
		cmocka_unit_test(settings_are_made),
		cmocka_unit_test(one_owner_at_a_time),
		cmocka_unit_test(whoever_holds_it_is_named),
		cmocka_unit_test(a_hang_up_is_noticed),
		cmocka_unit_test(links_are_followed_anew),
		cmocka_unit_test(what_is_no_port),
		cmocka_unit_test(no_permission_is_said),
		cmocka_unit_test(what_is_here_is_listed),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
