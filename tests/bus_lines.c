/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A bus of text lines: listened to, asked as a whole, asked probe by probe.
 */
#include "tests/bus_rig.h"

static const double timeout = 1 + 80 * 10.0 / 9600;
static const double quiet = 0.05;

static void start(struct rig *rig, size_t probes, const char *line, const char *ask)
{
	rig_init(rig, SPEAKS_LINES, probes);
	rig->settings.line = (char *)line;
	rig->settings.ask = (char *)ask;
	rig_start(rig);
}

static void listen_to(struct rig *rig, size_t probes)
{
	start(rig, probes, "{probe},{temperature},{humidity}", NULL);
	rig_told(rig, "open ");
	assert_true(isinf(rig->due));
}

static void hears_text(struct rig *rig, const char *text)
{
	rig_hears(rig, text, strlen(text));
}

/* ---- listening ---- */

static void what_the_board_prints(void **state)
{
	(void)state;
	struct rig rig;

	listen_to(&rig, 2);
	/* opened in the middle of a line: its rest would name another probe */
	rig_say_text(&rig, "p1,2");
	rig_say_text(&rig, "4.5,50\r\np0,24.5,50\r\np1,");
	rig_told(&rig, "read0=24.5/50.0 ");
	rig.mono += 1;
	rig_say_text(&rig, "30,20\r\n\r\np0,nan,51\n");
	rig_told(&rig, "read1=30.0/20.0 read0=-/51.0 ");
	assert_true(isinf(rig.due));
	rig_free(&rig);
}

static void lines_of_no_use(void **state)
{
	(void)state;
	struct rig rig;
	char endless[400];

	listen_to(&rig, 2);
	rig_say_text(&rig, "\n# ready\n");
	rig_told(&rig, "garbled- ");
	rig_say_text(&rig, "p7,24.5,50\n");
	rig_told(&rig, "wrong_address- ");
	rig_say_text(&rig, "p1,nan,nan\n");
	rig_told(&rig, "refused1 ");
	rig_say(&rig, "p1,2\0004,50\n", 11);
	rig_told(&rig, "garbled- ");
	memset(endless, '1', sizeof endless);
	rig_say(&rig, endless, sizeof endless);
	rig_say(&rig, endless, sizeof endless);
	rig_told(&rig, "garbled- ");
	rig_say_text(&rig, "\np1,24,50\n");
	rig_told(&rig, "read1=24.0/50.0 ");
	rig_free(&rig);
}

/* A board that is reset in the middle of a number must not make another one. */
static void half_a_line_and_the_next(void **state)
{
	(void)state;
	struct rig rig;

	start(&rig, 1, "{temperature},{humidity}", NULL);
	rig_say_text(&rig, "\n1");
	rig.mono += 2.5;
	rig_say_text(&rig, "9.5,50\n");
	rig_told(&rig, "open garbled0 ");
	rig_say_text(&rig, "9.5,50\n");
	rig_told(&rig, "read0=9.5/50.0 ");
	rig_free(&rig);
}

static void a_board_that_goes_and_comes(void **state)
{
	(void)state;
	struct rig rig;

	listen_to(&rig, 1);
	rig_say_text(&rig, "\np0,2");
	rig_unplug(&rig);
	rig_step(&rig);
	rig_told(&rig, "shut ");
	rig_plug(&rig);
	rig_next(&rig);
	rig_say_text(&rig, "4,50\np0,24,50\n");
	rig_told(&rig, "open read0=24.0/50.0 ");
	rig_free(&rig);
}

static void a_template_that_is_none(void **state)
{
	(void)state;
	struct rig rig;

	start(&rig, 1, "{probe},{temprature}", NULL);
	rig_told(&rig, "shut ");
	assert_true(isinf(rig.due));
	assert_int_equal(bus_fd(rig.bus), -1);
	rig_free(&rig);
}

/* ---- asking the board ---- */

static void the_board_is_asked_once_a_round(void **state)
{
	(void)state;
	struct rig rig;

	start(&rig, 3, "{probe},{temperature},{humidity}", "READ");
	rig_told(&rig, "open ask0 ask1 ask2 ");
	assert_near(rig.due, 100 + quiet, 1e-9);
	rig_next(&rig);
	hears_text(&rig, "READ\n");
	/* its echo is nothing; each answer is worth waiting for another */
	rig_say_text(&rig, "READ\r\np0,20,40\r\n");
	rig.mono += 0.9;
	rig_say_text(&rig, "p1,21,41\n");
	rig_told(&rig, "read0=20.0/40.0 read1=21.0/41.0 ");
	assert_near(rig.due, rig.mono + timeout, 1e-9);
	rig_next(&rig);
	rig_told(&rig, "no_answer2 ");
	assert_near(rig.due, 110, 1e-9);
	/* a line names its probe, so it counts even now */
	rig_say_text(&rig, "p2,22,42\n");
	rig_told(&rig, "read2=22.0/42.0 ");
	rig_next(&rig);
	rig_told(&rig, "ask0 ask1 ask2 ");
	hears_text(&rig, "READ\n");
	rig_say_text(&rig, "p0,20,40\np1,21,41\np2,22,42\n");
	rig_told(&rig, "read0=20.0/40.0 read1=21.0/41.0 read2=22.0/42.0 ");
	assert_near(rig.due, 120, 1e-9);
	rig_free(&rig);
}

