/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From what is counted to the sentence a keeper reads.  What each count can
 * mean on a wire is common practice, no source.
 */
#include "tests/cm.h"

#include "conf/memory.h"
#include "daemon/diagnosis.h"

enum { RACK, BOARD, ASKED, BUSES };
enum { R1, R2, R3, B1, B2, A1, PROBES };

static struct bus buses[BUSES] = {
	[RACK] = { .name = "rack", .speaks = SPEAKS_MODBUS, .baud = 9600, .parity = PARITY_EVEN },
	[BOARD] = { .name = "board", .speaks = SPEAKS_LINES, .baud = 115200,
		    .line = "{probe},{temperature}" },
	[ASKED] = { .name = "asked", .speaks = SPEAKS_LINES, .baud = 9600, .line = "{temperature}",
		    .ask = "T?\n" },
};
static struct probe probes[PROBES] = {
	[R1] = { .name = "r1", .bus = RACK, .address = 13,
		 .registers = { { true, 4, 1, 10 }, { true, 3, 2, 10 } } },
	[R2] = { .name = "r2", .bus = RACK, .address = 14 },
	[R3] = { .name = "r3", .bus = RACK, .address = 15 },
	[B1] = { .name = "b1", .bus = BOARD, .token = "warm" },
	[B2] = { .name = "b2", .bus = BOARD, .token = "cool" },
	[A1] = { .name = "a1", .bus = ASKED, .token = "a1" },
};
static const struct conf conf = { .buses = buses, .bus_count = BUSES, .probes = probes,
				  .probe_count = PROBES };
static struct heard heard[PROBES];

/* Every probe answers; then the test says otherwise. */
static int all_well(void **state)
{
	(void)state;
	memset(heard, 0, sizeof heard);
	for (size_t p = 0; p < PROBES; p++)
		heard[p].answers = true;
	return 0;
}

static void misses(size_t probe, enum cause cause, unsigned long count)
{
	heard[probe].answers = false;
	for (unsigned long i = 0; i < count; i++)
		misses_add(&heard[probe].missed, cause);
}

static void assert_says(size_t probe, const char *sentence)
{
	char *said = diagnose(&conf, probe, heard);

	assert_string_equal(said, sentence);
	free(said);
}

static void silence_at_one_address(void **state)
{
	(void)state;
	misses(R1, NO_ANSWER, 4);
	assert_says(R1, "no answer at address 13; others on this bus answer, so it is the address, or "
			"this probe's own wires or power");
	/* One other is enough to know that the bus works. */
	misses(R2, GARBLED, 4);
	assert_says(R1, "no answer at address 13; others on this bus answer, so it is the address, or "
			"this probe's own wires or power");
}

/* Other buses prove nothing about this one. */
static void silence_on_the_whole_bus(void **state)
{
	(void)state;
	misses(R1, NO_ANSWER, 4);
	misses(R2, NO_ANSWER, 4);
	misses(R3, NO_ANSWER, 4);
	assert_says(R1, "no answer at address 13, nor from any other probe on this bus: has it power, "
			"is A on A and B on B, and is it 9600 baud, parity even? \"warmsided --scan "
			"'rack'\" tries others");
	misses(R3, GARBLED, 5);
	assert_says(R1, "no answer at address 13, and what others on this bus say is garbled: it is "
			"another baud or parity than 9600 baud, parity even, or A and B are swapped");
}

static void a_probe_alone(void **state)
{
	(void)state;
	const struct conf alone = { .buses = buses, .bus_count = BUSES, .probes = probes,
				    .probe_count = 1 };

	misses(R1, NO_ANSWER, 2);
	char *said = diagnose(&alone, R1, heard);

	assert_string_equal(said, "no answer at address 13: has the probe power, is A on A and B on "
				  "B, is that its address, and is it 9600 baud, parity even? "
				  "\"warmsided --scan 'rack'\" tries others");
	free(said);
}

static void garbage(void **state)
{
	(void)state;
	misses(R1, GARBLED, 2);
	assert_says(R1, "garbled answers at address 13, while others on this bus are clean: two probes "
			"have this address, or its wires are loose; leave one of them on the bus and "
			"look again");
	misses(R2, GARBLED, 2);
	misses(R3, GARBLED, 2);
	assert_says(R1, "garbled answers at address 13: it is another baud or parity than 9600 baud, "
			"parity even, A and B are swapped, or two probes have one address");
	/* Whoever says something is there: that tells more than a silence as long. */
	misses(R1, NO_ANSWER, 2);
	assert_says(R1, "garbled answers at address 13: it is another baud or parity than 9600 baud, "
			"parity even, A and B are swapped, or two probes have one address");
	misses(R1, NO_ANSWER, 1);
	assert_says(R1, "no answer at address 13, and what others on this bus say is garbled: it is "
			"another baud or parity than 9600 baud, parity even, or A and B are swapped");
}

