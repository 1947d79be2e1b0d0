/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Requests and answers of Modbus RTU; see modbus.h.
 */
#include "daemon/modbus.h"

#include <string.h>

enum {
	HEAD = 3,               /* address, function, byte count or exception code */
	CRC = 2,
	EXCEPTION_FRAME = HEAD + CRC,
	EXCEPTION_BIT = 0x80,   /* MB-AP 7 */
	LAST_ADDRESS = 247,     /* MB-SL 2.2 */
	STRICT_BAUD = 19200,    /* up to here silences are counted in characters */
};

static const double silence_characters = 3.5;
static const double least_silence = 0.002; /* s; an operating system wakes no finer */
static const double fast_silence = 0.00175; /* s */

uint16_t modbus_crc(const uint8_t *bytes, size_t count)
{
	unsigned crc = 0xffff;

	for (size_t i = 0; i < count; i++) {
		crc ^= bytes[i];
		for (int bit = 0; bit < 8; bit++)
			crc = crc & 1 ? crc >> 1 ^ 0xa001 : crc >> 1;
	}
	return (uint16_t)crc;
}

double modbus_silence(int baud, double character)
{
	double silence = silence_characters * character;

	if (baud > STRICT_BAUD)
		return fast_silence;
	return silence > least_silence ? silence : least_silence;
}

static void put_word(uint8_t *at, unsigned word)
{
	at[0] = (uint8_t)(word >> 8);
	at[1] = (uint8_t)word;
}

struct modbus_request modbus_request(int address, int function, int first, int count)
{
	struct modbus_request request = {
		.address = (uint8_t)address, .function = (uint8_t)function,
		.first = (uint16_t)first, .count = (uint16_t)count,
	};
	uint16_t crc;

	request.frame[0] = request.address;
	request.frame[1] = request.function;
	put_word(request.frame + 2, request.first);
	put_word(request.frame + 4, request.count);
	crc = modbus_crc(request.frame, MODBUS_REQUEST - CRC);
	request.frame[6] = (uint8_t)crc;
	request.frame[7] = (uint8_t)(crc >> 8);
	return request;
}

size_t modbus_reply_length(const struct modbus_request *request)
{
	return HEAD + 2 * (size_t)request->count + CRC;
}

size_t modbus_plan(const struct probe *probe, struct modbus_request plan[QUANTITIES])
{
	const struct register_at *t = &probe->registers[TEMPERATURE];
	const struct register_at *h = &probe->registers[HUMIDITY];
	size_t count = 0;

	if (t->present && h->present && t->function == h->function &&
	    (t->address - h->address == 1 || h->address - t->address == 1)) {
		int first = t->address < h->address ? t->address : h->address;

		plan[count++] = modbus_request(probe->address, t->function, first, 2);
		return count;
	}
	for (int q = 0; q < QUANTITIES; q++)
		if (probe->registers[q].present)
			plan[count++] = modbus_request(probe->address, probe->registers[q].function,
						       probe->registers[q].address, 1);
	return count;
}

/* The length a frame beginning here must have, or 0 when no answer to a
 * reading request begins like this. */
static size_t frame_length(const uint8_t *bytes, size_t count)
{
	unsigned function;

	if (count < HEAD || bytes[0] < 1 || bytes[0] > LAST_ADDRESS)
		return 0;
	function = bytes[1] & ~(unsigned)EXCEPTION_BIT;
	if (function != 3 && function != 4)
		return 0;
	if (bytes[1] & EXCEPTION_BIT)
		return EXCEPTION_FRAME;
	if (bytes[2] == 0 || bytes[2] % 2 || bytes[2] > 2 * MODBUS_REGISTERS)
		return 0;
	return HEAD + (size_t)bytes[2] + CRC;
}

/* The length of the whole good frame that begins here, or 0. */
static size_t good_frame(const uint8_t *bytes, size_t count)
{
	size_t length = frame_length(bytes, count);

	/* The CRC over a good frame and its own CRC is nought. */
	return length && length <= count && modbus_crc(bytes, length) == 0 ? length : 0;
}

static void judge_frame(const struct modbus_request *request, const uint8_t *frame,
			struct modbus_answer *answer)
{
	answer->address = frame[0];
	if (frame[0] != request->address) {
		answer->verdict = MODBUS_STRANGER;
	} else if (frame[1] == (request->function | EXCEPTION_BIT)) {
		answer->verdict = MODBUS_EXCEPTION;
		answer->exception = frame[2];
	} else if (frame[1] != request->function || frame[2] != 2 * request->count) {
		answer->verdict = MODBUS_BROKEN;
	} else {
		answer->verdict = MODBUS_READ;
		for (size_t i = 0; i < request->count; i++)
			answer->registers[i] = (int16_t)(frame[HEAD + 2 * i] << 8 |
							 frame[HEAD + 2 * i + 1]);
	}
}

struct modbus_answer modbus_accept(const struct modbus_request *request, const uint8_t *bytes,
				   size_t count)
{
	struct modbus_answer answer = { .verdict = MODBUS_MORE };

	if (count >= MODBUS_REQUEST && memcmp(bytes, request->frame, MODBUS_REQUEST) == 0)
		answer.echo = MODBUS_REQUEST;
	for (size_t at = answer.echo; at + EXCEPTION_FRAME <= count; at++) {
		size_t length = good_frame(bytes + at, count - at);

		if (!length)
			continue;
		judge_frame(request, bytes + at, &answer);
		answer.noise = at - answer.echo;
		answer.used = at + length;
		break;
	}
	return answer;
}

void modbus_values(const struct probe *probe, const struct modbus_request *request,
		   const int16_t *registers, struct reading *reading)
{
	for (int q = 0; q < QUANTITIES; q++) {
		const struct register_at *at = &probe->registers[q];
		int index = at->address - request->first;

		if (!at->present || at->function != request->function || index < 0 ||
		    index >= request->count)
			continue;
		reading->has[q] = true;
		reading->value[q] = registers[index] / at->divisor;
	}
}
