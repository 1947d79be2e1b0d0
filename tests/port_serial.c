/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Ports with modem lines, which no test has: libserialport is played here, on a
 * pseudo-terminal, and the two things such a one cannot do are answered for it.
 * What is looked at is what the port file asks for, what it leaves behind on
 * the terminal, and what it says when a step fails.
 */
#include "tests/cm.h"

#include <errno.h>
#include <fcntl.h>
#include <libserialport.h>
#include <linux/serial.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/syscall.h>
#include <termios.h>
#include <unistd.h>

#include "daemon/port.h"

enum { PLAYED_PORTS = 3, NAME = 64 };

/* ---- libserialport, played ---------------------------------------------------- */

struct sp_port {
	char name[NAME];
	bool usb;
	int vid, pid;
	char *serial, *product;
	int fd;
};

struct sp_port_config {
	int baud, bits, stop_bits;
	enum sp_parity parity;
	enum sp_cts cts;
	enum sp_dsr dsr;
	enum sp_xonxoff xon_xoff;
};

/* What happens next, and what was asked for. */
static struct {
	bool no_list, unknown;
	int open_error, config_error; /* errno, or 0 */
	struct sp_port ports[PLAYED_PORTS];
	struct sp_port *list[PLAYED_PORTS + 1];
	struct sp_port_config config;
	int open_ports, configs;
	bool low_latency, exclusive;
} played;

enum sp_return sp_list_ports(struct sp_port ***list)
{
	*list = played.list;
	return played.no_list ? SP_ERR_FAIL : SP_OK;
}

void sp_free_port_list(struct sp_port **list)
{
	assert_ptr_equal(list, played.list);
}

enum sp_return sp_get_port_by_name(const char *name, struct sp_port **port)
{
	if (played.unknown)
		return SP_ERR_ARG;
	*port = &played.ports[0];
	assert_string_equal(name, played.ports[0].name);
	played.open_ports++;
	return SP_OK;
}

void sp_free_port(struct sp_port *port)
{
	assert_ptr_equal(port, &played.ports[0]);
	played.open_ports--;
}

char *sp_get_port_name(const struct sp_port *port)
{
	return (char *)port->name;
}

enum sp_transport sp_get_port_transport(const struct sp_port *port)
{
	return port->usb ? SP_TRANSPORT_USB : SP_TRANSPORT_NATIVE;
}

enum sp_return sp_get_port_usb_vid_pid(const struct sp_port *port, int *vid, int *pid)
{
	*vid = port->vid;
	*pid = port->pid;
	return SP_OK;
}

char *sp_get_port_usb_serial(const struct sp_port *port)
{
	return port->serial;
}

char *sp_get_port_usb_product(const struct sp_port *port)
{
	return port->product;
}

enum sp_return sp_open(struct sp_port *port, enum sp_mode mode)
{
	assert_int_equal(mode, SP_MODE_READ_WRITE);
	if (played.open_error) {
		errno = played.open_error;
		return SP_ERR_FAIL;
	}
	/* As 0.1.1 does it: neither closed on exec nor locked. */
	port->fd = open(port->name, O_RDWR | O_NOCTTY | O_NONBLOCK);
	assert_true(port->fd >= 0);
	return SP_OK;
}

enum sp_return sp_get_port_handle(const struct sp_port *port, void *handle)
{
	memcpy(handle, &port->fd, sizeof port->fd);
	return SP_OK;
}

enum sp_return sp_close(struct sp_port *port)
{
	if (port->fd >= 0)
		close(port->fd);
	port->fd = -1;
	return SP_OK;
}

enum sp_return sp_new_config(struct sp_port_config **config)
{
	*config = &played.config;
	played.configs++;
	return SP_OK;
}

void sp_free_config(struct sp_port_config *config)
{
	assert_ptr_equal(config, &played.config);
	played.configs--;
}

#define SETTER(name, type, member)                                              \
	enum sp_return sp_set_config_##name(struct sp_port_config *config, type value) \
	{                                                                       \
		config->member = value;                                         \
		return SP_OK;                                                   \
	}
SETTER(baudrate, int, baud)
SETTER(bits, int, bits)
SETTER(parity, enum sp_parity, parity)
SETTER(stopbits, int, stop_bits)
SETTER(cts, enum sp_cts, cts)
SETTER(dsr, enum sp_dsr, dsr)
SETTER(xon_xoff, enum sp_xonxoff, xon_xoff)

/* The rest a terminal can hold; nobody else's settings are asked for. */
enum sp_return sp_set_config(struct sp_port *port, const struct sp_port_config *config)
{
	struct termios t;

	assert_ptr_equal(config, &played.config);
	if (played.config_error) {
		errno = played.config_error;
		return SP_ERR_FAIL;
	}
	assert_int_equal(tcgetattr(port->fd, &t), 0);
	cfsetspeed(&t, config->baud == 19200 ? B19200 : B9600);
	return tcsetattr(port->fd, TCSANOW, &t) == 0 ? SP_OK : SP_ERR_FAIL;
}