/* Who wires up while it watches is told what is the matter now, within two tries. */
static void an_old_cause_is_forgotten(void **state)
{
	(void)state;
	misses(R1, NO_ANSWER, 6);
	assert_says(R1, "no answer at address 13; others on this bus answer, so it is the address, or "
			"this probe's own wires or power");
	misses(R1, GARBLED, 2);
	assert_says(R1, "garbled answers at address 13, while others on this bus are clean: two probes "
			"have this address, or its wires are loose; leave one of them on the bus and "
			"look again");
	misses(R1, NO_ANSWER, 100000);
	misses(R1, REFUSED, 2);
	assert_says(R1, "it answers at address 13, but has no register input 1 and holding 2; its paper "
			"says which it has, perhaps counted from 1 instead of 0");
}

static void answers_that_are_no_readings(void **state)
{
	(void)state;
	misses(R1, REFUSED, 2);
	assert_says(R1, "it answers at address 13, but has no register input 1 and holding 2; its "
			"paper says which it has, perhaps counted from 1 instead of 0");
	misses(R1, WRONG_ADDRESS, 3);
	assert_says(R1, "another address answers when 13 is asked: is it the address that this probe "
			"is set to?");
	misses(R1, IMPLAUSIBLE, 4);
	assert_says(R1, "it answers with values that cannot be: is the register right, and the "
			"divisor, and its sensor not broken off?");
	misses(R1, SPIKE, 5);
	assert_says(R1, "its values jump to and fro: are its wires loose?");
}

static void a_board_that_prints(void **state)
{
	(void)state;
	heard[B1].answers = false;
	assert_says(B1, "no line names \"warm\", while others of this board come: is that the name that "
			"the board prints, and is its sensor connected?");
	misses_add(&heard[B1].strays, WRONG_ADDRESS);
	assert_says(B1, "no line names \"warm\", but lines with other names come: the probe's address "
			"must be the name that the board prints");
	heard[B2].answers = false;
	/* The name was mended, and now the line is not: the name is history. */
	for (int i = 0; i < MISSES; i++)
		misses_add(&heard[B1].strays, GARBLED);
	assert_says(B1, "what the board says does not fit line = \"{probe},{temperature}\": it prints "
			"otherwise, or at another baud than 115200");
	heard[B1].strays = (struct misses){ 0 };
	assert_says(B1, "nothing comes from the board: does it run, is this its port, and does it print "
			"by itself at 115200 baud, or wait for an ask?");
	misses(B1, REFUSED, 1);
	assert_says(B1, "the board names it and gives no value: is its sensor connected to the board?");
}

static void a_board_that_is_asked(void **state)
{
	(void)state;
	misses(A1, NO_ANSWER, 2);
	assert_says(A1, "no answer to ask = \"T??\": does the board run, is this its port, and does it "
			"expect just that at 9600 baud?");
	misses(A1, GARBLED, 2);
	assert_says(A1, "what the board says does not fit line = \"{temperature}\": it prints "
			"otherwise, or at another baud than 9600");
	misses(A1, WRONG_ADDRESS, 3);
	assert_says(A1, "another name than \"a1\" comes when it is asked: the probe's address must be "
			"the name that the board prints");
	misses(A1, IMPLAUSIBLE, 4);
	assert_says(A1, "the board gives values that cannot be: is its sensor connected, and does line "
			"= \"{temperature}\" name them in the right order?");
	misses(A1, SPIKE, 5);
	assert_says(A1, "its values jump to and fro: are its wires loose?");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup(silence_at_one_address, all_well),
		cmocka_unit_test_setup(silence_on_the_whole_bus, all_well),
		cmocka_unit_test_setup(a_probe_alone, all_well),
		cmocka_unit_test_setup(garbage, all_well),
		cmocka_unit_test_setup(an_old_cause_is_forgotten, all_well),
		cmocka_unit_test_setup(answers_that_are_no_readings, all_well),
		cmocka_unit_test_setup(a_board_that_prints, all_well),
		cmocka_unit_test_setup(a_board_that_is_asked, all_well),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
