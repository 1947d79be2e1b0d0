/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Opening, reading, writing and closing; see port.h.
 */
#include "daemon/port.h"

#include <errno.h>
#include <fcntl.h>
#include <libserialport.h>
#include <linux/serial.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#include "conf/memory.h"

struct port {
	int fd;
	struct sp_port *serial; /* NULL for a pseudo-terminal */
	char *device;
};

static const struct {
	int baud;
	speed_t speed;
} speeds[] = {
	{ 1200, B1200 },   { 1800, B1800 },   { 2400, B2400 },	 { 4800, B4800 },
	{ 9600, B9600 },   { 19200, B19200 }, { 38400, B38400 }, { 57600, B57600 },
	{ 115200, B115200 },
};

/* ---- why not ---- */

static void say(char why[PORT_WHY], const char *what, const char *port)
{
	snprintf(why, PORT_WHY, "%.100s: %s", port, what);
}

static void say_errno(char why[PORT_WHY], const char *port, int error)
{
	switch (error) {
	case ENOENT:
	case ENOTDIR:
	case ENODEV:
	case ENXIO:
		say(why, "there is no such port; is its adapter plugged in?", port);
		break;
	case EACCES:
		say(why, "no permission to open it; on most systems its users must be in "
			 "the group dialout", port);
		break;
	case EPERM:
		say(why, "the system does not let this program open it; does DeviceAllow= of "
			 "its service name this kind of port?", port);
		break;
	case EBUSY:
	case EWOULDBLOCK:
		say(why, "it is held by another program, or by another bus of this one", port);
		break;
	case EINVAL:
		say(why, "it does not take these settings (baud, parity, stop bits)", port);
		break;
	default:
		say(why, strerror(error), port);
	}
}

/* ---- settings ---- */

static bool speed_of(int baud, speed_t *speed)
{
	for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i++)
		if (speeds[i].baud == baud) {
			*speed = speeds[i].speed;
			return true;
		}
	return false;
}

/* What both kinds of port need and libserialport has no word for, or sets
 * otherwise. */
static void set_common(struct termios *t, const struct bus *bus)
{
	cfmakeraw(t);
	t->c_iflag &= ~(tcflag_t)(IXOFF | IXANY | INPCK | IGNPAR);
	if (bus->parity != PARITY_NONE)
		t->c_iflag |= INPCK; /* a character with wrong parity is read as NUL */
	t->c_cflag |= CLOCAL | CREAD;
	t->c_cflag &= ~(tcflag_t)(HUPCL | CRTSCTS | CSIZE | PARENB | PARODD | CSTOPB);
	t->c_cflag |= CS8;
	if (bus->parity != PARITY_NONE)
		t->c_cflag |= PARENB;
	if (bus->parity == PARITY_ODD)
		t->c_cflag |= PARODD;
	if (bus->stop_bits == 2)
		t->c_cflag |= CSTOPB;
	/* So that read() gives EAGAIN for "nothing yet" and 0 only for "gone";
	 * with VMIN 0 it gives 0 for both. */
	t->c_cc[VMIN] = 1;
	t->c_cc[VTIME] = 0;
}

static int set_termios(int fd, const struct bus *bus)
{
	struct termios t;
	speed_t speed;

	if (!speed_of(bus->baud, &speed)) {
		errno = EINVAL;
		return -1;
	}
	if (tcgetattr(fd, &t) < 0)
		return -1;
	set_common(&t, bus);
	cfsetispeed(&t, speed);
	cfsetospeed(&t, speed);
	return tcsetattr(fd, TCSANOW, &t);
}

/* USB adapters hold bytes back for up to 16 ms unless told not to; those that
 * cannot be told work all the same, only slower. */
static void ask_for_low_latency(int fd)
{
	struct serial_struct s;

	if (ioctl(fd, TIOCGSERIAL, &s) < 0 || s.flags & (int)ASYNC_LOW_LATENCY)
		return;
	s.flags |= (int)ASYNC_LOW_LATENCY;
	ioctl(fd, TIOCSSERIAL, &s);
}

static enum sp_return configure(struct sp_port *serial, const struct bus *bus)
{
	static const enum sp_parity parities[] = {
		[PARITY_NONE] = SP_PARITY_NONE, [PARITY_EVEN] = SP_PARITY_EVEN,
		[PARITY_ODD] = SP_PARITY_ODD,
	};
	struct sp_port_config *config;
	enum sp_return result = sp_new_config(&config);

	if (result != SP_OK)
		return result;
	/* DTR and RTS are not named here, and so are left as they are. */
	sp_set_config_baudrate(config, bus->baud);
	sp_set_config_bits(config, 8);
	sp_set_config_parity(config, parities[bus->parity]);
	sp_set_config_stopbits(config, bus->stop_bits);
	sp_set_config_cts(config, SP_CTS_IGNORE);
	sp_set_config_dsr(config, SP_DSR_IGNORE);
	sp_set_config_xon_xoff(config, SP_XONXOFF_DISABLED);
	result = sp_set_config(serial, config);
	sp_free_config(config);
	return result;
}

/* ---- opening ---- */

/* Opens without touching any setting, so that another program's port is not
 * disturbed by finding out that it is another program's. */
