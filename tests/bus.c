/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A bus of Modbus probes: turns, silences, time-outs, second tries, pauses, and
 * everything a far end can do wrong.
 */
#include "tests/bus_rig.h"

#include <fcntl.h>
#include <unistd.h>

#include "daemon/modbus.h"

/* 8N1 at 9600: 10 bits a character.  Request 8, answer 9 characters. */
static const double silence = 3.5 * 10 / 9600;
static const double timeout = 0.5 + 17 * 10.0 / 9600;

static size_t with_crc(uint8_t *frame, size_t length)
{
	uint16_t crc = modbus_crc(frame, length);

	frame[length] = (uint8_t)crc;
	frame[length + 1] = (uint8_t)(crc >> 8);
	return length + 2;
}

/* The answer of a probe: its registers 1 and 2, in tenths. */
static size_t answer_of(int address, int t, int h, uint8_t frame[9])
{
	const uint8_t bytes[] = { (uint8_t)address, 4, 4, (uint8_t)(t >> 8), (uint8_t)t,
				  (uint8_t)(h >> 8), (uint8_t)h };

	memcpy(frame, bytes, sizeof bytes);
	return with_crc(frame, sizeof bytes);
}

static void hears_request(struct rig *rig, int address)
{
	struct modbus_request r = modbus_request(address, 4, 1, 2);

	rig_hears(rig, r.frame, sizeof r.frame);
}

static void says_answer(struct rig *rig, int address, int t, int h)
{
	uint8_t frame[9];

	rig_say(rig, frame, answer_of(address, t, h, frame));
}

static void open_and_ask(struct rig *rig, size_t probes)
{
	rig_init(rig, SPEAKS_MODBUS, probes);
	rig_start(rig);
	rig_told(rig, "open ask0 ");
	rig_hears_nothing(rig);
	rig_next(rig);
	hears_request(rig, 1);
}

static void a_round(void **state)
{
	(void)state;
	struct rig rig;

	open_and_ask(&rig, 3);
	assert_near(rig.mono, 100 + silence, 1e-9);
	assert_near(rig.due, rig.mono + timeout, 1e-9);
	rig.mono += 0.02;
	says_answer(&rig, 1, 251, 500);
	rig_told(&rig, "read0=25.1/50.0 ask1 ");
	/* the next request goes out no earlier and no later than the silence demands */
	assert_near(rig.due, rig.mono + silence, 1e-9);
	rig_at(&rig, rig.due - 1e-4);
	rig_hears_nothing(&rig);
	rig_next(&rig);
	hears_request(&rig, 2);
	says_answer(&rig, 2, -53, 1000);
	rig_told(&rig, "read1=-5.3/100.0 ask2 ");
	rig_next(&rig);
	hears_request(&rig, 3);
	says_answer(&rig, 3, 0, 0);
	rig_told(&rig, "read2=0.0/0.0 ");
	assert_near(rig.due, 110, 1e-9);
	rig_at(&rig, 109.9);
	rig_told(&rig, "");
	rig_at(&rig, 110.05);
	rig_told(&rig, "ask0 ");
	/* late to begin, but the next one is not */
	hears_request(&rig, 1);
	says_answer(&rig, 1, 200, 400);
	for (int i = 2; i <= 3; i++) {
		rig_next(&rig);
		says_answer(&rig, i, 200, 400);
	}
	assert_near(rig.due, 120, 1e-9);
	rig_free(&rig);
}

static void an_answer_byte_by_byte(void **state)
{
	(void)state;
	struct rig rig;
	uint8_t frame[9];

	open_and_ask(&rig, 1);
	answer_of(1, 251, 500, frame);
	for (size_t i = 0; i < sizeof frame - 1; i++) {
		rig.mono += 0.016;
		rig_say(&rig, frame + i, 1);
	}
	rig_told(&rig, "");
	rig_say(&rig, frame + sizeof frame - 1, 1);
	rig_told(&rig, "read0=25.1/50.0 ");
	rig_free(&rig);
}

