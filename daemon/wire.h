/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One request at a time on an open port: wait for silence, send, wait for the
 * answer, give up.  Knows times, not protocols.  Times are CLOCK_MONOTONIC
 * seconds and come in as arguments.
 */
#ifndef WARMSIDE_DAEMON_WIRE_H
#define WARMSIDE_DAEMON_WIRE_H

#include <stddef.h>
#include <stdint.h>

#include "daemon/port.h"

enum wire_phase {
	WIRE_IDLE,              /* nothing asked */
	WIRE_QUIET,             /* waiting for silence in front of the request */
	WIRE_SENDING,           /* part of the request is written */
	WIRE_WAITING,           /* for the answer */
};

struct wire {
	struct port *port;      /* NULL while closed; the bus owns it */
	double character;       /* s one character takes */
	double silence;         /* s of silence in front of a request */
	enum wire_phase phase;
	double last;            /* when the last byte was seen, or will have left */
	const uint8_t *out;     /* the request; its owner keeps it while asking */
	size_t length, sent;
	double begun;           /* when it was asked for */
	double patience;        /* s from its last byte having left to giving up */
	double deadline;        /* WIRE_WAITING: gives up */
	double settled;         /* WIRE_WAITING: gives up too, see wire_settle */
};

enum wire_event { WIRE_GOES_ON, WIRE_GAVE_UP, WIRE_LOST };

/* Seconds one character takes: start bit, 8 data bits, the parity bit if there
 * is one, and the stop bits. */
double wire_character(const struct bus *settings);

/* The port has just been opened. */
void wire_open(struct wire *wire, struct port *port, double mono);

/* Asks for length bytes at out to be sent; reply characters are expected, and
 * timeout s beyond their time on the wire are granted. */
void wire_ask(struct wire *wire, const uint8_t *out, size_t length, size_t reply, double timeout,
	      double mono);

/* Does what is due; *due is the next time to call.  WIRE_GAVE_UP leaves the
 * phase as it was, so that the cause can be told: in WIRE_QUIET the line was
 * never silent, in WIRE_SENDING it took no more bytes. */
enum wire_event wire_step(struct wire *wire, double mono, double *due);

/* Bytes have come in. */
void wire_seen(struct wire *wire, double mono);

/* Enough has come, though nothing good: give up after pause s without a byte. */
void wire_settle(struct wire *wire, double pause);

/* Part of the answer is here and more may follow: as much patience again. */
void wire_wait_on(struct wire *wire, double mono);

/* The asking is over, whatever came of it. */
void wire_done(struct wire *wire);

#endif