static int open_untouched(const char *device)
{
	struct stat st;
	int fd;

	if (stat(device, &st) < 0)
		return -1;
	if (!S_ISCHR(st.st_mode)) {
		errno = ENOTTY;
		return -1;
	}
	fd = open(device, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
	if (fd < 0)
		return -1;
	if (!isatty(fd) || flock(fd, LOCK_EX | LOCK_NB) < 0) {
		int error = errno;

		close(fd);
		errno = error;
		return -1;
	}
	return fd;
}

/* libserialport 0.1.1 neither closes on exec nor locks; 0.1.2 does, and would
 * find our own lock in its way. */
static bool open_serial(struct port *port, int untouched, const struct bus *bus)
{
	struct termios t;

	flock(untouched, LOCK_UN);
	if (sp_get_port_by_name(port->device, &port->serial) != SP_OK) {
		errno = ENODEV;
		return false;
	}
	if (sp_open(port->serial, SP_MODE_READ_WRITE) != SP_OK ||
	    sp_get_port_handle(port->serial, &port->fd) != SP_OK)
		return false;
	if (fcntl(port->fd, F_SETFD, FD_CLOEXEC) < 0 || flock(port->fd, LOCK_EX | LOCK_NB) < 0 ||
	    configure(port->serial, bus) != SP_OK || tcgetattr(port->fd, &t) < 0)
		return false;
	set_common(&t, bus);
	if (tcsetattr(port->fd, TCSANOW, &t) < 0)
		return false;
	ioctl(port->fd, TIOCEXCL);
	ask_for_low_latency(port->fd);
	return true;
}

/* A link may point elsewhere after a replug, so this is done at each opening. */
char *port_find(const char *name, char why[PORT_WHY])
{
	char *device = NULL;

	if (strncmp(name, "usb:", 4) == 0) {
		struct port_list ports = port_list();
		const struct port_found *found = port_resolve(&ports, name, why);

		if (found)
			device = must_copy(found->name);
		port_list_free(&ports);
		return device;
	}
	device = realpath(name, NULL);
	if (!device)
		say_errno(why, name, errno);
	return device;
}

static bool open_device(struct port *port, const struct bus *bus, char why[PORT_WHY])
{
	int untouched = open_untouched(port->device), lines, error;
	bool good;

	if (untouched < 0) {
		if (errno == ENOTTY || errno == EINVAL)
			say(why, "that is no serial port", bus->port);
		else
			say_errno(why, bus->port, errno);
		return false;
	}
	if (ioctl(untouched, TIOCMGET, &lines) == 0) {
		good = open_serial(port, untouched, bus);
		error = errno;
		close(untouched);
	} else {
		/* No modem lines: a pseudo-terminal.  No TIOCEXCL for it: the mark
		 * would outlive us for as long as its other end is open, and shut
		 * out our own next start. */
		port->fd = untouched;
		good = set_termios(untouched, bus) == 0;
		error = errno;
	}
	if (!good)
		say_errno(why, bus->port, error);
	return good;
}

struct port *port_open(const struct bus *bus, char why[PORT_WHY])
{
	char *device = port_find(bus->port, why);
	struct port *port;

	if (!device)
		return NULL;
	port = must_calloc(1, sizeof *port);
	port->fd = -1;
	port->device = device;
	if (!open_device(port, bus, why)) {
		port_close(port);
		return NULL;
	}
	tcflush(port->fd, TCIFLUSH); /* said before we listened */
	return port;
}

void port_close(struct port *port)
{
	if (!port)
		return;
	if (port->serial) {
		sp_close(port->serial);
		sp_free_port(port->serial);
	} else if (port->fd >= 0) {
		close(port->fd);
	}
	free(port->device);
	free(port);
}

int port_fd(const struct port *port)
{
	return port ? port->fd : -1;
}

const char *port_device(const struct port *port)
{
	return port->device;
}

/* ---- listing ---- */

static struct port_found describe(const struct sp_port *serial)
{
	struct port_found found = { .name = must_copy(sp_get_port_name(serial)) };
	const char *number, *product;

	if (sp_get_port_transport(serial) != SP_TRANSPORT_USB ||
	    sp_get_port_usb_vid_pid(serial, &found.vid, &found.pid) != SP_OK)
		return found;
	found.is_usb = true;
	number = sp_get_port_usb_serial(serial);
	if (number)
		found.serial = must_copy(number);
	product = sp_get_port_usb_product(serial);
	if (product)
		found.product = must_copy(product);
	return found;
}

struct port_list port_list(void)
{
	struct port_list ports = { 0 };
	struct sp_port **all;

	if (sp_list_ports(&all) != SP_OK)
		return ports;
	while (all[ports.count])
		ports.count++;
	ports.list = must_calloc(ports.count, sizeof *ports.list);
	for (size_t i = 0; i < ports.count; i++)
		ports.list[i] = describe(all[i]);
	sp_free_port_list(all);
	return ports;
}

/* ---- bytes ---- */

static enum port_result result_of(ssize_t got, size_t *count)
{
	*count = got > 0 ? (size_t)got : 0;
	if (got > 0)
		return PORT_DONE;
	return got < 0 && (errno == EAGAIN || errno == EINTR) ? PORT_LATER : PORT_GONE;
}

/* Not sp_nonblocking_read: it gives 0 both for "nothing" and for "unplugged". */
enum port_result port_read(struct port *port, uint8_t *bytes, size_t *count)
{
	return result_of(read(port->fd, bytes, *count), count);
}

enum port_result port_write(struct port *port, const uint8_t *bytes, size_t *count)
{
	return result_of(write(port->fd, bytes, *count), count);
}

void port_drop_output(struct port *port)
{
	tcflush(port->fd, TCOFLUSH);
}
