/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The other end of a Modbus line, independent of our own code: libmodbus reads
 * the requests and makes the answers.  Plays the slaves 1..N on one serial
 * port, each with two input registers, and misbehaves by a seed: a bit turned,
 * an answer cut short, late, of a wrong address, an exception.
 *
 *     partner_modbus PORT ADDRESSES SEED ONE_IN
 *
 * ONE_IN: one answer in so many is spoilt; 0 for none.  Ends on SIGTERM and
 * prints what it did.  The registers, which tests/bus_storm.c takes apart
 * again, hold for the n-th request to address a, with c = n % 100:
 * register 1 = 100 a + c - 1600, register 2 = (31 a + 7 c) % 1000.
 */
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
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

enum {
	REQUEST = 8,            /* bytes; all our requests are that long */
	ADDRESSES = 100,        /* most slaves; strangers lie above */
	LATE_MS = 700,          /* beyond the time-out of the other end */
	LATE_QUEUE = 32,
	FRAME = 16,
};

enum mischief { GOOD, TURNED, CUT, LATE, STRANGE, EXCEPTION, MISCHIEFS };

static const char *const words[MISCHIEFS] = {
	[GOOD] = "good",   [TURNED] = "corrupted",	  [CUT] = "cut",
	[LATE] = "late",   [STRANGE] = "wrong_address", [EXCEPTION] = "exception",
};

struct frame {
	uint8_t bytes[FRAME];
	size_t length;
	long long due;          /* ms */
};

/* libmodbus answers only to whom it reads from, so it is given one end of a
 * socket pair, and its answers pass through our hands before they go out. */
struct partner {
	int port, feed;
	modbus_t *modbus;
	modbus_mapping_t *registers;
	int addresses;
	unsigned seed, one_in;
	unsigned requests[ADDRESSES + 1];
	unsigned long did[MISCHIEFS];
	struct frame late[LATE_QUEUE];
	size_t late_count;
};

static volatile sig_atomic_t stop;

static void on_signal(int number)
{
	(void)number;
	stop = 1;
}

static void die(const char *what)
{
	fprintf(stderr, "partner_modbus: %s: %s\n", what, strerror(errno));
	exit(1);
}

static long long now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return t.tv_sec * 1000LL + t.tv_nsec / 1000000;
}

static void open_port(struct partner *p, const char *path)
{
	struct termios t;

	p->port = open(path, O_RDWR | O_NOCTTY | O_NONBLOCK);
	if (p->port < 0 || tcgetattr(p->port, &t) < 0)
		die(path);
	cfmakeraw(&t);
	if (tcsetattr(p->port, TCSANOW, &t) < 0)
		die(path);
}

static void open_modbus(struct partner *p)
{
	int pair[2];

	if (socketpair(AF_UNIX, SOCK_STREAM, 0, pair) < 0)
		die("socketpair");
	p->feed = pair[1];
	p->modbus = modbus_new_rtu("/dev/null", 9600, 'N', 8, 1);
	p->registers = modbus_mapping_new(0, 0, 0, 3);
	if (!p->modbus || !p->registers || modbus_set_socket(p->modbus, pair[0]) < 0)
		die("libmodbus");
}

static void send_bytes(struct partner *p, const uint8_t *bytes, size_t length)
{
	if (length && write(p->port, bytes, length) != (ssize_t)length)
		die("write");
}

static void put_off(struct partner *p, const struct frame *frame)
{
	if (p->late_count == LATE_QUEUE) {
		fprintf(stderr, "partner_modbus: too many late answers\n");
		exit(1);
	}
	p->late[p->late_count] = *frame;
	p->late[p->late_count++].due = now_ms() + LATE_MS;
}

/* All are late by the same time, so the oldest is due first. */
static void send_late(struct partner *p)
{
	while (p->late_count && p->late[0].due <= now_ms()) {
		send_bytes(p, p->late[0].bytes, p->late[0].length);
		memmove(p->late, p->late + 1, --p->late_count * sizeof *p->late);
	}
}

static unsigned draw(struct partner *p, unsigned below)
{
	return (unsigned)rand_r(&p->seed) % below;
}

/* An address that still owes a late answer is not spoilt again: the late one
 * might be taken for the spoilt one, rightly, and the counts would not compare. */
static enum mischief choose(struct partner *p, uint8_t address)
{
	for (size_t i = 0; i < p->late_count; i++)
		if (p->late[i].bytes[0] == address)
			return GOOD;
	if (!p->one_in || draw(p, p->one_in))
		return GOOD;
	return (enum mischief)(1 + draw(p, MISCHIEFS - 1));
}