static void a_dead_probe_costs_one_time_out(void **state)
{
	(void)state;
	struct rig rig;
	double asked;

	open_and_ask(&rig, 2);
	asked = rig.mono;
	rig_next(&rig);
	assert_near(rig.mono, asked + timeout, 1e-9);
	rig_told(&rig, "no_answer0 ask1 ");
	/* the line was silent long enough: no further wait */
	hears_request(&rig, 2);
	says_answer(&rig, 2, 200, 400);
	rig_told(&rig, "read1=20.0/40.0 ask0 ");
	rig_next(&rig);
	hears_request(&rig, 1);
	rig_next(&rig);
	rig_told(&rig, "no_answer0 ");
	assert_near(rig.due, 110, 1e-9);
	/* it sits out one round, is asked once in the next, then sits out three */
	for (int round = 1; round < 7; round++) {
		rig_next(&rig);
		if (round == 2 || round == 6) {
			rig_told(&rig, "ask0 ");
			hears_request(&rig, 1);
			rig_next(&rig);
			rig_told(&rig, "no_answer0 ask1 ");
		} else {
			rig_told(&rig, "ask1 ");
		}
		hears_request(&rig, 2);
		says_answer(&rig, 2, 200, 400);
		rig_told(&rig, "read1=20.0/40.0 ");
	}
	rig_free(&rig);
}

static void broken_answers_end_early(void **state)
{
	(void)state;
	struct rig rig;
	uint8_t frame[9];

	open_and_ask(&rig, 2);
	answer_of(1, 251, 500, frame);
	frame[4] ^= 1;
	rig.mono += 0.02;
	rig_say(&rig, frame, sizeof frame);
	rig_told(&rig, "");
	assert_near(rig.due, rig.mono + 0.05, 1e-9);
	rig_next(&rig);
	rig_told(&rig, "garbled0 ask1 ");
	hears_request(&rig, 2);
	says_answer(&rig, 2, 200, 400);
	rig_next(&rig);
	rig_told(&rig, "read1=20.0/40.0 ask0 ");
	hears_request(&rig, 1);
	/* the second try begins with noise, which does not end it before its time */
	rig_say(&rig, "\xff\x00\xff\x00\xff\x00\xff\x00\xff\x00", 10);
	rig.mono += 0.04;
	rig_say(&rig, "\xff", 1);
	assert_near(rig.due, rig.mono + 0.05, 1e-9);
	rig.mono += 0.04;
	says_answer(&rig, 1, 251, 500);
	rig_told(&rig, "read0=25.1/50.0 ");
	rig_free(&rig);
}

static void half_an_answer(void **state)
{
	(void)state;
	struct rig rig;
	uint8_t frame[9];
	double asked;

	open_and_ask(&rig, 1);
	asked = rig.mono;
	answer_of(1, 251, 500, frame);
	rig_say(&rig, frame, 5);
	assert_near(rig.due, asked + timeout, 1e-9);
	rig_next(&rig);
	rig_told(&rig, "garbled0 ask0 ");
	rig_free(&rig);
}

static void a_strangers_frame_alone(void **state)
{
	(void)state;
	struct rig rig;
	double asked;

	open_and_ask(&rig, 1);
	asked = rig.mono;
	says_answer(&rig, 77, 251, 500);
	assert_near(rig.due, asked + timeout, 1e-9);
	rig_next(&rig);
	rig_told(&rig, "wrong_address0 ask0 ");
	rig_free(&rig);
}

static void a_strangers_frame_in_front(void **state)
{
	(void)state;
	struct rig rig;
	uint8_t both[18];

	open_and_ask(&rig, 1);
	answer_of(77, 100, 100, both);
	answer_of(1, 251, 500, both + 9);
	rig_say(&rig, both, sizeof both);
	rig_told(&rig, "wrong_address- read0=25.1/50.0 ");
	rig_free(&rig);
}