/* What a pseudo-terminal refuses. */
int ioctl(int fd, unsigned long request, ...)
{
	va_list arguments;

	va_start(arguments, request);
	void *argument = va_arg(arguments, void *);

	va_end(arguments);
	switch (request) {
	case TIOCMGET:
		*(int *)argument = TIOCM_DTR | TIOCM_RTS;
		return 0;
	case TIOCGSERIAL:
		*(struct serial_struct *)argument = (struct serial_struct){
			.flags = played.low_latency ? (int)ASYNC_LOW_LATENCY : 0,
		};
		return 0;
	case TIOCSSERIAL:
		played.low_latency =
			((struct serial_struct *)argument)->flags & (int)ASYNC_LOW_LATENCY;
		return 0;
	case TIOCEXCL:
		played.exclusive = true;
		return 0;
	}
	return (int)syscall(SYS_ioctl, fd, request, argument);
}

/* ---- the stage ----------------------------------------------------------------- */

static int far;

static int set_up(void **state)
{
	(void)state;
	memset(&played, 0, sizeof played);
	far = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
	if (far < 0 || grantpt(far) < 0 || unlockpt(far) < 0 ||
	    ptsname_r(far, played.ports[0].name, NAME) != 0)
		return -1;
	played.ports[0].fd = -1;
	played.ports[0].usb = true;
	played.ports[0].vid = 0x1209;
	played.ports[0].pid = 1;
	played.list[0] = &played.ports[0];
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	return close(far);
}

static int next_descriptor(void)
{
	int fd = dup(STDIN_FILENO);

	close(fd);
	return fd;
}

static struct port *try_open(struct bus bus, char why[PORT_WHY])
{
	*why = '\0';
	bus.port = played.ports[0].name;
	bus.baud = bus.baud ? bus.baud : 9600;
	bus.stop_bits = bus.stop_bits ? bus.stop_bits : 1;
	return port_open(&bus, why);
}

static void assert_refused(const char *says)
{
	char why[PORT_WHY];
	int before = next_descriptor();

	assert_null(try_open((struct bus){ .baud = 9600 }, why));
	if (!strstr(why, says))
		fail_msg("\"%s\" does not say \"%s\"", why, says);
	assert_int_equal(before, next_descriptor()); /* nothing is left open */
	assert_int_equal(played.open_ports, 0);
	assert_int_equal(played.configs, 0);
}

/* ---- tests ----------------------------------------------------------------------- */

static void it_is_set_as_the_bus_says(void **state)
{
	(void)state;
	char why[PORT_WHY];
	struct termios t;
	struct port *port = try_open((struct bus){ .baud = 19200, .parity = PARITY_EVEN,
						   .stop_bits = 2 }, why);

	if (!port)
		fail_msg("%s", why);
	assert_int_equal(played.config.baud, 19200);
	assert_int_equal(played.config.bits, 8);
	assert_int_equal(played.config.parity, SP_PARITY_EVEN);
	assert_int_equal(played.config.stop_bits, 2);
	assert_int_equal(played.config.cts, SP_CTS_IGNORE);
	assert_int_equal(played.config.dsr, SP_DSR_IGNORE);
	assert_int_equal(played.config.xon_xoff, SP_XONXOFF_DISABLED);
	assert_int_equal(tcgetattr(port_fd(port), &t), 0);
	assert_int_equal(cfgetospeed(&t), B19200); /* what libserialport set stays */
	assert_true(t.c_iflag & INPCK); /* a byte with wrong parity is no byte; PARENB itself a
					 * pseudo-terminal does not keep */
	assert_true(t.c_cflag & CSTOPB && t.c_cflag & CLOCAL);
	assert_false(t.c_cflag & (HUPCL | CRTSCTS)); /* closing must not reset a board */
	assert_false(t.c_lflag & (ICANON | ECHO));
	assert_int_equal(t.c_cc[VMIN], 1);
	port_close(port);
	assert_int_equal(played.open_ports, 0);
	assert_int_equal(played.configs, 0);
}

static void every_parity_is_named(void **state)
{
	(void)state;
	const struct {
		enum parity ours;
		enum sp_parity theirs;
		tcflag_t checked;
	} pairs[] = {
		{ PARITY_NONE, SP_PARITY_NONE, 0 },
		{ PARITY_EVEN, SP_PARITY_EVEN, INPCK },
		{ PARITY_ODD, SP_PARITY_ODD, INPCK },
	};
	char why[PORT_WHY];
	struct termios t;

	for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
		struct port *port = try_open((struct bus){ .parity = pairs[i].ours }, why);

		assert_non_null(port);
		assert_int_equal(played.config.parity, pairs[i].theirs);
		assert_int_equal(tcgetattr(port_fd(port), &t), 0);
		assert_int_equal(t.c_iflag & INPCK, pairs[i].checked);
		port_close(port);
	}
}

