/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Modbus RTU on a live bus: one or two requests a probe, answers taken the
 * moment they are whole.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "daemon/bus_live.h"
#include "daemon/modbus.h"

/* The wire's time comes on top.  MB-SL 2.4.1 has "from 1 s to several seconds"
 * as typical; a sensor answers within some 10 ms (common practice, no source),
 * and each dead one costs its time-out. */
static const double reply_timeout = 0.5;   /* s */
static const double broken_pause = 0.05;   /* s without a byte: no more of a broken answer comes */
/* An answer to a request given up may still come for so long. */
static const double late_answers = 3;      /* s */

enum { IN_SIZE = 2 * MODBUS_FRAME };

struct member {
	struct modbus_request plan[QUANTITIES];
	size_t plan_count;
	unsigned failed;        /* bit i: plan[i] is worth a second try */
	double late_until;      /* until then a late answer of it may still come */
};

struct modbus_state {
	struct member *members;
	size_t member;          /* who is asked */
	size_t request;         /* which of its plan */
	unsigned todo;          /* bit i: plan[i] is still to be asked in this asking */
	bool unhappy;           /* cause is valid */
	enum cause cause;       /* of the first failure in this asking */
	struct reading reading;
	uint8_t in[IN_SIZE];    /* since the request was sent */
	size_t used;
	bool noise;             /* bytes that were no frame have been dropped from in */
	bool stranger;          /* a frame of an address nobody asked has come */
};

static bool modbus_init(struct bus_live *bus, char why[PORT_WHY])
{
	struct modbus_state *m = must_calloc(1, sizeof *m);

	(void)why; /* a number cannot be misspelt */
	m->members = must_calloc(bus->probe_count, sizeof *m->members);
	for (size_t i = 0; i < bus->probe_count; i++) {
		m->members[i].plan_count = modbus_plan(bus_probe(bus, i), m->members[i].plan);
		m->members[i].late_until = -INFINITY;
	}
	bus->state = m;
	bus->asks = true;
	bus->wire.silence = modbus_silence(bus->settings->baud, bus->wire.character);
	return true;
}

static void modbus_free(struct bus_live *bus)
{
	struct modbus_state *m = bus->state;

	free(m->members);
	free(m);
}

static void modbus_opened(struct bus_live *bus)
{
	struct modbus_state *m = bus->state;

	for (size_t i = 0; i < bus->probe_count; i++)
		m->members[i].failed = 0;
	m->todo = 0;
}

static const struct modbus_request *current(const struct modbus_state *m)
{
	return &m->members[m->member].plan[m->request];
}

/* The lowest request still to be asked goes out. */
static void send_request(struct bus_live *bus, double mono)
{
	struct modbus_state *m = bus->state;

	m->request = 0;
	while (!(m->todo & 1U << m->request))
		m->request++;
	m->used = 0;
	m->noise = false;
	m->stranger = false;
	wire_ask(&bus->wire, current(m)->frame, MODBUS_REQUEST, modbus_reply_length(current(m)),
		 reply_timeout, mono);
}

/* Which requests the member is to be asked now.  A second try repeats only what
 * failed.  Answers do not say which register they are of; so a probe with two
 * requests that owes an answer is left alone until it can come no more. */
static unsigned requests_due(const struct round *round, const struct member *member, double mono)
{
	if (round_is_retry(round))
		return member->failed;
	if (member->plan_count > 1 && mono < member->late_until)
		return 0;
	return (1U << member->plan_count) - 1;
}

static bool modbus_ask(struct bus_live *bus, double mono)
{
	struct modbus_state *m = bus->state;

	while (!m->todo) {
		if (!round_next(&bus->round, &m->member))
			return false;
		m->todo = requests_due(&bus->round, &m->members[m->member], mono);
		if (!m->todo)
			continue;
		m->members[m->member].failed = 0;
		m->unhappy = false;
		m->reading = (struct reading){ .probe = bus->probes[m->member] };
		bus->sink.asked(bus->sink.context, m->reading.probe);
	}
	send_request(bus, mono);
	return true;
}

/* All requests of this asking are answered or given up. */
static void finish_asking(struct bus_live *bus, double wall)
{
	struct modbus_state *m = bus->state;
	bool read = m->reading.has[TEMPERATURE] || m->reading.has[HUMIDITY];
	bool silent = m->unhappy && !read && (m->cause == NO_ANSWER || m->cause == WRONG_ADDRESS);

	if (read) {
		m->reading.time = wall;
		bus->sink.reading(bus->sink.context, &m->reading);
	}
	if (m->unhappy)
		bus_failed(bus, m->reading.probe, m->cause);
	round_result(&bus->round, m->member,
		     silent ? UNHEARD : m->unhappy ? DISTURBED : ANSWERED);
}

