/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The sequence of a scan against made-up lines, without bytes and without
 * time: what is asked of whom, how often, and what is made of the answers.
 */
#include "tests/cm.h"

#include <stdlib.h>

#include "daemon/scan.h"
#include "daemon/scan_doubt.h"

enum manner {
	PLAIN,
	MUTE,                   /* keeps silent instead of refusing */
	GARBLES,                /* never a whole answer */
	LATE,                   /* every answer comes during the next question */
};

struct station {
	int address, baud;
	int function, first, count;
	int16_t word[2];
	enum manner manner;
};

enum { QUESTIONS = 20000 };

/* What has been asked, and how the line behaved. */
struct line {
	const struct station *stations;
	size_t count;
	int baud;
	enum parity parity;
	size_t asked, silent, sets, first_asked[SCAN_LAST + 1];
	double granted;         /* s of the silent ones' time-outs */
	int owes;               /* an address whose answer comes late; 0: none */
	bool noise;             /* nobody is understood: the line is never quiet */
};

static const struct station *station_at(const struct line *line, int address)
{
	for (size_t i = 0; i < line->count; i++)
		if (line->stations[i].address == address && line->stations[i].baud == line->baud)
			return &line->stations[i];
	return NULL;
}

static enum scan_outcome answer(const struct station *s, const struct modbus_request *request,
				struct modbus_answer *a)
{
	int at = request->first - s->first;

	if (s->manner == GARBLES)
		return SCAN_GARBLED;
	if (s->function != request->function || at < 0 || at + request->count > s->count)
		return s->manner == MUTE ? SCAN_SILENT : SCAN_REFUSED;
	*a = (struct modbus_answer){ .verdict = MODBUS_READ, .address = request->address };
	for (int i = 0; i < request->count; i++)
		a->registers[i] = s->word[at + i];
	return SCAN_READ;
}

static enum scan_outcome ask(struct line *line, struct scan *scan, const struct scan_step *step,
			     struct modbus_answer *a)
{
	const struct station *s = station_at(line, step->request.address);

	assert_true(step->request.function == 3 || step->request.function == 4);
	assert_in_range(step->request.address, 1, 247);
	line->asked++;
	line->first_asked[step->request.address]++;
	if (line->owes)
		scan_overheard(scan, line->owes);
	line->owes = 0;
	if (line->noise)
		return SCAN_GARBLED;
	if (!s || line->parity != PARITY_NONE)
		return SCAN_SILENT;
	/* Late by more than 0.2 s and by less than 2 s. */
	if (s->manner == LATE && step->timeout < 1) {
		line->owes = s->address;
		return SCAN_SILENT;
	}
	return answer(s, &step->request, a);
}

static void run(struct line *line, struct scan *scan)
{
	struct scan_step step;

	for (size_t i = 0; i < QUESTIONS; i++) {
		struct modbus_answer a;
		enum scan_outcome outcome;

		scan_next(scan, &step);
		if (step.act == SCAN_DONE)
			return;
		if (step.act == SCAN_SET) {
			line->baud = step.pass->baud;
			line->parity = step.pass->parity;
			line->sets++;
			line->owes = 0;
		} else if (step.act == SCAN_LISTEN) {
			assert_true(step.timeout > 0 && step.timeout <= 2);
			assert_true(scan_time_left(scan) >= 0); /* at a pass's end too */
			if (line->owes)
				scan_overheard(scan, line->owes);
			line->owes = 0;
		} else {
			outcome = ask(line, scan, &step, &a);
			line->silent += outcome == SCAN_SILENT;
			line->granted += outcome == SCAN_SILENT ? step.timeout : 0;
			scan_told(scan, &step, outcome, &a);
		}
	}
	fail_msg("the scan does not end");
}

static const struct scan_found *found_at(const struct scan *scan, int address, int baud)
{
	for (size_t i = 0; i < scan->found_count; i++)
		if (scan->found[i].address == address && scan->found[i].baud == baud)
			return &scan->found[i];
	fail_msg("nobody found at %d with %d baud", address, baud);
	return NULL;
}