static void a_late_answer_is_nobody_elses(void **state)
{
	(void)state;
	struct rig rig;

	open_and_ask(&rig, 3);
	rig_next(&rig);
	rig_told(&rig, "no_answer0 ask1 ");
	hears_request(&rig, 2);
	says_answer(&rig, 1, 111, 111);
	rig_told(&rig, "");
	says_answer(&rig, 2, 222, 222);
	rig_told(&rig, "read1=22.2/22.2 ask2 ");
	/* between two requests it is drained */
	says_answer(&rig, 1, 111, 111);
	assert_near(rig.due, rig.mono + silence, 1e-9);
	rig_next(&rig);
	hears_request(&rig, 3);
	rig_next(&rig);
	rig_told(&rig, "no_answer2 ask0 ");
	rig_free(&rig);
}

static void a_refusal_is_tried_once_more(void **state)
{
	(void)state;
	struct rig rig;
	uint8_t refusal[5] = { 1, 0x84, 6 };

	with_crc(refusal, 3);
	open_and_ask(&rig, 2);
	rig_say(&rig, refusal, sizeof refusal);
	rig_told(&rig, "refused0 ask1 ");
	rig_next(&rig);
	hears_request(&rig, 2);
	says_answer(&rig, 2, 200, 400);
	rig_next(&rig);
	hears_request(&rig, 1);
	rig_say(&rig, refusal, sizeof refusal);
	rig_told(&rig, "read1=20.0/40.0 ask0 refused0 ");
	/* it is there, so it is asked every round */
	rig_next(&rig);
	rig_told(&rig, "ask0 ");
	rig_free(&rig);
}

static void an_echoing_adapter(void **state)
{
	(void)state;
	struct rig rig;
	struct modbus_request request = modbus_request(1, 4, 1, 2);
	uint8_t bytes[17];

	open_and_ask(&rig, 1);
	memcpy(bytes, request.frame, 8);
	answer_of(1, 251, 500, bytes + 8);
	rig_say(&rig, bytes, 8);
	rig_say(&rig, bytes + 8, 9);
	rig_told(&rig, "read0=25.1/50.0 ");
	rig_next(&rig);
	hears_request(&rig, 1);
	rig_say(&rig, bytes, 8);
	rig_next(&rig);
	/* an echo alone is nothing at all */
	rig_told(&rig, "ask0 no_answer0 ask0 ");
	rig_free(&rig);
}

static void a_line_that_is_never_silent(void **state)
{
	(void)state;
	struct rig rig;

	rig_init(&rig, SPEAKS_MODBUS, 1);
	rig_start(&rig);
	rig_told(&rig, "open ask0 ");
	for (int i = 0; i < 300; i++) {
		rig.mono += 0.002;
		rig_say(&rig, "x", 1);
	}
	rig_hears_nothing(&rig);
	rig_told(&rig, "garbled0 ask0 ");
	rig_free(&rig);
}

static void a_port_that_takes_no_bytes(void **state)
{
	(void)state;
	struct rig rig;
	char junk[4096] = { 0 };
	int other;

	rig_init(&rig, SPEAKS_MODBUS, 1);
	rig_start(&rig);
	rig_told(&rig, "open ask0 ");
	other = open(rig.port, O_RDWR | O_NOCTTY | O_NONBLOCK);
	assert_true(other >= 0);
	while (write(other, junk, sizeof junk) > 0 || write(other, junk, 1) > 0)
		;
	rig_next(&rig);
	assert_near(rig.due, rig.mono + 0.002, 1e-9);
	while (rig.log[0] == '\0')
		rig_next(&rig);
	assert_true(rig.mono - 100 < 1);
	rig_told(&rig, "no_answer0 ask0 ");
	/* what was stuck is dropped, so the second try got through */
	assert_near(rig.due, rig.mono + timeout, 1e-9);
	close(other);
	rig_free(&rig);
}

