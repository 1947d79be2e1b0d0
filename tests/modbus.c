/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * CRC, requests and answers of Modbus RTU.  MB-SL is "MODBUS over Serial Line
 * Specification and Implementation Guide" V1.02, MB-AP "MODBUS Application
 * Protocol Specification" V1.1b3; the latter prints frames without address and
 * CRC, which are added here (computed: by an independent shift register, and
 * checked again by libmodbus in tests/partner_modbus.c).
 */
#include "tests/cm.h"

#include "daemon/modbus.h"

#define BYTES(...) (const uint8_t[]){ __VA_ARGS__ }, sizeof((const uint8_t[]){ __VA_ARGS__ })

static void crc_vectors(void **state)
{
	(void)state;
	/* MB-SL appendix B, worked example: register 0x1241, sent 41 12 */
	assert_int_equal(modbus_crc(BYTES(0x02, 0x07)), 0x1241);
	/* the check value of CRC-16/MODBUS in catalogues of CRCs (from memory) */
	assert_int_equal(modbus_crc((const uint8_t *)"123456789", 9), 0x4b37);
	/* widely quoted frames: request and answer of slave 17, function 03 */
	assert_int_equal(modbus_crc(BYTES(0x11, 0x03, 0x00, 0x6b, 0x00, 0x03)), 0x8776);
	assert_int_equal(modbus_crc(BYTES(0x11, 0x03, 0x06, 0xae, 0x41, 0x56, 0x52, 0x43, 0x40)),
			 0xad49);
	/* over a whole good frame it is nought: follows from the division */
	assert_int_equal(modbus_crc(BYTES(0x02, 0x07, 0x41, 0x12)), 0);
}

static void requests_as_specified(void **state)
{
	(void)state;
	/* MB-AP 6.3: holding registers 108-110 */
	const uint8_t holding[] = { 0x01, 0x03, 0x00, 0x6b, 0x00, 0x03, 0x74, 0x17 };
	/* MB-AP 6.4: input register 9 */
	const uint8_t input[] = { 0x01, 0x04, 0x00, 0x08, 0x00, 0x01, 0xb0, 0x08 };
	struct modbus_request r = modbus_request(1, 3, 0x6b, 3);

	assert_memory_equal(r.frame, holding, sizeof holding);
	assert_int_equal(modbus_reply_length(&r), 11);
	r = modbus_request(1, 4, 8, 1);
	assert_memory_equal(r.frame, input, sizeof input);
	assert_int_equal(modbus_reply_length(&r), 7);
}

static void answers_as_specified(void **state)
{
	(void)state;
	struct modbus_request r = modbus_request(1, 3, 0x6b, 3);
	/* MB-AP 6.3: 555, 0, 100 */
	struct modbus_answer a = modbus_accept(&r, BYTES(0x01, 0x03, 0x06, 0x02, 0x2b, 0x00, 0x00,
							 0x00, 0x64, 0x05, 0x7a));

	assert_int_equal(a.verdict, MODBUS_READ);
	assert_int_equal(a.used, 11);
	assert_int_equal(a.registers[0], 555);
	assert_int_equal(a.registers[1], 0);
	assert_int_equal(a.registers[2], 100);
	r = modbus_request(1, 4, 8, 1);
	/* MB-AP 6.4: 10 */
	a = modbus_accept(&r, BYTES(0x01, 0x04, 0x02, 0x00, 0x0a, 0x39, 0x37));
	assert_int_equal(a.verdict, MODBUS_READ);
	assert_int_equal(a.registers[0], 10);
}

static void registers_are_signed(void **state)
{
	(void)state;
	/* -100 and 600: computed */
	struct modbus_request r = modbus_request(1, 4, 1, 2);
	struct modbus_answer a = modbus_accept(
		&r, BYTES(0x01, 0x04, 0x04, 0xff, 0x9c, 0x02, 0x58, 0x0b, 0x24));

	assert_int_equal(a.verdict, MODBUS_READ);
	assert_int_equal(a.registers[0], -100);
	assert_int_equal(a.registers[1], 600);
}

