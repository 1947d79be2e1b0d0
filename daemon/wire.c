/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Silence, request, answer; see wire.h.
 */
#include "daemon/wire.h"

#include <math.h>

static const double write_again = 0.002; /* s until a port that was full is tried again */

double wire_character(const struct bus *settings)
{
	int bits = 1 + 8 + (settings->parity != PARITY_NONE) + settings->stop_bits;

	return (double)bits / settings->baud;
}

void wire_open(struct wire *wire, struct port *port, double mono)
{
	wire->port = port;
	wire->phase = WIRE_IDLE;
	wire->last = mono;
}

void wire_ask(struct wire *wire, const uint8_t *out, size_t length, size_t reply, double timeout,
	      double mono)
{
	wire->out = out;
	wire->length = length;
	wire->sent = 0;
	wire->begun = mono;
	wire->patience = (double)reply * wire->character + timeout;
	wire->settled = INFINITY;
	wire->phase = WIRE_QUIET;
}

static enum wire_event give_up(struct wire *wire)
{
	if (wire->phase != WIRE_QUIET)
		port_drop_output(wire->port);
	return WIRE_GAVE_UP;
}

static enum wire_event step_quiet(struct wire *wire, double mono, double *due)
{
	*due = wire->last + wire->silence;
	if (mono >= *due) {
		wire->phase = WIRE_SENDING;
		return WIRE_GOES_ON;
	}
	return mono - wire->begun >= wire->patience ? give_up(wire) : WIRE_GOES_ON;
}

static enum wire_event step_sending(struct wire *wire, double mono, double *due)
{
	size_t count = wire->length - wire->sent;

	if (port_write(wire->port, wire->out + wire->sent, &count) == PORT_GONE)
		return WIRE_LOST;
	wire->sent += count;
	if (wire->sent == wire->length) {
		wire->last = mono + (double)wire->length * wire->character;
		wire->deadline = wire->last + wire->patience;
		wire->phase = WIRE_WAITING;
		return WIRE_GOES_ON;
	}
	*due = mono + write_again;
	return mono - wire->begun >= wire->patience ? give_up(wire) : WIRE_GOES_ON;
}

enum wire_event wire_step(struct wire *wire, double mono, double *due)
{
	enum wire_event event = WIRE_GOES_ON;

	if (wire->phase == WIRE_QUIET)
		event = step_quiet(wire, mono, due);
	if (wire->phase == WIRE_SENDING && event == WIRE_GOES_ON)
		event = step_sending(wire, mono, due);
	if (wire->phase == WIRE_WAITING && event == WIRE_GOES_ON) {
		*due = fmin(wire->deadline, wire->settled);
		if (mono >= *due)
			event = give_up(wire);
	}
	return event;
}

void wire_seen(struct wire *wire, double mono)
{
	wire->last = mono;
}

void wire_settle(struct wire *wire, double pause)
{
	wire->settled = wire->last + pause;
}

void wire_wait_on(struct wire *wire, double mono)
{
	wire->deadline = mono + wire->patience;
}

void wire_done(struct wire *wire)
{
	wire->phase = WIRE_IDLE;
}