static void it_is_nobody_elses(void **state)
{
	(void)state;
	char why[PORT_WHY];
	struct port *port = try_open((struct bus){ .baud = 9600 }, why);
	int other = open(played.ports[0].name, O_RDWR | O_NOCTTY | O_CLOEXEC);

	assert_non_null(port);
	assert_true(other >= 0);
	assert_int_equal(flock(other, LOCK_EX | LOCK_NB), -1);
	assert_int_equal(errno, EWOULDBLOCK);
	assert_true(played.exclusive);
	assert_true(fcntl(port_fd(port), F_GETFD) & FD_CLOEXEC);
	assert_true(fcntl(port_fd(port), F_GETFL) & O_NONBLOCK);
	port_close(port);
	assert_int_equal(flock(other, LOCK_EX | LOCK_NB), 0);
	close(other);
}

static void an_adapter_is_asked_not_to_dawdle(void **state)
{
	(void)state;
	char why[PORT_WHY];

	for (int i = 0; i < 2; i++) {
		struct port *port = try_open((struct bus){ .baud = 9600 }, why);

		assert_non_null(port);
		assert_true(played.low_latency);
		port_close(port);
	}
}

static void what_fails_is_said_and_undone(void **state)
{
	(void)state;
	played.unknown = true;
	assert_refused("there is no such port; is its adapter plugged in?");
	played.unknown = false;
	played.open_error = EACCES;
	assert_refused("the system does not let this program open it");
	played.open_error = EPERM; /* a device policy of the service manager */
	assert_refused("does DeviceAllow= of its service name this kind of port?");
	played.open_error = EIO;
	assert_refused("nothing is connected behind this name");
	played.open_error = ENXIO;
	assert_refused("there is no such port");
	played.open_error = ENFILE;
	assert_refused(strerror(ENFILE));
	played.open_error = 0;
	played.config_error = EINVAL;
	assert_refused("it does not take these settings (baud, parity, stop bits)");
}

static void adapters_are_listed(void **state)
{
	(void)state;
	struct port_list ports;

	played.ports[0].serial = (char[]){ "L0" };
	played.ports[0].product = (char[]){ "Lamp adapter" };
	played.ports[1] = (struct sp_port){ .name = "/dev/ttyS0" };
	played.ports[2] = (struct sp_port){ .name = "/dev/ttyUSB7", .usb = true, .vid = 0x1a86,
					    .pid = 0x7523 };
	played.list[1] = &played.ports[1];
	played.list[2] = &played.ports[2];
	ports = port_list();
	assert_int_equal(ports.count, 3);
	assert_true(ports.list[0].is_usb);
	assert_int_equal(ports.list[0].vid, 0x1209);
	assert_int_equal(ports.list[0].pid, 1);
	assert_string_equal(ports.list[0].serial, "L0");
	assert_string_equal(ports.list[0].product, "Lamp adapter");
	assert_false(ports.list[1].is_usb);
	assert_string_equal(ports.list[1].name, "/dev/ttyS0");
	assert_true(ports.list[2].is_usb);
	assert_null(ports.list[2].serial);
	assert_null(ports.list[2].product);
	port_list_free(&ports);
	played.no_list = true;
	ports = port_list();
	assert_int_equal(ports.count, 0);
	port_list_free(&ports);
}

/* After a replug the adapter may have another name. */
static void an_identity_is_looked_for_anew(void **state)
{
	(void)state;
	const struct bus bus = { .port = (char[]){ "usb:1209:0001" }, .baud = 9600, .stop_bits = 1 };
	char why[PORT_WHY], gone[NAME];
	struct port *port = port_open(&bus, why);
	int old_far = far;

	assert_non_null(port);
	assert_string_equal(port_device(port), played.ports[0].name);
	port_close(port);
	snprintf(gone, sizeof gone, "%s", played.ports[0].name);
	played.list[0] = NULL;
	assert_null(port_open(&bus, why));
	assert_non_null(strstr(why, "usb:1209:0001: no port with this USB identity is here"));
	assert_int_equal(set_up(NULL), 0); /* plugged in again, under another name */
	assert_string_not_equal(gone, played.ports[0].name);
	port = port_open(&bus, why);
	assert_non_null(port);
	assert_string_equal(port_device(port), played.ports[0].name);
	port_close(port);
	close(old_far);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(it_is_set_as_the_bus_says, set_up, tear_down),
		cmocka_unit_test_setup_teardown(every_parity_is_named, set_up, tear_down),
		cmocka_unit_test_setup_teardown(it_is_nobody_elses, set_up, tear_down),
		cmocka_unit_test_setup_teardown(an_adapter_is_asked_not_to_dawdle, set_up, tear_down),
		cmocka_unit_test_setup_teardown(what_fails_is_said_and_undone, set_up, tear_down),
		cmocka_unit_test_setup_teardown(adapters_are_listed, set_up, tear_down),
		cmocka_unit_test_setup_teardown(an_identity_is_looked_for_anew, set_up, tear_down),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