static void exceptions(void **state)
{
	(void)state;
	/* MB-AP 7: function | 0x80, code; frames for address 1 computed */
	struct modbus_request r = modbus_request(1, 3, 0, 1);
	struct modbus_answer a = modbus_accept(&r, BYTES(0x01, 0x83, 0x02, 0xc0, 0xf1));

	assert_int_equal(a.verdict, MODBUS_EXCEPTION);
	assert_int_equal(a.exception, 2);
	r = modbus_request(1, 4, 0, 1);
	a = modbus_accept(&r, BYTES(0x01, 0x84, 0x02, 0xc2, 0xc1));
	assert_int_equal(a.verdict, MODBUS_EXCEPTION);
	/* the same exception does not answer a request of the other function */
	a = modbus_accept(&r, BYTES(0x01, 0x83, 0x02, 0xc0, 0xf1));
	assert_int_equal(a.verdict, MODBUS_BROKEN);
}

static const uint8_t good[] = { 0x01, 0x04, 0x04, 0x01, 0x31, 0x02, 0x22, 0x2a, 0xce };

static struct modbus_request good_request(void)
{
	return modbus_request(1, 4, 1, 2);
}

/* However it is cut up on its way, it is taken with its last byte and not before. */
static void any_part_is_not_enough(void **state)
{
	(void)state;
	struct modbus_request r = good_request();

	for (size_t n = 0; n < sizeof good; n++)
		assert_int_equal(modbus_accept(&r, good, n).verdict, MODBUS_MORE);
	assert_int_equal(modbus_accept(&r, good, sizeof good).verdict, MODBUS_READ);
}

static void any_flipped_bit_is_no_answer(void **state)
{
	(void)state;
	struct modbus_request r = good_request();

	for (size_t bit = 0; bit < 8 * sizeof good; bit++) {
		uint8_t bytes[sizeof good];

		memcpy(bytes, good, sizeof good);
		bytes[bit / 8] ^= (uint8_t)(1U << bit % 8);
		assert_int_equal(modbus_accept(&r, bytes, sizeof bytes).verdict, MODBUS_MORE);
	}
}

static void noise_in_front_is_stepped_over(void **state)
{
	(void)state;
	struct modbus_request r = good_request();
	/* one of them looks like the beginning of an answer with 250 bytes of data */
	uint8_t bytes[5 + sizeof good] = { 0x00, 0xff, 0x01, 0x04, 0xfa };
	struct modbus_answer a;

	memcpy(bytes + 5, good, sizeof good);
	a = modbus_accept(&r, bytes, sizeof bytes);
	assert_int_equal(a.verdict, MODBUS_READ);
	assert_int_equal(a.noise, 5);
	assert_int_equal(a.used, sizeof bytes);
	assert_int_equal(a.registers[0], 305);
	assert_int_equal(a.registers[1], 546);
}

static void echo_is_stepped_over(void **state)
{
	(void)state;
	struct modbus_request r = good_request();
	uint8_t bytes[MODBUS_REQUEST + 1 + sizeof good] = { 0 };
	struct modbus_answer a;

	memcpy(bytes, r.frame, MODBUS_REQUEST);
	a = modbus_accept(&r, bytes, MODBUS_REQUEST);
	assert_int_equal(a.verdict, MODBUS_MORE);
	assert_int_equal(a.echo, MODBUS_REQUEST);
	memcpy(bytes + MODBUS_REQUEST + 1, good, sizeof good);
	a = modbus_accept(&r, bytes, sizeof bytes);
	assert_int_equal(a.verdict, MODBUS_READ);
	assert_int_equal(a.echo, MODBUS_REQUEST);
	assert_int_equal(a.noise, 1);
}

/* No request can be taken for an answer, not even to itself. */
static void no_echo_reads_as_an_answer(void **state)
{
	(void)state;
	for (int first = 0; first < 0x10000; first += 7)
		for (int count = 1; count <= 2; count++) {
			struct modbus_request r = modbus_request(3, 4, first, count);
			struct modbus_request other = modbus_request(3, 4, first ^ 1, count);

			assert_int_equal(modbus_accept(&other, r.frame, MODBUS_REQUEST).verdict,
					 MODBUS_MORE);
		}
}

static void somebody_elses_frame(void **state)
{
	(void)state;
	struct modbus_request r = modbus_request(7, 4, 1, 2);
	struct modbus_answer a = modbus_accept(&r, good, sizeof good);

	assert_int_equal(a.verdict, MODBUS_STRANGER);
	assert_int_equal(a.address, 1);
	assert_int_equal(a.used, sizeof good);
}