static void assert_read(const struct scan *scan, int address, int baud, double t, double h)
{
	const struct scan_found *found = found_at(scan, address, baud);

	assert_true(found->done && !found->garbled && found->fit_count >= 1);
	assert_float_equal(t, found->fits[0].value[TEMPERATURE], 1e-9);
	assert_float_equal(h, found->fits[0].value[HUMIDITY], 1e-9);
}

static const struct bus bus_9600 = { .baud = 9600, .parity = PARITY_NONE, .stop_bits = 1 };

static struct scan scan_of_bus(void)
{
	struct scan scan = { 0 };

	scan_plan_bus(&scan.plan, &bus_9600);
	return scan;
}

enum { BAUDS = 7, TWELVE = 12 };

/* Eleven at 19200 and one at 9600, as it came from the shop, among 247. */
static void twelve_at_two_bauds(void **state)
{
	struct station twelve[TWELVE];
	struct line line = { .stations = twelve, .count = TWELVE };
	struct scan scan = scan_of_bus();
	size_t passes, extra, most;

	(void)state;
	for (int i = 0; i < TWELVE; i++)
		twelve[i] = (struct station){ 1 + 22 * i, i == 3 ? 9600 : 19200, 4, 1, 2,
					      { (int16_t)(200 + i), (int16_t)(500 + i) }, PLAIN };
	run(&line, &scan);
	assert_int_equal(TWELVE, scan.found_count);
	for (int i = 0; i < TWELVE; i++)
		assert_read(&scan, 1 + 22 * i, i == 3 ? 9600 : 19200, 20 + 0.1 * i, 50 + 0.1 * i);
	assert_int_equal(1, scan_count(&scan, 9600, PARITY_NONE));
	assert_int_equal(11, scan_count(&scan, 19200, PARITY_NONE));
	/* Seven bauds by function 04, two of them by 03 too; nothing more is asked of the
	 * silent ones, and so their time-outs are nearly all it takes. */
	passes = BAUDS + 2;
	assert_int_equal(passes, line.sets);
	extra = TWELVE * (LAYOUT_PAIRS - 1);
	assert_int_equal(passes * 247 - TWELVE + extra, line.asked);
	assert_int_equal(passes * 247 - 2 * TWELVE, line.silent);
	assert_int_equal(line.asked, scan.figures.asked);
	assert_int_equal(line.silent, scan.figures.silent);
	assert_near(0.2 * (double)line.silent, scan.figures.timeouts, 1e-6);
	assert_near(line.granted, scan.figures.timeouts, 1e-6);
	/* What is answered at once costs its time on the wire, 40 ms at 2400 baud at most, and
	 * each pass ends with a second of listening: far below the three tenths allowed. */
	most = line.asked - line.silent;
	assert_true((double)most * 0.04 + (double)passes * 1 < 0.3 * scan.figures.timeouts);
	scan_free(&scan);
}

/* Once somebody is found, a draft asks nobody at other bauds. */
static void one_setting_is_enough(void **state)
{
	const struct station one = { 5, 4800, 3, 0, 2, { 552, 231 }, PLAIN };
	struct line line = { .stations = &one, .count = 1 };
	struct scan scan = { 0 };

	(void)state;
	scan_plan_port(&scan.plan);
	scan.plan.one_setting = true;
	run(&line, &scan);
	assert_read(&scan, 5, 4800, 23.1, 55.2);
	assert_int_equal(4, line.sets); /* 9600, 19200, 4800 by 04 and by 03 */
	scan_free(&scan);
}

/* One that breaks the rule and does not refuse function 04 is found by 03, and
 * alone on its line by the last hope. */
static void one_that_refuses_by_silence(void **state)
{
	const struct station two[] = {
		{ 7, 9600, 3, 0, 2, { 552, 231 }, MUTE }, { 9, 9600, 4, 1, 2, { 225, 401 }, PLAIN },
	};
	struct line line = { .stations = two, .count = 2 };
	struct scan scan = scan_of_bus();

	(void)state;
	run(&line, &scan);
	assert_read(&scan, 7, 9600, 23.1, 55.2);
	assert_read(&scan, 9, 9600, 22.5, 40.1);
	scan_free(&scan);
	line = (struct line){ .stations = two, .count = 1 };
	scan = scan_of_bus();
	run(&line, &scan);
	assert_read(&scan, 7, 9600, 23.1, 55.2);
	scan_free(&scan);
}