static void a_board_that_never_pauses(void **state)
{
	(void)state;
	struct rig rig;

	start(&rig, 2, "{probe},{temperature},{humidity}", "READ");
	rig_next(&rig);
	hears_text(&rig, "READ\n");
	rig_told(&rig, "open ask0 ask1 ");
	for (int i = 0; i < 19; i++) {
		rig.mono += 0.5;
		rig_say_text(&rig, "p0,20,40\n");
		rig_told(&rig, "read0=20.0/40.0 ");
	}
	/* the dead one is told all the same, and the next round begins */
	for (int i = 0; i < 4; i++) {
		rig.mono += 0.5;
		rig_say_text(&rig, "p0,20,40\n");
	}
	rig_told(&rig, "read0=20.0/40.0 read0=20.0/40.0 read0=20.0/40.0 no_answer1 "
		       "read0=20.0/40.0 ask0 ask1 ");
	rig_free(&rig);
}

/* ---- asking each probe ---- */

static void each_probe_is_asked_by_its_name(void **state)
{
	(void)state;
	struct rig rig;

	start(&rig, 2, "{probe},{temperature},{humidity}", "get {probe} now {probe}\r");
	rig_told(&rig, "open ask0 ");
	rig_next(&rig);
	hears_text(&rig, "get p0 now p0\r");
	rig_say_text(&rig, "p0,20,40\r\n");
	rig_told(&rig, "read0=20.0/40.0 ask1 ");
	rig_next(&rig);
	hears_text(&rig, "get p1 now p1\r");
	/* somebody else's line is not an answer, and the wait goes on */
	rig_say_text(&rig, "p0,20,40\r\n");
	rig_next(&rig);
	rig_told(&rig, "wrong_address1 ask1 ");
	hears_text(&rig, "get p1 now p1\r");
	rig_say_text(&rig, "get p1 now p1\np1,nan,nan\n");
	rig_told(&rig, "refused1 ");
	assert_near(rig.due, 110, 1e-9);
	rig_free(&rig);
}

static void silence_and_nonsense(void **state)
{
	(void)state;
	struct rig rig;
	double asked;

	start(&rig, 2, "{probe},{temperature},{humidity}", "{probe}");
	rig_next(&rig);
	asked = rig.mono;
	hears_text(&rig, "p0\n");
	rig_told(&rig, "open ask0 ");
	/* some lines of no use in front of the answer do no harm */
	rig_say_text(&rig, "measuring\np0,20,40\n");
	rig_told(&rig, "read0=20.0/40.0 ask1 ");
	rig_next(&rig);
	asked = rig.mono;
	hears_text(&rig, "p1\n");
	rig_say_text(&rig, "what?\n");
	assert_near(rig.due, asked + timeout + 3 * 10.0 / 9600, 1e-9);
	rig_next(&rig);
	rig_told(&rig, "garbled1 ask1 ");
	hears_text(&rig, "p1\n");
	rig_next(&rig);
	rig_told(&rig, "no_answer1 ");
	rig_free(&rig);
}

/* The rest of an answer given up must not be read with, or as, the next. */
static void half_an_answer_and_the_next(void **state)
{
	(void)state;
	struct rig rig;

	start(&rig, 1, "{temperature},{humidity}", "{probe}");
	rig_next(&rig);
	hears_text(&rig, "p0\n");
	rig_say_text(&rig, "2");
	rig_next(&rig);
	rig_told(&rig, "open ask0 garbled0 ask0 ");
	hears_text(&rig, "p0\n");
	rig_say_text(&rig, "4.5,50\n");
	rig_told(&rig, "");
	rig_say_text(&rig, "24.6,50\n");
	rig_told(&rig, "read0=24.6/50.0 ");
	rig_free(&rig);
}

/* The tail of what was under way when the port was opened is no answer. */
static void opened_in_the_middle_of_a_line(void **state)
{
	(void)state;
	struct rig rig;

	start(&rig, 1, "{temperature},{humidity}", "{probe}");
	rig.mono += 0.03;
	rig_say_text(&rig, "4.5,50\n9");
	assert_near(rig.due, rig.mono + quiet, 1e-9);
	rig_next(&rig);
	hears_text(&rig, "p0\n");
	rig_say_text(&rig, "24.5,50\n");
	rig_told(&rig, "open ask0 read0=24.5/50.0 ");
	rig_free(&rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_the_board_prints),
		cmocka_unit_test(lines_of_no_use),
		cmocka_unit_test(half_a_line_and_the_next),
		cmocka_unit_test(a_board_that_goes_and_comes),
		cmocka_unit_test(a_template_that_is_none),
		cmocka_unit_test(the_board_is_asked_once_a_round),
		cmocka_unit_test(a_board_that_never_pauses),
		cmocka_unit_test(each_probe_is_asked_by_its_name),
		cmocka_unit_test(silence_and_nonsense),
		cmocka_unit_test(half_an_answer_and_the_next),
		cmocka_unit_test(opened_in_the_middle_of_a_line),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