/* Good by its CRC, ours by its address, and yet no answer to what was asked. */
static void wrong_function_or_count(void **state)
{
	(void)state;
	struct modbus_request three = modbus_request(1, 3, 1, 2), one = modbus_request(1, 4, 1, 1);

	assert_int_equal(modbus_accept(&three, good, sizeof good).verdict, MODBUS_BROKEN);
	assert_int_equal(modbus_accept(&one, good, sizeof good).verdict, MODBUS_BROKEN);
}

static struct probe probe_with(struct register_at t, struct register_at h)
{
	struct probe p = { .address = 9 };

	p.registers[TEMPERATURE] = t;
	p.registers[HUMIDITY] = h;
	return p;
}

static void neighbours_share_a_request(void **state)
{
	(void)state;
	const struct register_at t = { true, 4, 1, 10 }, h = { true, 4, 2, 10 };
	const struct register_at before = { true, 4, 0, 100 }, holding = { true, 3, 2, 10 };
	const struct register_at far = { true, 4, 3, 10 }, none = { 0 };
	struct modbus_request plan[QUANTITIES];
	struct probe p = probe_with(t, h);

	assert_int_equal(modbus_plan(&p, plan), 1);
	assert_int_equal(plan[0].first, 1);
	assert_int_equal(plan[0].count, 2);
	p = probe_with(t, before);
	assert_int_equal(modbus_plan(&p, plan), 1);
	assert_int_equal(plan[0].first, 0);
	p = probe_with(t, holding);
	assert_int_equal(modbus_plan(&p, plan), 2);
	assert_int_equal(plan[0].function, 4);
	assert_int_equal(plan[1].function, 3);
	p = probe_with(t, far);
	assert_int_equal(modbus_plan(&p, plan), 2);
	assert_int_equal(plan[1].first, 3);
	p = probe_with(none, h);
	assert_int_equal(modbus_plan(&p, plan), 1);
	assert_int_equal(plan[0].count, 1);
	p = probe_with(none, none);
	assert_int_equal(modbus_plan(&p, plan), 0);
}

static void values_have_their_divisors(void **state)
{
	(void)state;
	struct probe p = probe_with((struct register_at){ true, 4, 2, 10 },
				    (struct register_at){ true, 4, 1, 100 });
	struct modbus_request plan[QUANTITIES];
	struct reading r = { 0 };

	modbus_plan(&p, plan);
	modbus_values(&p, &plan[0], (const int16_t[]){ 5123, -54 }, &r);
	assert_true(r.has[TEMPERATURE] && r.has[HUMIDITY]);
	assert_near(r.value[TEMPERATURE], -5.4, 1e-12);
	assert_near(r.value[HUMIDITY], 51.23, 1e-12);
}

static void a_request_fills_only_its_own_quantity(void **state)
{
	(void)state;
	struct probe p = probe_with((struct register_at){ true, 4, 5, 10 },
				    (struct register_at){ true, 3, 5, 10 });
	struct modbus_request plan[QUANTITIES];
	struct reading r = { 0 };

	assert_int_equal(modbus_plan(&p, plan), 2);
	modbus_values(&p, &plan[1], (const int16_t[]){ 444 }, &r);
	assert_false(r.has[TEMPERATURE]);
	assert_near(r.value[HUMIDITY], 44.4, 1e-12);
}

static void silences(void **state)
{
	(void)state;
	/* MB-SL 2.5.1.1: 3.5 characters of 11 bits at 9600; fixed above 19200 */
	assert_near(modbus_silence(9600, 11.0 / 9600), 0.00401, 1e-5);
	assert_near(modbus_silence(38400, 11.0 / 38400), 0.00175, 1e-9);
	/* our own floor */
	assert_near(modbus_silence(19200, 10.0 / 19200), 0.002, 1e-9);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(crc_vectors),
		cmocka_unit_test(requests_as_specified),
		cmocka_unit_test(answers_as_specified),
		cmocka_unit_test(registers_are_signed),
		cmocka_unit_test(exceptions),
		cmocka_unit_test(any_part_is_not_enough),
		cmocka_unit_test(any_flipped_bit_is_no_answer),
		cmocka_unit_test(noise_in_front_is_stepped_over),
		cmocka_unit_test(echo_is_stepped_over),
		cmocka_unit_test(no_echo_reads_as_an_answer),
		cmocka_unit_test(somebody_elses_frame),
		cmocka_unit_test(wrong_function_or_count),
		cmocka_unit_test(neighbours_share_a_request),
		cmocka_unit_test(values_have_their_divisors),
		cmocka_unit_test(a_request_fills_only_its_own_quantity),
		cmocka_unit_test(silences),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