static void late_ones_keep_their_address(void **state)
{
	const struct station two[] = {
		{ 30, 9600, 4, 1, 2, { 231, 552 }, LATE }, { 247, 9600, 4, 1, 2, { 245, 401 }, LATE },
	};
	struct line line = { .stations = two, .count = 2 };
	struct scan scan = scan_of_bus();

	(void)state;
	run(&line, &scan);
	assert_int_equal(2, scan.found_count); /* nobody at 31 */
	assert_read(&scan, 30, 9600, 23.1, 55.2);
	assert_read(&scan, 247, 9600, 24.5, 40.1);
	assert_true(scan.found[0].late && scan.found[1].late);
	scan_free(&scan);
}

static void garbled_is_asked_twice(void **state)
{
	const struct station two[] = {
		{ 3, 9600, 4, 1, 2, { 0, 0 }, GARBLES }, { 4, 9600, 4, 1, 2, { 231, 552 }, PLAIN },
	};
	struct line line = { .stations = two, .count = 2 };
	struct scan scan = scan_of_bus();
	const struct scan_found *found;

	(void)state;
	run(&line, &scan);
	found = found_at(&scan, 3, 9600);
	assert_true(found->garbled && found->done);
	assert_read(&scan, 4, 9600, 23.1, 55.2);
	/* Twice at 9600 by 04, once at each other baud; known, so not asked by 03. */
	assert_int_equal(2 + BAUDS - 1, line.first_asked[3]);
	assert_int_equal(1, scan_count(&scan, 9600, PARITY_NONE));
	scan_free(&scan);
}

/* On a line that is never quiet each baud is left after a few addresses. */
static void noise_is_left(void **state)
{
	struct line line = { .noise = true };
	struct scan scan = scan_of_bus();

	(void)state;
	run(&line, &scan);
	assert_int_equal(2 * SCAN_NOISY * (BAUDS + 1), line.asked); /* its own by 03 as a last hope */
	assert_int_equal(0, scan_count(&scan, 9600, PARITY_NONE));
	scan_free(&scan);
}

/* An adapter that heeds no baud has each probe answer at every one: it is one probe,
 * and is not asked again for what is known. */
static void an_adapter_that_heeds_no_baud(void **state)
{
	enum { PROBES = 3 };
	static const int bauds[] = { 9600, 19200, 4800, 2400, 38400, 115200, 57600 };
	struct station all[PROBES * BAUDS];
	struct line line = { .stations = all, .count = PROBES * BAUDS };
	struct scan scan = scan_of_bus();
	size_t again = 0;

	(void)state;
	for (int i = 0; i < PROBES * BAUDS; i++)
		all[i] = (struct station){ 5 + i % PROBES, bauds[i / PROBES], 4, 1, 2, { 231, 552 }, PLAIN };
	run(&line, &scan);
	for (size_t i = 0; i < scan.found_count; i++)
		again += scan.found[i].again;
	assert_int_equal(PROBES * BAUDS, scan.found_count);
	assert_int_equal(PROBES * (BAUDS - 1), again);
	assert_int_equal(PROBES, scan_count(&scan, 9600, PARITY_NONE));
	assert_int_equal(0, scan_count(&scan, 4800, PARITY_NONE));
	/* All by 04 at each baud, by 03 at the first only; and the other pairs, once each. */
	assert_int_equal((BAUDS + 1) * 247 - PROBES + PROBES * (LAYOUT_PAIRS - 1), line.asked);
	scan_free(&scan);
}

/* A frame of an address that has not been asked yet is no answer of anybody. */
static void nobody_answers_unasked(void **state)
{
	struct scan scan = scan_of_bus();
	struct scan_step step;

	(void)state;
	scan_next(&scan, &step);
	assert_int_equal(SCAN_SET, step.act);
	scan_next(&scan, &step);
	assert_int_equal(1, step.request.address);
	scan_overheard(&scan, 9);
	assert_int_equal(0, scan.found_count);
	scan_overheard(&scan, 1);
	assert_int_equal(1, scan.found_count);
	scan_free(&scan);
}

