/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The slave's side of Modbus RTU; see slave.h.
 */
#include "contrib/roomsim/slave.h"

enum { READ_INPUT_REGISTERS = 4, MOST_REGISTERS = 125 };
enum { ILLEGAL_FUNCTION = 1, ILLEGAL_ADDRESS = 2, ILLEGAL_VALUE = 3 };

uint16_t slave_crc(const uint8_t *bytes, size_t count)
{
	unsigned crc = 0xffff;

	for (size_t i = 0; i < count; i++) {
		crc ^= bytes[i];
		for (int bit = 0; bit < 8; bit++)
			crc = crc & 1 ? crc >> 1 ^ 0xa001 : crc >> 1;
	}
	return (uint16_t)crc;
}

static size_t seal(uint8_t *frame, size_t count)
{
	uint16_t crc = slave_crc(frame, count);

	frame[count] = (uint8_t)(crc & 0xff);
	frame[count + 1] = (uint8_t)(crc >> 8);
	return count + 2;
}

static size_t exception(const uint8_t *request, uint8_t code, uint8_t *reply)
{
	reply[0] = request[0];
	reply[1] = request[1] | 0x80;
	reply[2] = code;
	return seal(reply, 3);
}

size_t slave_reply(const uint8_t request[REQUEST_BYTES], const struct transmitter *transmitter,
		   uint8_t reply[REPLY_BYTES])
{
	unsigned first = (unsigned)request[2] << 8 | request[3];
	unsigned quantity = (unsigned)request[4] << 8 | request[5];
	size_t length = 3;

	if (request[1] != READ_INPUT_REGISTERS)
		return exception(request, ILLEGAL_FUNCTION, reply);
	if (quantity < 1 || quantity > MOST_REGISTERS)
		return exception(request, ILLEGAL_VALUE, reply);
	if (first < FIRST_REGISTER || first + quantity > FIRST_REGISTER + transmitter->count)
		return exception(request, ILLEGAL_ADDRESS, reply);
	reply[0] = request[0];
	reply[1] = request[1];
	reply[2] = (uint8_t)(2 * quantity);
	for (unsigned i = 0; i < quantity; i++) {
		uint16_t value = (uint16_t)transmitter->values[first - FIRST_REGISTER + i];

		reply[length++] = (uint8_t)(value >> 8);
		reply[length++] = (uint8_t)(value & 0xff);
	}
	return seal(reply, length);
}
