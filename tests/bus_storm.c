/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A bus against tests/partner_modbus.c: polls as fast as it can, takes every
 * reading apart to see whether it can be true, and prints what it counted, so
 * that it can be compared with what the partner did.
 *
 *     bus_storm PORT ADDRESSES POLLS
 *
 * Exit 1 when a value is wrong or a probe was asked later than one time-out
 * after the one before it.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "tests/bus_loop.h"

enum {
	BAUD = 115200,
	CYCLE = 100,            /* the partner's counter runs round at this */
	BACK = 3,               /* a late answer may be older than one that came in time */
};

static const double every = 0.02;
/* The bus's own: 500 ms and 17 characters. */
static const double timeout = 0.5 + 17 * 10.0 / BAUD;
/* For a busy machine: what a process may wait for a processor. */
static const double slack = 0.1;

struct storm {
	size_t addresses;
	unsigned long polls, asked, read, failed[CAUSES], strays, wrong, old;
	int *counter;           /* of each address: the last one seen, -1 at first */
	double last_asked, longest;
	bool done;
};

static void on_asked(void *context, size_t probe)
{
	struct storm *s = context;
	double now = loop_now();

	(void)probe;
	if (s->done)
		return;
	s->asked++;
	if (s->last_asked > 0 && now - s->last_asked > s->longest)
		s->longest = now - s->last_asked;
	s->last_asked = now;
}

/* The partner's formula, the other way round. */
static bool is_true(struct storm *s, const struct reading *r)
{
	int address = (int)r->probe + 1;
	long c = lround(r->value[TEMPERATURE] * 10) - (100 * address - 1600);
	int *counter = &s->counter[r->probe];
	long ahead;

	if (!r->has[TEMPERATURE] || !r->has[HUMIDITY] || c < 0 || c >= CYCLE ||
	    lround(r->value[HUMIDITY] * 10) != (31 * address + 7 * c) % 1000)
		return false;
	ahead = *counter < 0 ? 1 : (c - *counter + CYCLE) % CYCLE;
	if (ahead >= CYCLE - BACK)
		s->old++;
	else if (ahead == 0 || ahead > CYCLE / 2)
		return false;
	else
		*counter = (int)c;
	return true;
}

static void on_reading(void *context, const struct reading *r)
{
	struct storm *s = context;

	s->read++;
	if (!is_true(s, r)) {
		s->wrong++;
		fprintf(stderr, "bus_storm: wrong: probe %zu says %.1f / %.1f\n", r->probe,
			r->value[TEMPERATURE], r->value[HUMIDITY]);
	}
	/* Only here: the next request has to wait for silence, so none is under way. */
	s->done = s->asked >= s->polls;
}

static void on_failed(void *context, size_t probe, enum cause cause)
{
	struct storm *s = context;

	if (probe == NO_PROBE)
		s->strays++;
	else
		s->failed[cause]++;
}

static void on_port(void *context, bool open, const char *why)
{
	(void)context;
	if (!open)
		fprintf(stderr, "bus_storm: %s\n", why);
}

static bool ride(struct storm *s, const char *port)
{
	struct conf conf = loop_conf(port, BAUD, every, s->addresses);
	const struct bus_sink sink = { .context = s, .asked = on_asked, .reading = on_reading,
				       .failed = on_failed, .port_state = on_port };
	struct bus_live *bus = bus_new(&conf, 0, &sink);
	bool done = loop_run(bus, &s->done, loop_now() + 60 + (double)s->polls * 0.02);

	bus_free(bus);
	loop_conf_free(&conf);
	return done;
}

int main(int argc, char **argv)
{
	struct storm s = { 0 };
	double addresses, polls;
	bool done;

	if (argc != 4 || !parse_number(argv[2], &addresses) || !parse_number(argv[3], &polls) ||
	    addresses < 1 || polls < 1) {
		fprintf(stderr, "usage: bus_storm PORT ADDRESSES POLLS\n");
		return 2;
	}
	s.addresses = (size_t)addresses;
	s.polls = (unsigned long)polls;
	s.counter = must_calloc(s.addresses, sizeof *s.counter);
	for (size_t i = 0; i < s.addresses; i++)
		s.counter[i] = -1;
	done = ride(&s, argv[1]);
	free(s.counter);
	printf("asked %lu\nread %lu\nwrong_values %lu\nolder_than_the_last %lu\nstrays %lu\n",
	       s.asked, s.read, s.wrong, s.old, s.strays);
	for (int cause = 0; cause < CAUSES; cause++)
		printf("%s %lu\n", cause_word((enum cause)cause), s.failed[cause]);
	printf("longest_wait_ms %.1f\nallowed_ms %.1f\n", 1000 * s.longest,
	       1000 * (timeout + slack));
	if (!done)
		fprintf(stderr, "bus_storm: the polls did not end in time\n");
	return done && !s.wrong && s.longest <= timeout + slack ? 0 : 1;
}