static void finish_request(struct bus_live *bus, double wall)
{
	struct modbus_state *m = bus->state;

	m->todo &= ~(1U << m->request);
	wire_done(&bus->wire);
	if (!m->todo)
		finish_asking(bus, wall);
}

/* A refusal is an answer, so the probe's other request may follow; after
 * anything else it might get the answer that belongs to this one. */
static void request_failed(struct bus_live *bus, enum cause cause, struct now now)
{
	struct modbus_state *m = bus->state;
	struct member *member = &m->members[m->member];

	if (!m->unhappy)
		m->cause = cause;
	m->unhappy = true;
	if (cause == REFUSED) {
		member->failed |= 1U << m->request;
	} else {
		member->failed = 1U << m->request;
		member->late_until = now.mono + late_answers;
		m->todo = 0;
	}
	finish_request(bus, now.wall);
}

static void request_read(struct bus_live *bus, const struct modbus_answer *answer, double wall)
{
	struct modbus_state *m = bus->state;

	modbus_values(bus_probe(bus, m->member), current(m), answer->registers, &m->reading);
	if (m->stranger)
		bus_failed(bus, NO_PROBE, WRONG_ADDRESS);
	finish_request(bus, wall);
}

/* A frame nobody asked for: not worth a word when it is the late answer of a
 * probe whose failure has been told already. */
static void drop_stranger(struct bus_live *bus, const struct modbus_answer *answer, double mono)
{
	struct modbus_state *m = bus->state;
	bool late = false;

	for (size_t i = 0; i < bus->probe_count; i++)
		if (bus_probe(bus, i)->address == answer->address && mono < m->members[i].late_until)
			late = true;
	m->stranger = m->stranger || !late;
	m->noise = m->noise || answer->noise;
	m->used -= answer->used;
	memmove(m->in, m->in + answer->used, m->used);
}

/* Keeps the newest bytes: what is longer than any frame is noise in front. */
static void keep_bytes(struct modbus_state *m, const uint8_t *bytes, size_t count)
{
	if (count > MODBUS_FRAME) {
		bytes += count - MODBUS_FRAME;
		count = MODBUS_FRAME;
		m->noise = true;
	}
	if (m->used + count > IN_SIZE) {
		size_t surplus = m->used - MODBUS_FRAME;

		memmove(m->in, m->in + surplus, MODBUS_FRAME);
		m->used = MODBUS_FRAME;
		m->noise = true;
	}
	memcpy(m->in + m->used, bytes, count);
	m->used += count;
}

static void modbus_input(struct bus_live *bus, const uint8_t *bytes, size_t count, struct now now)
{
	struct modbus_state *m = bus->state;
	struct modbus_answer answer;

	if (bus->wire.phase != WIRE_WAITING)
		return; /* nobody asked for it */
	keep_bytes(m, bytes, count);
	for (;;) {
		answer = modbus_accept(current(m), m->in, m->used);
		if (answer.verdict != MODBUS_STRANGER)
			break;
		drop_stranger(bus, &answer, now.mono);
	}
	if (answer.verdict == MODBUS_READ)
		request_read(bus, &answer, now.wall);
	else if (answer.verdict == MODBUS_EXCEPTION)
		request_failed(bus, REFUSED, now);
	else if (answer.verdict == MODBUS_BROKEN)
		request_failed(bus, GARBLED, now);
	else if (m->used - answer.echo >= modbus_reply_length(current(m)))
		wire_settle(&bus->wire, broken_pause);
}

static enum cause why_nothing(const struct bus_live *bus)
{
	const struct modbus_state *m = bus->state;
	struct modbus_answer answer = modbus_accept(current(m), m->in, m->used);

	if (!bus->wire.port)
		return NO_ANSWER;
	if (bus->wire.phase == WIRE_QUIET)
		return GARBLED; /* somebody else kept talking */
	if (m->noise || m->used > answer.echo)
		return GARBLED;
	return m->stranger ? WRONG_ADDRESS : NO_ANSWER;
}

static void modbus_gave_up(struct bus_live *bus, struct now now)
{
	request_failed(bus, why_nothing(bus), now);
}

const struct talk talk_modbus = {
	.init = modbus_init, .free = modbus_free, .opened = modbus_opened, .ask = modbus_ask,
	.input = modbus_input, .gave_up = modbus_gave_up,
};