/* libmodbus judges the request by its CRC and answers it. */
static struct frame answer_of(struct partner *p, const uint8_t *bytes, enum mischief mischief)
{
	uint8_t request[MODBUS_RTU_MAX_ADU_LENGTH];
	struct frame frame = { .length = 0 };
	int address = bytes[0], length;
	unsigned c = p->requests[address]++ % 100;
	ssize_t got;

	p->registers->tab_input_registers[1] = (uint16_t)(100 * address + (int)c - 1600);
	p->registers->tab_input_registers[2] = (uint16_t)((31U * (unsigned)address + 7 * c) % 1000);
	modbus_set_slave(p->modbus, address);
	if (write(p->feed, bytes, REQUEST) != REQUEST)
		die("feed");
	length = modbus_receive(p->modbus, request);
	if (length != REQUEST) {
		fprintf(stderr, "partner_modbus: bad request: %s\n", modbus_strerror(errno));
		exit(1);
	}
	if (mischief == STRANGE) {
		request[0] = (uint8_t)(address + ADDRESSES);
		modbus_set_slave(p->modbus, request[0]);
	}
	if (mischief == EXCEPTION)
		modbus_reply_exception(p->modbus, request, MODBUS_EXCEPTION_SLAVE_OR_SERVER_BUSY);
	else if (modbus_reply(p->modbus, request, length, p->registers) < 0)
		die("modbus_reply");
	got = read(p->feed, frame.bytes, sizeof frame.bytes);
	if (got <= 0)
		die("answer");
	frame.length = (size_t)got;
	return frame;
}

static void answer(struct partner *p, const uint8_t *request)
{
	enum mischief mischief;
	struct frame frame;

	if (request[0] < 1 || request[0] > p->addresses)
		return;
	mischief = choose(p, request[0]);
	frame = answer_of(p, request, mischief);
	p->did[mischief]++;
	if (mischief == TURNED)
		frame.bytes[draw(p, (unsigned)frame.length)] ^= (uint8_t)(1U << draw(p, 8));
	else if (mischief == CUT)
		frame.length = 1 + draw(p, (unsigned)frame.length - 1);
	if (mischief == LATE)
		put_off(p, &frame);
	else
		send_bytes(p, frame.bytes, frame.length);
}

/* Waits for bytes no longer than until a late answer is due; returns false when
 * the line is gone. */
static bool take_bytes(struct partner *p, uint8_t request[REQUEST], size_t *used)
{
	struct pollfd poll_port = { .fd = p->port, .events = POLLIN };
	long long wait = p->late_count ? p->late[0].due - now_ms() : 1000;
	ssize_t got;

	if (poll(&poll_port, 1, wait < 0 ? 0 : (int)wait) <= 0)
		return true;
	got = read(p->port, request + *used, REQUEST - *used);
	if (got > 0)
		*used += (size_t)got;
	return got > 0 || (got < 0 && errno == EAGAIN);
}

static void serve(struct partner *p)
{
	uint8_t request[REQUEST];
	size_t used = 0;

	while (!stop) {
		send_late(p);
		if (!take_bytes(p, request, &used))
			return;
		if (used == REQUEST) {
			answer(p, request);
			used = 0;
		}
	}
}

/* A whole number from..to, and nothing behind it. */
static bool take_number(const char *text, long from, long to, long *number)
{
	char *end;

	errno = 0;
	*number = strtol(text, &end, 10);
	return !errno && end != text && !*end && *number >= from && *number <= to;
}

int main(int argc, char **argv)
{
	static struct partner p;
	const struct sigaction action = { .sa_handler = on_signal };
	long addresses, seed, one_in;

	if (argc != 5 || !take_number(argv[2], 1, ADDRESSES, &addresses) ||
	    !take_number(argv[3], 0, INT_MAX, &seed) ||
	    !take_number(argv[4], 0, INT_MAX, &one_in)) {
		fprintf(stderr, "usage: partner_modbus PORT ADDRESSES SEED ONE_IN\n");
		return 2;
	}
	p.addresses = (int)addresses;
	p.seed = (unsigned)seed;
	p.one_in = (unsigned)one_in;
	sigaction(SIGTERM, &action, NULL);
	open_port(&p, argv[1]);
	open_modbus(&p);
	serve(&p);
	for (int i = 0; i < MISCHIEFS; i++)
		printf("%s %lu\n", words[i], p.did[i]);
	modbus_mapping_free(p.registers);
	modbus_close(p.modbus);
	modbus_free(p.modbus);
	close(p.feed);
	close(p.port);
	return fflush(stdout) ? 1 : 0;
}
