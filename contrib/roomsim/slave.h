/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The slave's side of Modbus RTU, just enough for temperature and humidity
 * transmitters.  Pure: request bytes in, reply bytes out.  Written apart from
 * the daemon's side on purpose: a mistake in one must not hide in the other.
 */
#ifndef WARMSIDE_ROOMSIM_SLAVE_H
#define WARMSIDE_ROOMSIM_SLAVE_H

#include <stddef.h>
#include <stdint.h>

enum {
	REQUEST_BYTES = 8,      /* of functions 03 and 04, checksum included */
	REPLY_BYTES = 256,
	FIRST_REGISTER = 1,     /* temperature; humidity follows */
	REGISTERS = 2,
};

/* MODBUS over Serial Line V1.02, appendix B: 0xFFFF, polynomial 0xA001.  The
 * low byte goes first on the wire; over a whole good frame it is 0. */
uint16_t slave_crc(const uint8_t *bytes, size_t count);

/* What a transmitter holds: input registers from FIRST_REGISTER on. */
struct transmitter {
	int16_t values[REGISTERS];
	size_t count;           /* 1 for a thermometer, 2 with humidity */
};

/* The reply to a request whose checksum and address are right; an exception
 * where Modbus wants one (function not 04: 01; registers it has not: 02;
 * a quantity of 0 or above 125: 03).  Returns its length. */
size_t slave_reply(const uint8_t request[REQUEST_BYTES], const struct transmitter *transmitter,
		   uint8_t reply[REPLY_BYTES]);

#endif
