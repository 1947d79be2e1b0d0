/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Modbus RTU, the master's half that reads registers: a probe's configuration
 * -> requests, bytes off the wire -> answer -> values.  Pure; daemon/bus moves
 * the bytes.  MB-SL below is "MODBUS over Serial Line Specification and
 * Implementation Guide" V1.02, MB-AP "MODBUS Application Protocol
 * Specification" V1.1b3.
 */
#ifndef WARMSIDE_DAEMON_MODBUS_H
#define WARMSIDE_DAEMON_MODBUS_H

#include <stddef.h>
#include <stdint.h>

#include "conf/model.h"
#include "daemon/reading.h"

enum {
	MODBUS_REQUEST = 8,     /* bytes of a request to read registers, CRC included */
	MODBUS_FRAME = 256,     /* bytes of the longest frame (MB-SL 2.5.1) */
	MODBUS_REGISTERS = 125, /* most registers of one request (MB-AP 6.3, 6.4) */
};

/* CRC-16 of MB-SL appendix B; its low byte goes first on the wire. */
uint16_t modbus_crc(const uint8_t *bytes, size_t count);

/* Seconds of silence that must lie between two frames: 3.5 characters of that
 * many seconds, at least 2 ms; above 19200 bit/s a fixed 1.75 ms (MB-SL 2.5.1.1). */
double modbus_silence(int baud, double character);

/* One request to read registers, and its bytes. */
struct modbus_request {
	uint8_t address;        /* 1..247 */
	uint8_t function;       /* 3 or 4 */
	uint16_t first;         /* address of the first register on the wire, from 0 */
	uint16_t count;         /* 1..MODBUS_REGISTERS */
	uint8_t frame[MODBUS_REQUEST];
};

struct modbus_request modbus_request(int address, int function, int first, int count);

/* Bytes of the good answer to a request. */
size_t modbus_reply_length(const struct modbus_request *request);

/* The requests that read all of a probe's registers: one when temperature and
 * humidity are neighbours of the same function, else one each.  Returns how
 * many, 0 to QUANTITIES. */
size_t modbus_plan(const struct probe *probe, struct modbus_request plan[QUANTITIES]);

enum modbus_verdict {
	MODBUS_MORE,            /* nothing whole yet: wait */
	MODBUS_READ,            /* the registers asked for */
	MODBUS_EXCEPTION,       /* asked in vain: see the code */
	MODBUS_STRANGER,        /* a good frame of another address: drop it, wait on */
	MODBUS_BROKEN,          /* a good frame that does not answer this request */
};

struct modbus_answer {
	enum modbus_verdict verdict;
	size_t echo;            /* bytes in front that repeat the request */
	size_t noise;           /* bytes between the echo and the frame */
	size_t used;            /* echo, noise and frame: done with; 0 while MORE */
	uint8_t address;        /* whose frame it is, except while MORE */
	uint8_t exception;      /* MODBUS_EXCEPTION: the code, 1 = illegal function ... */
	int16_t registers[MODBUS_REGISTERS]; /* MODBUS_READ: request->count of them */
};

/* Looks for the answer to a request in what has come in since it was sent.
 * Frames are found by their expected length and a good CRC, never by gaps,
 * because USB adapters deliver in lumps of 16 ms; so bytes of noise in front
 * are stepped over.  The order of the gates: CRC, address, function, byte
 * count.  An exact echo of the request in front is common practice of 2-wire
 * adapters, no source. */
struct modbus_answer modbus_accept(const struct modbus_request *request, const uint8_t *bytes,
				   size_t count);

/* Writes the quantities whose register this request covers into reading:
 * signed 16 bit / divisor.  Other quantities are left alone. */
void modbus_values(const struct probe *probe, const struct modbus_request *request,
		   const int16_t *registers, struct reading *reading);

#endif
