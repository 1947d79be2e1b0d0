/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A bus of Modbus probes and everything the far end can do wrong.
 */
#include "tests/bus_rig.h"

#include "daemon/modbus.h"

/* 8N1 at 9600: 10 bits a character.  Request 8, answer 9 characters. */
static const double silence = 3.5 * 10 / 9600;
static const double timeout = 0.5 + 17 * 10.0 / 9600;

static void broken_answers_end_early(void **state)
{
	(void)state;
	struct rig rig;
	uint8_t frame[9];

	rig_open_and_ask(&rig, 2);
	rig_answer_of(1, 251, 500, frame);
	frame[4] ^= 1;
	rig.mono += 0.02;
	rig_say(&rig, frame, sizeof frame);
	rig_told(&rig, "");
	assert_near(rig.due, rig.mono + 0.05, 1e-9);
	rig_next(&rig);
	rig_told(&rig, "garbled0 ask1 ");
	rig_hears_request(&rig, 2);
	rig_says_answer(&rig, 2, 200, 400);
	rig_next(&rig);
	rig_told(&rig, "read1=20.0/40.0 ask0 ");
	rig_hears_request(&rig, 1);
	/* the second try begins with noise, which does not end it before its time */
	rig_say(&rig, "\xff\x00\xff\x00\xff\x00\xff\x00\xff\x00", 10);
	rig.mono += 0.04;
	rig_say(&rig, "\xff", 1);
	assert_near(rig.due, rig.mono + 0.05, 1e-9);
	rig.mono += 0.04;
	rig_says_answer(&rig, 1, 251, 500);
	rig_told(&rig, "read0=25.1/50.0 ");
	rig_free(&rig);
}

static void half_an_answer(void **state)
{
	(void)state;
	struct rig rig;
	uint8_t frame[9];
	double asked;

	rig_open_and_ask(&rig, 1);
	asked = rig.mono;
	rig_answer_of(1, 251, 500, frame);
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

	rig_open_and_ask(&rig, 1);
	asked = rig.mono;
	rig_says_answer(&rig, 77, 251, 500);
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

	rig_open_and_ask(&rig, 1);
	rig_answer_of(77, 100, 100, both);
	rig_answer_of(1, 251, 500, both + 9);
	rig_say(&rig, both, sizeof both);
	rig_told(&rig, "wrong_address- read0=25.1/50.0 ");
	rig_free(&rig);
}

static void a_late_answer_is_nobody_elses(void **state)
{
	(void)state;
	struct rig rig;

	rig_open_and_ask(&rig, 3);
	rig_next(&rig);
	rig_told(&rig, "no_answer0 ask1 ");
	rig_hears_request(&rig, 2);
	rig_says_answer(&rig, 1, 111, 111);
	rig_told(&rig, "");
	rig_says_answer(&rig, 2, 222, 222);
	rig_told(&rig, "read1=22.2/22.2 ask2 ");
	/* between two requests it is drained */
	rig_says_answer(&rig, 1, 111, 111);
	assert_near(rig.due, rig.mono + silence, 1e-9);
	rig_next(&rig);
	rig_hears_request(&rig, 3);
	rig_next(&rig);
	rig_told(&rig, "no_answer2 ask0 ");
	rig_free(&rig);
}

static void a_refusal_is_tried_once_more(void **state)
{
	(void)state;
	struct rig rig;
	uint8_t refusal[5] = { 1, 0x84, 6 };

	rig_with_crc(refusal, 3);
	rig_open_and_ask(&rig, 2);
	rig_say(&rig, refusal, sizeof refusal);
	rig_told(&rig, "refused0 ask1 ");
	rig_next(&rig);
	rig_hears_request(&rig, 2);
	rig_says_answer(&rig, 2, 200, 400);
	rig_next(&rig);
	rig_hears_request(&rig, 1);
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

	rig_open_and_ask(&rig, 1);
	memcpy(bytes, request.frame, 8);
	rig_answer_of(1, 251, 500, bytes + 8);
	rig_say(&rig, bytes, 8);
	rig_say(&rig, bytes + 8, 9);
	rig_told(&rig, "read0=25.1/50.0 ");
	rig_next(&rig);
	rig_hears_request(&rig, 1);
	rig_say(&rig, bytes, 8);
	rig_next(&rig);
	/* an echo alone is nothing at all */
	rig_told(&rig, "ask0 no_answer0 ask0 ");
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

	rig_say(rig, frame, rig_with_crc(frame, 5));
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

	rig_with_crc(refusal, 3);
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

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(broken_answers_end_early),
		cmocka_unit_test(half_an_answer),
		cmocka_unit_test(a_strangers_frame_alone),
		cmocka_unit_test(a_strangers_frame_in_front),
		cmocka_unit_test(a_late_answer_is_nobody_elses),
		cmocka_unit_test(a_refusal_is_tried_once_more),
		cmocka_unit_test(an_echoing_adapter),
		cmocka_unit_test(two_requests_make_one_reading),
		cmocka_unit_test(a_late_answer_is_no_other_registers),
		cmocka_unit_test(half_a_probe),
		cmocka_unit_test(a_refused_register_does_not_hide_the_other),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