/* 25.1 and 30.5 alone can be either; beside two that are sure they are like those. */
static void the_line_settles_doubt(void **state)
{
	const struct station three[] = {
		{ 1, 9600, 4, 1, 2, { 305, 251 }, PLAIN }, { 2, 9600, 4, 1, 2, { 552, 231 }, PLAIN },
		{ 3, 9600, 4, 1, 2, { 601, 242 }, PLAIN },
	};
	struct line line = { .stations = three, .count = 3 };
	struct scan scan = scan_of_bus();

	(void)state;
	run(&line, &scan);
	assert_read(&scan, 1, 9600, 30.5, 25.1);
	scan_settle_doubt(&scan);
	assert_read(&scan, 1, 9600, 25.1, 30.5);
	assert_int_equal(1, found_at(&scan, 1, 9600)->fit_count);
	assert_read(&scan, 2, 9600, 23.1, 55.2);
	scan_free(&scan);
	/* One sure one beside it settles nothing. */
	line.count = 2;
	scan = scan_of_bus();
	run(&line, &scan);
	scan_settle_doubt(&scan);
	assert_int_equal(2, found_at(&scan, 1, 9600)->fit_count);
	scan_free(&scan);
}

/* A refusal, whatever it is of, is somebody. */
static void refusal_is_somebody(void **state)
{
	const struct station one = { 200, 9600, 4, 4000, 2, { 1, 2 }, PLAIN };
	struct line line = { .stations = &one, .count = 1 };
	struct scan scan = scan_of_bus();
	const struct scan_found *found;

	(void)state;
	run(&line, &scan);
	found = found_at(&scan, 200, 9600);
	assert_true(found->done && !found->garbled);
	assert_int_equal(0, found->fit_count);
	assert_int_equal(LAYOUT_BLOCKS, found->refused);
	scan_free(&scan);
}

/* Its own baud first and no baud twice; what it needs beside is the common ones. */
static void the_plan_of_a_bus(void **state)
{
	const struct bus bus = { .baud = 1200, .parity = PARITY_ODD, .stop_bits = 2 };
	struct scan_plan plan;

	(void)state;
	scan_plan_bus(&plan, &bus);
	assert_int_equal(1200, plan.passes[0].baud);
	assert_int_equal(9600, plan.passes[2].baud);
	for (size_t p = 0; p < plan.count; p++) {
		assert_int_equal(PARITY_ODD, plan.passes[p].parity);
		assert_int_equal(2, plan.passes[p].stop_bits);
		for (size_t o = 0; o < p; o++)
			assert_false(plan.passes[o].baud == plan.passes[p].baud &&
				     plan.passes[o].block == plan.passes[p].block &&
				     plan.passes[o].when == plan.passes[p].when);
	}
}

/* Nobody anywhere: even parity and function 03 are tried as well, and it ends. */
static void nobody(void **state)
{
	struct line line = { .count = 0 };
	struct scan scan = { 0 };
	double foretold;

	(void)state;
	scan_plan_port(&scan.plan);
	foretold = scan_time_left(&scan);
	run(&line, &scan);
	assert_int_equal((BAUDS + 4) * 247, line.asked);
	assert_int_equal(line.asked, line.silent);
	/* The time on the wire comes on top of the time-outs: 187 bits a question, at
	 * 2400 baud 78 ms. */
	assert_true(foretold > line.granted && foretold < 1.3 * line.granted);
	assert_true(scan_time_left(&scan) == 0);
	scan_free(&scan);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(twelve_at_two_bauds),
		cmocka_unit_test(one_setting_is_enough),
		cmocka_unit_test(one_that_refuses_by_silence),
		cmocka_unit_test(late_ones_keep_their_address),
		cmocka_unit_test(garbled_is_asked_twice),
		cmocka_unit_test(noise_is_left),
		cmocka_unit_test(an_adapter_that_heeds_no_baud),
		cmocka_unit_test(nobody_answers_unasked),
		cmocka_unit_test(the_line_settles_doubt),
		cmocka_unit_test(refusal_is_somebody),
		cmocka_unit_test(the_plan_of_a_bus),
		cmocka_unit_test(nobody),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
