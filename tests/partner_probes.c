/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A line of Modbus probes at several bauds, independent of our own code:
 * libmodbus judges the requests and makes the answers.  A probe hears only
 * what is sent at its own baud, which the pseudo-terminal tells, and nothing
 * of the others.
 *
 *     partner_probes LINK LOG ADDRESS@BAUD:FUNCTION:FIRST:VALUE[,VALUE][:MANNER]...
 *
 * LINK becomes a link to the port; each request is written to LOG as "BAUD
 * HEX".  MANNER: late (its first answer comes after 0.3 s), garbled (a byte of every
 * answer is turned).  Ends on SIGTERM.
 */
#include <errno.h>
#include <fcntl.h>
#include <modbus.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

enum { REQUEST = 8, PROBES = 32, FRAME = 64, LATE_MS = 300, NOBODY_MS = 20, PATH = 100 };

struct probe {
	int address, baud;
	int late, garbled;
	modbus_mapping_t *registers;
};

struct owed {
	uint8_t bytes[FRAME];
	size_t length;          /* 0: none */
	long long due;          /* ms */
};

/* libmodbus answers to whom it reads from: one end of a socket pair. */
struct line {
	int port, feed;
	FILE *log;
	modbus_t *modbus;
	struct probe probes[PROBES];
	size_t count;
	struct owed owed;
};

static volatile sig_atomic_t stop;

static void on_signal(int number)
{
	(void)number;
	stop = 1;
}

static void die(const char *what)
{
	fprintf(stderr, "partner_probes: %s: %s\n", what, strerror(errno));
	exit(1);
}

static long long now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return t.tv_sec * 1000LL + t.tv_nsec / 1000000;
}

static bool take_probe(struct line *line, const char *text)
{
	struct probe *p = &line->probes[line->count];
	int function, first, values[2], count, used = 0;
	bool holding;

	if (line->count == PROBES ||
	    sscanf(text, "%d@%d:%d:%d:%d%n,%d%n", &p->address, &p->baud, &function, &first,
		   &values[0], &used, &values[1], &used) < 5)
		return false;
	count = strchr(text, ',') ? 2 : 1;
	holding = function == 3;
	p->late = strcmp(text + used, ":late") == 0;
	p->garbled = strcmp(text + used, ":garbled") == 0;
	p->registers = modbus_mapping_new_start_address(
		0, 0, 0, 0, (unsigned)first, holding ? (unsigned)count : 0, (unsigned)first,
		holding ? 0 : (unsigned)count);
	if (!p->registers)
		die("modbus_mapping_new_start_address");
	for (int i = 0; i < count; i++)
		(holding ? p->registers->tab_registers : p->registers->tab_input_registers)[i] =
			(uint16_t)values[i];
	line->count++;
	return text[used] == '\0' || p->late || p->garbled;
}

static void open_port(struct line *line, const char *link)
{
	char name[PATH];
	struct termios t;
	int slave;

	line->port = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
	if (line->port < 0 || grantpt(line->port) < 0 || unlockpt(line->port) < 0 ||
	    ptsname_r(line->port, name, sizeof name) != 0)
		die("pseudo-terminal");
	slave = open(name, O_RDWR | O_NOCTTY);
	if (slave < 0 || tcgetattr(slave, &t) < 0)
		die(name);
	cfmakeraw(&t);
	if (tcsetattr(slave, TCSANOW, &t) < 0)
		die(name);
	close(slave); /* it is for others to hold */
	unlink(link);
	if (symlink(name, link) < 0)
		die(link);
}

static void open_modbus(struct line *line)
{
	int pair[2];

	if (socketpair(AF_UNIX, SOCK_STREAM, 0, pair) < 0)
		die("socketpair");
	line->feed = pair[1];
	line->modbus = modbus_new_rtu("/dev/null", 9600, 'N', 8, 1);
	if (!line->modbus || modbus_set_socket(line->modbus, pair[0]) < 0)
		die("libmodbus");
}

