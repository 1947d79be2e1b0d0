/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Modbus frames: any bytes as the answer to a request, and a good answer behind any noise.
 * Input: four bytes of the request (address, function, first register, count), then
 * what comes in.
 */
#include "tests/fuzz/fuzz.h"

#include <string.h>

#include "daemon/modbus.h"

enum { NOISE_MOST = 40, NOBODY = 0xff };

/* CRC-16 as a division of bits, the highest first, with every byte turned round: another way
 * than the one under test, which shifts to the right (MB-SL appendix B). */
static unsigned turned(unsigned value, int bits)
{
	unsigned out = 0;

	for (int i = 0; i < bits; i++)
		out = out << 1 | (value >> i & 1);
	return out;
}

static unsigned crc_of(const uint8_t *bytes, size_t count)
{
	unsigned rest = 0xffff;

	for (size_t i = 0; i < count; i++) {
		rest ^= turned(bytes[i], 8) << 8;
		for (int bit = 0; bit < 8; bit++)
			rest = (rest << 1 ^ (rest & 0x8000 ? 0x8005 : 0)) & 0xffff;
	}
	return turned(rest, 16);
}

static void look_at_frame(const struct modbus_request *request, const uint8_t *frame, size_t length,
			  const struct modbus_answer *answer)
{
	bool ours = frame[0] == request->address;

	fuzz_holds(length >= 5 && length <= MODBUS_FRAME);
	fuzz_holds(crc_of(frame, length - 2) ==
		   (unsigned)(frame[length - 2] | frame[length - 1] << 8));
	fuzz_holds(answer->address == frame[0]);
	fuzz_holds(frame[0] >= 1 && frame[0] <= 247);
	fuzz_holds((answer->verdict == MODBUS_STRANGER) == !ours);
	if (answer->verdict == MODBUS_EXCEPTION)
		fuzz_holds(length == 5 && frame[1] == (request->function | 0x80) &&
			   answer->exception == frame[2]);
	if (answer->verdict != MODBUS_READ)
		return;
	fuzz_holds(frame[1] == request->function && frame[2] == 2 * request->count);
	fuzz_holds(length == modbus_reply_length(request));
	for (size_t i = 0; i < request->count; i++)
		fuzz_holds((uint16_t)answer->registers[i] ==
			   (frame[3 + 2 * i] << 8 | frame[4 + 2 * i]));
}

/* As daemon/talk_modbus.c does: strangers are dropped until there is an answer. */
static void take_answers(const struct modbus_request *request, struct fuzz_bytes in)
{
	for (;;) {
		struct modbus_answer answer = modbus_accept(request, in.at, in.left);

		fuzz_holds(answer.echo == 0 || answer.echo == MODBUS_REQUEST);
		if (answer.verdict == MODBUS_MORE) {
			fuzz_holds(answer.used == 0);
			return;
		}
		fuzz_holds(answer.used <= in.left && answer.used > answer.echo + answer.noise);
		size_t before = answer.echo + answer.noise;

		look_at_frame(request, in.at + before, answer.used - before, &answer);
		if (answer.verdict != MODBUS_STRANGER)
			return;
		fuzz_some(&in, answer.used);
	}
}

/* Registers that are sent are the registers that are read, whatever stands behind them. */
static void there_and_back(const struct modbus_request *request, struct fuzz_bytes in)
{
	uint8_t bytes[NOISE_MOST + 2 * MODBUS_FRAME];
	size_t noise = fuzz_byte(&in) % NOISE_MOST, length = modbus_reply_length(request);
	uint8_t *frame = bytes + noise;

	memset(bytes, NOBODY, noise);
	frame[0] = request->address;
	frame[1] = request->function;
	frame[2] = (uint8_t)(2 * request->count);
	for (size_t i = 3; i < length - 2; i++)
		frame[i] = fuzz_byte(&in);
	unsigned crc = crc_of(frame, length - 2);

	frame[length - 2] = (uint8_t)crc;
	frame[length - 1] = (uint8_t)(crc >> 8);
	struct fuzz_bytes behind = fuzz_some(&in, MODBUS_FRAME);

	if (behind.left)
		memcpy(frame + length, behind.at, behind.left);
	size_t all = noise + length + behind.left;

	/* An answer that begins just as the request does is taken for its echo. */
	if (all >= MODBUS_REQUEST && memcmp(bytes, request->frame, MODBUS_REQUEST) == 0)
		return;
	struct modbus_answer answer = modbus_accept(request, bytes, all);

	fuzz_holds(answer.verdict == MODBUS_READ && answer.noise == noise && answer.echo == 0);
	fuzz_holds(answer.used == noise + length);
	look_at_frame(request, frame, length, &answer);
}

static void values(const struct modbus_request *request, const struct modbus_answer *answer)
{
	const struct probe probe = {
		.registers = { { true, request->function, request->first, 10 },
			       { true, request->function, request->first + 1, 100 } },
	};
	struct reading reading = { 0 };

	modbus_values(&probe, request, answer->registers, &reading);
	fuzz_holds(reading.has[TEMPERATURE]);
	fuzz_holds(reading.value[TEMPERATURE] == answer->registers[0] / 10.0);
	fuzz_holds(reading.has[HUMIDITY] == (request->count > 1));
	if (reading.has[HUMIDITY])
		fuzz_holds(reading.value[HUMIDITY] == answer->registers[1] / 100.0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct fuzz_bytes in = { data, size };
	int address = 1 + fuzz_byte(&in) % 247, function = 3 + fuzz_byte(&in) % 2;
	int first = fuzz_byte(&in) * 256, count = 1 + fuzz_byte(&in) % MODBUS_REGISTERS;
	struct modbus_request request = modbus_request(address, function, first, count);

	fuzz_holds(crc_of(request.frame, 6) == (unsigned)(request.frame[6] | request.frame[7] << 8));
	take_answers(&request, in);
	there_and_back(&request, in);
	struct modbus_answer answer = modbus_accept(&request, in.at, in.left);

	if (answer.verdict == MODBUS_READ)
		values(&request, &answer);
	return 0;
}
