/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The steps of a scan on a port; see scan_wire.h.
 */
#include "daemon/scan_wire.h"

#include <stdio.h>
#include <string.h>

#include "daemon/await.h"
#include "daemon/when.h"

static const double broken_pause = 0.05; /* s without a byte: no more of a broken answer comes */

enum { READ_SIZE = 256 };

void scan_wire_close(struct scan_wire *on)
{
	port_close(on->wire.port);
	on->wire.port = NULL;
}

enum scan_end scan_wire_set(struct scan_wire *on, const struct scan_pass *pass, char why[PORT_WHY])
{
	char *name = (char *)(uintptr_t)on->port; /* the model's strings are not const */
	const struct bus settings = { .port = name, .baud = pass->baud, .parity = pass->parity,
				      .stop_bits = pass->stop_bits };
	struct port *port;

	scan_wire_close(on);
	port = port_open(&settings, why);
	if (!port)
		return SCAN_NO_PORT;
	on->wire.character = wire_character(&settings);
	on->wire.silence = modbus_silence(pass->baud, on->wire.character);
	wire_open(&on->wire, port, when_monotonic());
	on->used = 0;
	return SCAN_GOES_ON;
}

static void drop(struct scan_wire *on, size_t count)
{
	on->used -= count;
	memmove(on->in, on->in + count, on->used);
}

/* Keeps the newest bytes.  False when the port is gone. */
static bool take_bytes(struct scan_wire *on)
{
	uint8_t bytes[READ_SIZE];
	size_t count = sizeof bytes;
	enum port_result result = port_read(on->wire.port, bytes, &count);

	if (result != PORT_DONE)
		return result == PORT_LATER;
	wire_seen(&on->wire, when_monotonic());
	if (on->used + count > sizeof on->in) {
		drop(on, on->used + count - sizeof on->in);
		on->noise = true;
	}
	memcpy(on->in + on->used, bytes, count);
	on->used += count;
	return true;
}

/* Frames nobody waits for: the late answers of whom they name. */
static void overhear(struct scan_wire *on, struct scan *scan)
{
	for (;;) {
		struct modbus_answer answer = modbus_accept(&on->request, on->in, on->used);

		if (answer.verdict == MODBUS_MORE)
			return;
		scan_overheard(scan, answer.address);
		drop(on, answer.used);
	}
}

/* True when what is there answers the question. */
static bool understand(struct scan_wire *on, struct scan *scan, enum scan_outcome *outcome,
		       struct modbus_answer *answer)
{
	for (;;) {
		*answer = modbus_accept(&on->request, on->in, on->used);
		if (answer->verdict != MODBUS_STRANGER)
			break;
		scan_overheard(scan, answer->address);
		on->noise = on->noise || answer->noise;
		drop(on, answer->used);
	}
	if (answer->verdict == MODBUS_MORE) {
		if (on->used - answer->echo >= modbus_reply_length(&on->request))
			wire_settle(&on->wire, broken_pause);
		return false;
	}
	*outcome = answer->verdict == MODBUS_READ	 ? SCAN_READ
		   : answer->verdict == MODBUS_EXCEPTION ? SCAN_REFUSED
							 : SCAN_GARBLED;
	return true;
}

static enum scan_end lost(const struct scan_wire *on, char why[PORT_WHY])
{
	snprintf(why, PORT_WHY, "%.100s has gone away (unplugged, or its other end closed)",
		 port_device(on->wire.port));
	return SCAN_NO_PORT;
}

/* What it is when time is up. */
static enum scan_outcome nothing_whole(const struct scan_wire *on,
				       const struct modbus_answer *answer)
{
	bool bytes = on->noise || on->used > answer->echo;

	return on->wire.phase == WIRE_QUIET || bytes ? SCAN_GARBLED : SCAN_SILENT;
}

static enum scan_end wait_for_answer(struct scan_wire *on, struct scan *scan,
				     enum scan_outcome *outcome, struct modbus_answer *answer,
				     char why[PORT_WHY])
{
	for (;;) {
		enum wire_phase before = on->wire.phase;
		double due;
		enum wire_event event;

		if (!take_bytes(on))
			return lost(on, why);
		if (before == WIRE_QUIET)
			overhear(on, scan); /* its own address too: it is of an earlier question */
		else if (understand(on, scan, outcome, answer))
			return SCAN_GOES_ON;
		event = wire_step(&on->wire, when_monotonic(), &due);
		if (event == WIRE_LOST)
			return lost(on, why);
		if (event == WIRE_GAVE_UP) {
			*outcome = nothing_whole(on, answer);
			return SCAN_GOES_ON;
		}
		if (before == WIRE_QUIET && on->wire.phase != WIRE_QUIET)
			on->used = 0;
		if (await_input(port_fd(on->wire.port), on->signals, due) == AWAITED_STOP)
			return SCAN_STOPPED;
	}
}

enum scan_end scan_wire_ask(struct scan_wire *on, struct scan *scan, const struct scan_step *step,
			    char why[PORT_WHY])
{
	struct modbus_answer answer = { .verdict = MODBUS_MORE };
	enum scan_outcome outcome;
	enum scan_end end;

	on->request = step->request;
	on->noise = false;
	wire_ask(&on->wire, on->request.frame, MODBUS_REQUEST, modbus_reply_length(&on->request),
		 step->timeout, when_monotonic());
	end = wait_for_answer(on, scan, &outcome, &answer, why);
	wire_done(&on->wire);
	on->used = 0;
	if (end == SCAN_GOES_ON)
		scan_told(scan, step, outcome, &answer);
	return end;
}

enum scan_end scan_wire_listen(struct scan_wire *on, struct scan *scan,
			       const struct scan_step *step, char why[PORT_WHY])
{
	double until = when_monotonic() + step->timeout;

	for (;;) {
		switch (await_input(port_fd(on->wire.port), on->signals, until)) {
		case AWAITED_STOP:
			return SCAN_STOPPED;
		case AWAITED_TIME:
			on->used = 0;
			return SCAN_GOES_ON;
		case AWAITED_INPUT:
			if (!take_bytes(on))
				return lost(on, why);
			overhear(on, scan);
		}
	}
}
