/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A bus of Modbus probes: turns, silences, time-outs, second tries, pauses, and
 * a port that comes and goes.
 */
#include "tests/bus_rig.h"

#include <fcntl.h>
#include <unistd.h>

/* 8N1 at 9600: 10 bits a character.  Request 8, answer 9 characters. */
static const double silence = 3.5 * 10 / 9600;
static const double timeout = 0.5 + 17 * 10.0 / 9600;

static void a_round(void **state)
{
	(void)state;
	struct rig rig;

	rig_open_and_ask(&rig, 3);
	assert_near(rig.mono, 100 + silence, 1e-9);
	assert_near(rig.due, rig.mono + timeout, 1e-9);
	rig.mono += 0.02;
	rig_says_answer(&rig, 1, 251, 500);
	rig_told(&rig, "read0=25.1/50.0 ask1 ");
	/* the next request goes out no earlier and no later than the silence demands */
	assert_near(rig.due, rig.mono + silence, 1e-9);
	rig_at(&rig, rig.due - 1e-4);
	rig_hears_nothing(&rig);
	rig_next(&rig);
	rig_hears_request(&rig, 2);
	rig_says_answer(&rig, 2, -53, 1000);
	rig_told(&rig, "read1=-5.3/100.0 ask2 ");
	rig_next(&rig);
	rig_hears_request(&rig, 3);
	rig_says_answer(&rig, 3, 0, 0);
	rig_told(&rig, "read2=0.0/0.0 ");
	assert_near(rig.due, 110, 1e-9);
	rig_at(&rig, 109.9);
	rig_told(&rig, "");
	rig_at(&rig, 110.05);
	rig_told(&rig, "ask0 ");
	/* late to begin, but the next one is not */
	rig_hears_request(&rig, 1);
	rig_says_answer(&rig, 1, 200, 400);
	for (int i = 2; i <= 3; i++) {
		rig_next(&rig);
		rig_says_answer(&rig, i, 200, 400);
	}
	assert_near(rig.due, 120, 1e-9);
	rig_free(&rig);
}

static void an_answer_byte_by_byte(void **state)
{
	(void)state;
	struct rig rig;
	uint8_t frame[9];

	rig_open_and_ask(&rig, 1);
	rig_answer_of(1, 251, 500, frame);
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

	rig_open_and_ask(&rig, 2);
	asked = rig.mono;
	rig_next(&rig);
	assert_near(rig.mono, asked + timeout, 1e-9);
	rig_told(&rig, "no_answer0 ask1 ");
	/* the line was silent long enough: no further wait */
	rig_hears_request(&rig, 2);
	rig_says_answer(&rig, 2, 200, 400);
	rig_told(&rig, "read1=20.0/40.0 ask0 ");
	rig_next(&rig);
	rig_hears_request(&rig, 1);
	rig_next(&rig);
	rig_told(&rig, "no_answer0 ");
	assert_near(rig.due, 110, 1e-9);
	/* it sits out one round, is asked once in the next, then sits out three */
	for (int round = 1; round < 7; round++) {
		rig_next(&rig);
		if (round == 2 || round == 6) {
			rig_told(&rig, "ask0 ");
			rig_hears_request(&rig, 1);
			rig_next(&rig);
			rig_told(&rig, "no_answer0 ask1 ");
		} else {
			rig_told(&rig, "ask1 ");
		}
		rig_hears_request(&rig, 2);
		rig_says_answer(&rig, 2, 200, 400);
		rig_told(&rig, "read1=20.0/40.0 ");
	}
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

/* ---- the port ---- */

static void a_lost_port_is_found_again(void **state)
{
	(void)state;
	struct rig rig;

	rig_open_and_ask(&rig, 2);
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
	rig_hears_request(&rig, 1);
	rig_says_answer(&rig, 1, 251, 500);
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

	rig_open_and_ask(&rig, 1);
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

	rig_open_and_ask(&rig, 1);
	rig_says_answer(&rig, 1, 200, 400);
	rig_told(&rig, "read0=20.0/40.0 ");
	rig_at(&rig, 135);
	rig_told(&rig, "ask0 ");
	rig_hears_request(&rig, 1);
	rig_says_answer(&rig, 1, 200, 400);
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
		cmocka_unit_test(a_line_that_is_never_silent),
		cmocka_unit_test(a_port_that_takes_no_bytes),
		cmocka_unit_test(a_lost_port_is_found_again),
		cmocka_unit_test(a_port_that_is_not_there_yet),
		cmocka_unit_test(a_new_port_is_a_new_chance),
		cmocka_unit_test(a_round_long_overdue),
		cmocka_unit_test(a_bus_without_probes),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
