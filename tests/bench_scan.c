/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How long one round over 32 Modbus probes at 9600 baud takes, against the time
 * the wire itself needs for it: bytes x bits / baud, and 3.5 characters of
 * silence in front of each request.  The far end answers at wire speed: an
 * answer is there when request and answer have had their time on the wire.
 */
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "daemon/modbus.h"
#include "tests/bus_loop.h"

enum { PROBES = 32, BAUD = 9600, BITS = 10, ANSWER = 9, ROUNDS = 5 };

static const double allowed = 1.2;

struct scan {
	size_t read, round, failed;
	double begun, times[ROUNDS];
	bool done;
};

static void on_asked(void *context, size_t probe)
{
	struct scan *s = context;

	if (probe == 0)
		s->begun = loop_now();
}

static void on_reading(void *context, const struct reading *r)
{
	struct scan *s = context;

	s->read++;
	if (r->probe != PROBES - 1)
		return;
	s->times[s->round++] = loop_now() - s->begun;
	s->done = s->round == ROUNDS;
}

static void on_failed(void *context, size_t probe, enum cause cause)
{
	struct scan *s = context;

	fprintf(stderr, "bench_scan: probe %zu: %s\n", probe, cause_word(cause));
	s->failed++;
}

static void on_port(void *context, bool open, const char *why)
{
	(void)context;
	if (!open)
		fprintf(stderr, "bench_scan: %s\n", why);
}

static void wait_until(double mono)
{
	const struct timespec t = {
		.tv_sec = (time_t)mono, .tv_nsec = (long)((mono - floor(mono)) * 1e9),
	};

	while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &t, NULL) == EINTR)
		;
}

/* The far end, in a process of its own, until it is killed or the line goes. */
static void answer_for_ever(int far)
{
	uint8_t request[MODBUS_REQUEST], reply[ANSWER] = { 0, 4, 4, 0, 251, 1, 244 };
	size_t used = 0;
	ssize_t got;
	uint16_t crc;

	while ((got = read(far, request + used, sizeof request - used)) > 0) {
		double begun = loop_now();

		used += (size_t)got;
		if (used < sizeof request)
			continue;
		used = 0;
		reply[0] = request[0];
		crc = modbus_crc(reply, ANSWER - 2);
		reply[ANSWER - 2] = (uint8_t)crc;
		reply[ANSWER - 1] = (uint8_t)(crc >> 8);
		wait_until(begun + (double)(MODBUS_REQUEST + ANSWER) * BITS / BAUD);
		if (write(far, reply, sizeof reply) != sizeof reply)
			break;
	}
	_exit(0);
}

static int open_far(char *name, size_t size)
{
	int far = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
	struct termios t;

	if (far < 0 || grantpt(far) < 0 || unlockpt(far) < 0 || ptsname_r(far, name, size) != 0 ||
	    tcgetattr(far, &t) < 0) {
		perror("bench_scan: pseudo-terminal");
		exit(1);
	}
	cfmakeraw(&t);
	tcsetattr(far, TCSANOW, &t);
	return far;
}

static bool scan(struct scan *s, const char *name)
{
	struct conf conf = loop_conf(name, BAUD, 1, PROBES);
	const struct bus_sink sink = { .context = s, .asked = on_asked, .reading = on_reading,
				       .failed = on_failed, .port_state = on_port };
	struct bus_live *bus = bus_new(&conf, 0, &sink);
	bool done;

	bus_step(bus, loop_now(), 0); /* opens the port before anybody reads its far end */
	done = loop_run(bus, &s->done, loop_now() + 60);
	bus_free(bus);
	loop_conf_free(&conf);
	return done;
}

int main(void)
{
	struct scan s = { 0 };
	char name[64];
	int far = open_far(name, sizeof name);
	double wire = PROBES * ((MODBUS_REQUEST + ANSWER) * (double)BITS / BAUD + 3.5 * BITS / BAUD);
	double sum = 0, worst = 0;
	int keep = open(name, O_RDWR | O_NOCTTY | O_CLOEXEC); /* so that the far end sees no hang-up yet */
	pid_t child = fork();
	bool done;

	if (child == 0)
		answer_for_ever(far);
	done = scan(&s, name);
	close(keep);
	kill(child, SIGTERM);
	waitpid(child, NULL, 0);
	for (size_t i = 0; i < s.round; i++) {
		sum += s.times[i];
		worst = fmax(worst, s.times[i]);
	}
	if (!done || s.failed) {
		fprintf(stderr, "bench_scan: the rounds did not end as they should\n");
		return 1;
	}
	printf("%d probes at %d baud: the wire needs %.1f ms; a round took %.1f ms on average, "
	       "%.1f ms at worst of %d: ratio %.3f, worst %.3f (allowed %.1f)\n",
	       PROBES, BAUD, 1000 * wire, 1000 * sum / ROUNDS, 1000 * worst, ROUNDS,
	       sum / ROUNDS / wire, worst / wire, allowed);
	return sum / ROUNDS <= allowed * wire ? 0 : 1;
}