/* What the other end has set. */
static int baud_of(int port)
{
	static const struct {
		speed_t speed;
		int baud;
	} known[] = {
		{ B1200, 1200 },   { B2400, 2400 },   { B4800, 4800 },	 { B9600, 9600 },
		{ B19200, 19200 }, { B38400, 38400 }, { B57600, 57600 }, { B115200, 115200 },
	};
	struct termios t;

	if (tcgetattr(port, &t) < 0)
		die("tcgetattr");
	for (size_t i = 0; i < sizeof known / sizeof *known; i++)
		if (known[i].speed == cfgetospeed(&t))
			return known[i].baud;
	return 0;
}

/* The answer as libmodbus makes it; 0 when it does not take the request. */
static size_t answer_of(struct line *line, const struct probe *p, const uint8_t *bytes,
			uint8_t frame[FRAME])
{
	uint8_t request[MODBUS_RTU_MAX_ADU_LENGTH];
	int length;
	ssize_t got;

	modbus_set_slave(line->modbus, p->address);
	if (write(line->feed, bytes, REQUEST) != REQUEST)
		die("feed");
	length = modbus_receive(line->modbus, request);
	if (length != REQUEST) {
		fprintf(stderr, "partner_probes: bad request: %s\n", modbus_strerror(errno));
		exit(1);
	}
	if (modbus_reply(line->modbus, request, length, p->registers) < 0)
		die("modbus_reply");
	got = read(line->feed, frame, FRAME);
	if (got <= 0)
		die("answer");
	return (size_t)got;
}

static void send_bytes(const struct line *line, const uint8_t *bytes, size_t length)
{
	/* Nobody may be there any more: then it is lost, as on a wire. */
	ssize_t sent = write(line->port, bytes, length);

	(void)sent;
}

static void answer(struct line *line, const uint8_t *request)
{
	int baud = baud_of(line->port);

	fprintf(line->log, "%d ", baud);
	for (int i = 0; i < REQUEST; i++)
		fprintf(line->log, "%02x", request[i]);
	fputc('\n', line->log);
	fflush(line->log);
	for (size_t i = 0; i < line->count; i++) {
		struct probe *p = &line->probes[i];
		struct owed now = { .length = 0 };

		if (p->address != request[0] || p->baud != baud)
			continue;
		now.length = answer_of(line, p, request, now.bytes);
		now.due = now_ms() + LATE_MS;
		now.bytes[now.length / 2] ^= (uint8_t)(p->garbled ? 0x24 : 0);
		if (p->late)
			line->owed = now;
		else
			send_bytes(line, now.bytes, now.length);
		p->late = 0;
	}
}

static void serve(struct line *line)
{
	uint8_t request[REQUEST];
	size_t used = 0;

	while (!stop) {
		struct pollfd on = { .fd = line->port, .events = POLLIN };
		ssize_t got;

		if (line->owed.length && now_ms() >= line->owed.due) {
			send_bytes(line, line->owed.bytes, line->owed.length);
			line->owed.length = 0;
		}
		if (poll(&on, 1, NOBODY_MS) > 0 && !(on.revents & POLLIN))
			poll(NULL, 0, NOBODY_MS); /* hung up: it is not open yet, or no more */
		got = read(line->port, request + used, REQUEST - used);
		used = got > 0 ? used + (size_t)got : on.revents & POLLHUP ? 0 : used;
		if (used == REQUEST) {
			answer(line, request);
			used = 0;
		}
	}
}

int main(int argc, char **argv)
{
	static struct line line;
	const struct sigaction action = { .sa_handler = on_signal };

	for (int i = 3; i < argc; i++)
		if (!take_probe(&line, argv[i])) {
			fprintf(stderr, "partner_probes: no probe: %s\n", argv[i]);
			return 2;
		}
	if (argc < 3) {
		fputs("usage: partner_probes LINK LOG PROBE...\n", stderr);
		return 2;
	}
	sigaction(SIGTERM, &action, NULL);
	line.log = fopen(argv[2], "w");
	if (!line.log)
		die(argv[2]);
	open_modbus(&line);
	open_port(&line, argv[1]);
	serve(&line);
	unlink(argv[1]);
	for (size_t i = 0; i < line.count; i++)
		modbus_mapping_free(line.probes[i].registers);
	modbus_close(line.modbus);
	modbus_free(line.modbus);
	close(line.feed);
	close(line.port);
	return fclose(line.log) ? 1 : 0;
}