/* ---- probes with two requests ---- */

static void hears_single(struct rig *rig, int first)
{
	struct modbus_request r = modbus_request(1, 4, first, 1);

	rig_hears(rig, r.frame, sizeof r.frame);
}

static void says_single(struct rig *rig, int value)
{
	uint8_t frame[7] = { 1, 4, 2, (uint8_t)(value >> 8), (uint8_t)value };

	rig_say(rig, frame, with_crc(frame, 5));
}

/* Temperature in register 1, humidity in register 20. */
static void open_and_ask_two(struct rig *rig, double every)
{
	rig_init(rig, SPEAKS_MODBUS, 1);
	rig->probes[0].registers[HUMIDITY].address = 20;
	rig->settings.every = every;
	rig_start(rig);
	rig_told(rig, "open ask0 ");
	rig_next(rig);
	hears_single(rig, 1);
}

static void two_requests_make_one_reading(void **state)
{
	(void)state;
	struct rig rig;

	open_and_ask_two(&rig, 10);
	says_single(&rig, 251);
	rig_told(&rig, "");
	rig_next(&rig);
	hears_single(&rig, 20);
	says_single(&rig, 500);
	rig_told(&rig, "read0=25.1/50.0 ");
	rig_free(&rig);
}

/* The answer to the first request, later than its time-out, looks just like an
 * answer to the second: so the second is not asked while it may still come. */
static void a_late_answer_is_no_other_registers(void **state)
{
	(void)state;
	struct rig rig;
	double given_up;

	open_and_ask_two(&rig, 1);
	rig_next(&rig);
	given_up = rig.mono;
	rig_told(&rig, "no_answer0 ask0 ");
	/* the second try repeats the first request, and ends with it */
	hears_single(&rig, 1);
	says_single(&rig, 251);
	rig_told(&rig, "read0=25.1/- ");
	/* the probe is then left alone until nothing late can come */
	while (rig.log[0] == '\0') {
		rig_next(&rig);
		says_single(&rig, 252);
	}
	rig_told(&rig, "ask0 ");
	assert_true(rig.mono >= given_up + 3 && rig.mono < given_up + 4.1);
	rig_free(&rig);
}

static void half_a_probe(void **state)
{
	(void)state;
	struct rig rig;

	open_and_ask_two(&rig, 10);
	says_single(&rig, 251);
	rig_next(&rig);
	hears_single(&rig, 20);
	rig_next(&rig);
	rig_told(&rig, "read0=25.1/- no_answer0 ask0 ");
	hears_single(&rig, 20);
	says_single(&rig, 500);
	rig_told(&rig, "read0=-/50.0 ");
	rig_free(&rig);
}

static void a_refused_register_does_not_hide_the_other(void **state)
{
	(void)state;
	struct rig rig;
	uint8_t refusal[5] = { 1, 0x84, 2 };

	with_crc(refusal, 3);
	open_and_ask_two(&rig, 10);
	rig_say(&rig, refusal, sizeof refusal);
	rig_told(&rig, "");
	rig_next(&rig);
	hears_single(&rig, 20);
	says_single(&rig, 500);
	rig_told(&rig, "read0=-/50.0 refused0 ask0 ");
	rig_next(&rig);
	hears_single(&rig, 1);
	rig_free(&rig);
}

/* ---- the port ---- */

static void a_lost_port_is_found_again(void **state)
{
	(void)state;
	struct rig rig;

	open_and_ask(&rig, 2);
	rig_unplug(&rig);
	rig_step(&rig);
	rig_told(&rig, "no_answer0 shut ");
	assert_int_equal(bus_fd(rig.bus), -1);
	assert_near(rig.due, rig.mono + 2, 1e-9);
	for (int i = 0; i < 3; i++)
		rig_next(&rig);
	/* told again only because the reason is another one now */
	rig_told(&rig, "shut ");
	assert_near(rig.due, rig.mono + 2, 1e-9);
	rig_plug(&rig);
	rig_next(&rig);
	rig_told(&rig, "open ask0 ");
	rig_next(&rig);
	hears_request(&rig, 1);
	says_answer(&rig, 1, 251, 500);
	rig_told(&rig, "read0=25.1/50.0 ask1 ");
	rig_free(&rig);
}

