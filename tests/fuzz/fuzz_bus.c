/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A live bus at whose far end anything is said: the port, the rounds, both languages.  Input: a
 * byte chooses the bus; then so many bytes each, and how much later the next come.
 */
#include "tests/fuzz/fuzz.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/bus.h"

enum { PROBES = 3, KINDS = 5, STEPS_MOST = 60, SAID_MOST = 120, PATIENCE_MS = 2000 };

static const double wall = 1e9; /* s: what the wall clock is ahead */

/* Each asking comes to a reading or a failure, and nothing else does but of nobody. */
struct told {
	double mono;
	bool modbus, asked[PROBES], open;
	bool asks;
};

static void on_asked(void *context, size_t probe)
{
	struct told *told = context;

	fuzz_holds(probe < PROBES && told->asks && told->open);
	fuzz_holds(!told->modbus || !told->asked[probe]);
	told->asked[probe] = true;
}

static void on_reading(void *context, const struct reading *reading)
{
	struct told *told = context;

	fuzz_holds(reading->probe < PROBES && reading->time == told->mono + wall);
	fuzz_holds(reading->has[TEMPERATURE] || reading->has[HUMIDITY]);
	for (int q = 0; q < QUANTITIES; q++)
		fuzz_holds(reading->has[q] ? isfinite(reading->value[q]) : reading->value[q] == 0);
	if (!told->modbus)
		return;
	fuzz_holds(told->asked[reading->probe]);
	for (int q = 0; q < QUANTITIES; q++)
		fuzz_holds(fabs(reading->value[q]) <= 3276.8);
	told->asked[reading->probe] = false;
}

static void on_failed(void *context, size_t probe, enum cause cause)
{
	struct told *told = context;

	fuzz_holds(cause < CAUSES && (probe == NO_PROBE || probe < PROBES));
	if (probe != NO_PROBE)
		told->asked[probe] = false;
}

static void on_port(void *context, bool open, const char *why)
{
	struct told *told = context;

	fuzz_holds(open != told->open && fuzz_is_sentence(why));
	told->open = open;
}

/* ---- the far end ------------------------------------------------------------- */

/* One terminal for all inputs, whose near end a link names. */
static int far_end(char **link)
{
	char name[64];
	int fd = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);

	fuzz_holds(fd >= 0 && grantpt(fd) == 0 && unlockpt(fd) == 0 &&
		   ptsname_r(fd, name, sizeof name) == 0);
	*link = must_print("%s/port", fuzz_folder());
	fuzz_holds(symlink(name, *link) == 0);
	/* Held open, so that the terminal outlives a bus. */
	fuzz_holds(open(name, O_RDWR | O_NOCTTY | O_CLOEXEC) >= 0);
	return fd;
}

static void hear(int far)
{
	char bytes[512];

	while (read(far, bytes, sizeof bytes) > 0)
		;
}

/* Says as much of it as the terminal takes, and waits until that can be read. */
static void say(int far, int near, struct fuzz_bytes said)
{
	struct pollfd p = { .fd = near, .events = POLLIN };
	int there = 0;

	if (near < 0 || !said.left)
		return;
	ssize_t done = write(far, said.at, said.left);

	/* A busy kernel may not have taken away what was said to the bus before; and the
	 * fuzzer looks at its clock by a signal. */
	fuzz_holds(done >= 0 || errno == EAGAIN || errno == EINTR);
	while (there < done) {
		int ready = poll(&p, 1, PATIENCE_MS);

		fuzz_holds(ready == 1 || (ready < 0 && errno == EINTR));
		fuzz_holds(ioctl(near, FIONREAD, &there) == 0);
	}
}

/* ---- a bus ------------------------------------------------------------------- */

static void furnish(uint8_t kind, struct bus *bus, struct probe probes[PROBES])
{
	static char asks_all[] = "r", asks_one[] = "{probe}?";
	static char named[] = "{probe} {temperature} {humidity}";
	static char *tokens[PROBES] = { "p0", "p1", "p2" };

	bus->baud = 9600;
	bus->stop_bits = 1;
	bus->every = 10;
	bus->speaks = kind % KINDS < 2 ? SPEAKS_MODBUS : SPEAKS_LINES;
	if (bus->speaks == SPEAKS_LINES)
		bus->line = named;
	bus->ask = kind % KINDS == 3 ? asks_all : kind % KINDS == 4 ? asks_one : NULL;
	for (int i = 0; i < PROBES; i++)
		probes[i] = (struct probe){
			.address = i + 1, .token = tokens[i],
			/* One question for both, or one each. */
			.registers = { { true, 4, 1, 10 }, { true, 4, kind % KINDS ? 2 : 7, 10 } },
		};
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static char *link;
	static int far = -1;
	struct fuzz_bytes in = { data, size };
	struct bus settings = { 0 };
	struct probe probes[PROBES];
	const struct conf conf = { .buses = &settings, .bus_count = 1, .probes = probes,
				   .probe_count = PROBES };
	struct told told = { .mono = 100 };
	const struct bus_sink sink = { &told, on_asked, on_reading, on_failed, on_port };

	if (far < 0)
		far = far_end(&link);
	furnish(fuzz_byte(&in), &settings, probes);
	settings.port = link;
	told.modbus = settings.speaks == SPEAKS_MODBUS;
	told.asks = told.modbus || settings.ask;
	struct bus_live *bus = bus_new(&conf, 0, &sink);

	for (int step = 0; step < STEPS_MOST; step++) {
		double due = bus_step(bus, told.mono, told.mono + wall);

		hear(far);
		if (!in.left)
			break;
		struct fuzz_bytes said = fuzz_some(&in, fuzz_byte(&in) % SAID_MOST);
		uint8_t later = fuzz_byte(&in);

		say(far, bus_fd(bus), said);
		/* Soon, when it wanted, or long after. */
		if (later & 1 && isfinite(due) && due > told.mono)
			told.mono = due;
		else
			told.mono += later & 2 ? 30 : later / 256.0;
	}
	bus_free(bus);
	hear(far);
	return 0;
}
