/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Loop and configuration; see bus_loop.h.
 */
#include "tests/bus_loop.h"

#include <math.h>
#include <poll.h>
#include <stdlib.h>
#include <time.h>

#include "conf/memory.h"

static double clock_now(clockid_t clock)
{
	struct timespec t;

	clock_gettime(clock, &t);
	return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

double loop_now(void)
{
	return clock_now(CLOCK_MONOTONIC);
}

static void wait_for(int fd, double seconds)
{
	struct pollfd p = { .fd = fd, .events = POLLIN };
	double whole = floor(fmax(seconds, 0));
	const struct timespec timeout = {
		.tv_sec = (time_t)whole,
		.tv_nsec = (long)((fmax(seconds, 0) - whole) * 1e9),
	};

	ppoll(&p, fd < 0 ? 0 : 1, &timeout, NULL);
}

bool loop_run(struct bus_live *bus, const bool *done, double until)
{
	while (!*done) {
		double due = bus_step(bus, loop_now(), clock_now(CLOCK_REALTIME));

		if (*done)
			break;
		if (loop_now() > until)
			return false;
		wait_for(bus_fd(bus), fmin(due, until + 0.001) - loop_now());
	}
	return true;
}

struct conf loop_conf(const char *port, int baud, double every, size_t count)
{
	struct conf conf = { .bus_count = 1, .probe_count = count };

	conf.buses = must_calloc(1, sizeof *conf.buses);
	conf.buses[0] = (struct bus){
		.port = must_copy(port), .speaks = SPEAKS_MODBUS, .baud = baud, .stop_bits = 1,
		.every = every,
	};
	conf.probes = must_calloc(count, sizeof *conf.probes);
	for (size_t i = 0; i < count; i++)
		conf.probes[i] = (struct probe){
			.address = (int)i + 1,
			.registers = { { true, 4, 1, 10 }, { true, 4, 2, 10 } },
		};
	return conf;
}

void loop_conf_free(struct conf *conf)
{
	free(conf->buses[0].port);
	free(conf->buses);
	free(conf->probes);
}