static void a_port_that_is_not_there_yet(void **state)
{
	(void)state;
	struct rig rig;

	rig_init(&rig, SPEAKS_MODBUS, 1);
	rig.settings.port = "/dev/nowhere";
	rig_start(&rig);
	rig_told(&rig, "shut ");
	for (int i = 0; i < 5; i++) {
		assert_near(rig.due, rig.mono + 2, 1e-9);
		rig_next(&rig);
	}
	rig_told(&rig, "");
	rig_free(&rig);
}

/* Pauses of the silent end with the old port. */
static void a_new_port_is_a_new_chance(void **state)
{
	(void)state;
	struct rig rig;

	open_and_ask(&rig, 1);
	rig_next(&rig);
	rig_next(&rig);
	rig_told(&rig, "no_answer0 ask0 no_answer0 ");
	for (int i = 0; i < 3; i++)
		rig_next(&rig);
	/* asked a third time; now three rounds would be sat out */
	rig_told(&rig, "ask0 no_answer0 ");
	rig_unplug(&rig);
	rig_step(&rig);
	rig_plug(&rig);
	rig_next(&rig);
	rig_told(&rig, "shut open ask0 ");
	rig_free(&rig);
}

/* A round that could not begin in time begins at once, and none is made up for. */
static void a_round_long_overdue(void **state)
{
	(void)state;
	struct rig rig;

	open_and_ask(&rig, 1);
	says_answer(&rig, 1, 200, 400);
	rig_told(&rig, "read0=20.0/40.0 ");
	rig_at(&rig, 135);
	rig_told(&rig, "ask0 ");
	hears_request(&rig, 1);
	says_answer(&rig, 1, 200, 400);
	rig_told(&rig, "read0=20.0/40.0 ");
	assert_near(rig.due, 145, 1e-9);
	rig_free(&rig);
}

static void a_bus_without_probes(void **state)
{
	(void)state;
	struct rig rig;

	rig_init(&rig, SPEAKS_MODBUS, 0);
	rig_start(&rig);
	rig_told(&rig, "open ");
	rig_next(&rig);
	assert_true(rig.due > rig.mono);
	rig_told(&rig, "");
	rig_free(&rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_round),
		cmocka_unit_test(an_answer_byte_by_byte),
		cmocka_unit_test(a_dead_probe_costs_one_time_out),
		cmocka_unit_test(broken_answers_end_early),
		cmocka_unit_test(half_an_answer),
		cmocka_unit_test(a_strangers_frame_alone),
		cmocka_unit_test(a_strangers_frame_in_front),
		cmocka_unit_test(a_late_answer_is_nobody_elses),
		cmocka_unit_test(a_refusal_is_tried_once_more),
		cmocka_unit_test(an_echoing_adapter),
		cmocka_unit_test(a_line_that_is_never_silent),
		cmocka_unit_test(a_port_that_takes_no_bytes),
		cmocka_unit_test(two_requests_make_one_reading),
		cmocka_unit_test(a_late_answer_is_no_other_registers),
		cmocka_unit_test(half_a_probe),
		cmocka_unit_test(a_refused_register_does_not_hide_the_other),
		cmocka_unit_test(a_lost_port_is_found_again),
		cmocka_unit_test(a_port_that_is_not_there_yet),
		cmocka_unit_test(a_new_port_is_a_new_chance),
		cmocka_unit_test(a_round_long_overdue),
		cmocka_unit_test(a_bus_without_probes),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
