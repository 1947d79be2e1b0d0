/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What somebody sees who watches the probes: who rises comes first, and each
 * has a line as long as the screen has room.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "daemon/readout_view.h"

enum { FIRST, SECOND, THIRD, PROBES };

static struct bus bus = { .name = "rack", .speaks = SPEAKS_MODBUS, .baud = 9600, .every = 2 };
static struct probe probes[PROBES] = {
	[FIRST] = { .name = "t1w", .gives = { true, true }, .correction = { { 0, 1 }, { 0, 1 } } },
	[SECOND] = { .name = "t2w", .gives = { true, true }, .correction = { { 0, 1 }, { 0, 1 } } },
	[THIRD] = { .name = "t3w", .gives = { true, true }, .correction = { { 0, 1 }, { 0, 1 } } },
};
static struct enclosure tub = { .label = "Zwölftes Gefäß ganz unten links" };
static const struct conf conf = { .buses = &bus, .bus_count = 1, .probes = probes,
				  .probe_count = PROBES, .enclosures = &tub,
				  .enclosure_count = 1 };
static const double begin = 1000;

static int begun(void **state)
{
	static struct readout readout;

	tub.places[WARM_SIDE].watched = true;
	tub.places[WARM_SIDE].probe = SECOND;
	readout_begin(&readout, &conf);
	readout.watching = true;
	*state = &readout;
	return 0;
}

static int ended(void **state)
{
	readout_end(*state);
	return 0;
}

static void take(struct readout *readout, size_t probe, double after, double temperature)
{
	const struct reading reading = { .probe = probe, .time = begin + after,
					 .has = { true, true }, .value = { temperature, 37 } };

	readout_take(readout, &reading);
}

static void assert_shown(const struct readout *readout, size_t width, const char *wanted)
{
	char *text = NULL;
	size_t size;
	FILE *out = open_memstream(&text, &size);

	assert_non_null(out);
	readout_show(readout, out, width, begin + 20);
	fclose(out);
	assert_string_equal(text, wanted);
	free(text);
}

static void whom_nobody_has_heard(void **state)
{
	struct readout *readout = *state;

	take(readout, FIRST, 18, 24);
	assert_shown(readout, 0,
		     "Warm a probe in your hand: the one that rises is marked with >. Ctrl-C ends.\n"
		     "probe  temperature    humidity  age  since first seen  where\n"
		     "  t1w  24.0 °C        37 %      2 s  +0.0 °C           nowhere\n"
		     "  t2w  not heard yet                                   "
		     "Zwölftes Gefäß ganz unten links warm side\n"
		     "  t3w  not heard yet                                   nowhere\n");
	/* In trouble is something else. */
	readout->answers[SECOND].failed = 2;
	misses_add(&readout->heard[SECOND].missed, REFUSED);
	readout_explain(readout);
	assert_non_null(readout->answers[SECOND].trouble);
}

static void who_rises_comes_first(void **state)
{
	struct readout *readout = *state;

	for (size_t p = 0; p < PROBES; p++)
		take(readout, p, 0, 24);
	take(readout, SECOND, 10, 26);
	take(readout, THIRD, 10, 28.5);
	assert_shown(readout, 80,
		     "> t3w rises, +4.5 °C lately: nowhere. Ctrl-C ends.\n"
		     "> t3w  28.5 °C  37 %  +4.5 °C  nowhere\n"
		     "  t2w  26.0 °C  37 %  +2.0 °C  "
		     "Zwölftes Gefäß ganz unten links warm side\n"
		     "  t1w  24.0 °C  37 %  +0.0 °C  nowhere\n");
	/* Cut between characters. */
	assert_shown(readout, 47,
		     "> t3w rises, +4.5 °C lately: nowhere. Ctrl-C\n"
		     "ends.\n"
		     "> t3w  28.5 °C  37 %  +4.5 °C  nowhere\n"
		     "  t2w  26.0 °C  37 %  +2.0 °C  Zwölftes Gefä...\n"
		     "  t1w  24.0 °C  37 %  +0.0 °C  nowhere\n");
	/* And where that would say nothing, as a block. */
	assert_shown(readout, 40,
		     "> t3w rises, +4.5 °C lately: nowhere.\n"
		     "Ctrl-C ends.\n"
		     "> t3w: nowhere\n"
		     "    28.5 °C, 37 %, 10 s old, +4.5 °C\n"
		     "    since first seen\n"
		     "  t2w: Zwölftes Gefäß ganz unten links\n"
		     "warm side\n"
		     "    26.0 °C, 37 %, 10 s old, +2.0 °C\n"
		     "    since first seen\n"
		     "  t1w: nowhere\n"
		     "    24.0 °C, 37 %, 20 s old, +0.0 °C\n"
		     "    since first seen\n");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(whom_nobody_has_heard, begun, ended),
		cmocka_unit_test_setup_teardown(who_rises_comes_first, begun, ended),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
