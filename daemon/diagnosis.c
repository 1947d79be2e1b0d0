/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From what came instead of readings to a likely reason; see diagnosis.h.
 *
 * What the wire does (common practice, no source): a probe that is asked at
 * another baud or parity, or with A and B swapped, does not understand and
 * keeps silent, or what it says comes as garbage.  Two probes at one address
 * answer at once, and spoil each other's answer and nobody else's.
 */
#include "daemon/diagnosis.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "conf/utf8.h"

/* A probe's neighbours. */
struct others {
	size_t count, answer, garbled;
};

/* ---- what the causes say ----------------------------------------------------- */

void misses_add(struct misses *misses, enum cause cause)
{
	misses->cause[misses->count++ % MISSES] = (unsigned char)cause;
}

size_t misses_of(const struct misses *misses, enum cause cause)
{
	size_t number = 0;

	for (size_t i = 0; i < MISSES && i < misses->count; i++)
		number += misses->cause[i] == cause;
	return number;
}

/* What came most often; of equals, what tells more. */
static enum cause main_cause(const struct misses *misses)
{
	static const enum cause telling[CAUSES] = { REFUSED, IMPLAUSIBLE,   GARBLED,
						    SPIKE,   WRONG_ADDRESS, NO_ANSWER };
	enum cause most = NO_ANSWER;
	size_t least = 0;

	for (size_t i = 0; i < CAUSES; i++) {
		size_t number = misses_of(misses, telling[i]);

		if (number > least) {
			most = telling[i];
			least = number;
		}
	}
	return most;
}

static struct others look_around(const struct conf *conf, size_t probe, const struct heard *heard)
{
	struct others others = { 0 };

	for (size_t p = 0; p < conf->probe_count; p++) {
		if (p == probe || conf->probes[p].bus != conf->probes[probe].bus)
			continue;
		others.count++;
		others.answer += heard[p].answers;
		others.garbled += !heard[p].answers && main_cause(&heard[p].missed) == GARBLED;
	}
	return others;
}

/* ---- Modbus -------------------------------------------------------------------- */

/* "9600 baud, parity none" */
static char *speech(const struct bus *bus)
{
	static const char *const parities[] = {
		[PARITY_NONE] = "none", [PARITY_EVEN] = "even", [PARITY_ODD] = "odd",
	};

	return must_print("%d baud, parity %s", bus->baud, parities[bus->parity]);
}

static char *no_answer(const struct bus *bus, const struct probe *probe, struct others others)
{
	char *how = speech(bus), *text;

	if (others.answer)
		text = must_print("no answer at address %d; others on this bus answer, so it is the "
				  "address, or this probe's own wires or power", probe->address);
	else if (others.garbled)
		text = must_print("no answer at address %d, and what others on this bus say is "
				  "garbled: it is another baud or parity than %s, or A and B are "
				  "swapped", probe->address, how);
	else if (others.count)
		text = must_print("no answer at address %d, nor from any other probe on this bus: "
				  "has it power, is A on A and B on B, and is it %s? \"warmsided "
				  "--scan '%s'\" tries others", probe->address, how, bus->name);
	else
		text = must_print("no answer at address %d: has the probe power, is A on A and B on "
				  "B, is that its address, and is it %s? \"warmsided --scan '%s'\" "
				  "tries others", probe->address, how, bus->name);
	free(how);
	return text;
}

static char *garbled(const struct bus *bus, const struct probe *probe, struct others others)
{
	char *how = speech(bus), *text;

	if (others.answer)
		text = must_print("garbled answers at address %d, while others on this bus are clean: "
				  "two probes have this address, or its wires are loose; leave one of "
				  "them on the bus and look again", probe->address);
	else
		text = must_print("garbled answers at address %d: it is another baud or parity than "
				  "%s, A and B are swapped, or two probes have one address",
				  probe->address, how);
	free(how);
	return text;
}

/* "input 1 and input 2" */
static char *registers_of(const struct probe *probe)
{
	char *text = must_copy("");

	for (int q = 0; q < QUANTITIES; q++) {
		const struct register_at *at = &probe->registers[q];

		if (!at->present)
			continue;
		char *longer = must_print("%s%s%s %d", text, *text ? " and " : "",
					  at->function == 3 ? "holding" : "input", at->address);

		free(text);
		text = longer;
	}
	return text;
}

static char *refused(const struct probe *probe)
{
	char *registers = registers_of(probe);
	char *text = must_print("it answers at address %d, but has no register %s; its paper "
				"says which it has, perhaps counted from 1 instead of 0",
				probe->address, registers);

	free(registers);
	return text;
}

static char *diagnose_modbus(const struct bus *bus, const struct probe *probe,
			     const struct heard *heard, struct others others)
{
	switch (main_cause(&heard->missed)) {
	case GARBLED:
		return garbled(bus, probe, others);
	case REFUSED:
		return refused(probe);
	case WRONG_ADDRESS:
		return must_print("another address answers when %d is asked: is it the address that "
				  "this probe is set to?", probe->address);
	case IMPLAUSIBLE:
		return must_copy("it answers with values that cannot be: is the register right, and "
				 "the divisor, and its sensor not broken off?");
	case SPIKE:
		return must_copy("its values jump to and fro: are its wires loose?");
	default:
		return no_answer(bus, probe, others);
	}
}

/* ---- lines ----------------------------------------------------------------------- */

/* Nothing is known of the probe itself; but perhaps of its board. */
static char *nothing_of_it(const struct bus *bus, const struct probe *probe,
			   const struct heard *heard, struct others others)
{
	char shown[BRIEF_TEXT];

	if (misses_of(&heard->strays, WRONG_ADDRESS))
		return must_print("no line names \"%s\", but lines with other names come: the probe's "
				  "address must be the name that the board prints", probe->token);
	if (others.answer)
		return must_print("no line names \"%s\", while others of this board come: is that the "
				  "name that the board prints, and is its sensor connected?",
				  probe->token);
	if (misses_of(&heard->strays, GARBLED))
		return must_print("what the board says does not fit line = \"%s\": it prints otherwise, "
				  "or at another baud than %d", bus->line, bus->baud);
	if (bus->ask)
		return must_print("no answer to ask = \"%s\": does the board run, is this its port, and "
				  "does it expect just that at %d baud?",
				  utf8_brief(bus->ask, shown), bus->baud);
	return must_print("nothing comes from the board: does it run, is this its port, and does it "
			  "print by itself at %d baud, or wait for an ask?", bus->baud);
}

static char *diagnose_lines(const struct bus *bus, const struct probe *probe,
			    const struct heard *heard, struct others others)
{
	switch (main_cause(&heard->missed)) {
	case GARBLED:
		return must_print("what the board says does not fit line = \"%s\": it prints otherwise, "
				  "or at another baud than %d", bus->line, bus->baud);
	case REFUSED:
		return must_copy("the board names it and gives no value: is its sensor connected to "
				 "the board?");
	case WRONG_ADDRESS:
		return must_print("another name than \"%s\" comes when it is asked: the probe's address "
				  "must be the name that the board prints", probe->token);
	case IMPLAUSIBLE:
		return must_print("the board gives values that cannot be: is its sensor connected, and "
				  "does line = \"%s\" name them in the right order?", bus->line);
	case SPIKE:
		return must_copy("its values jump to and fro: are its wires loose?");
	default:
		return nothing_of_it(bus, probe, heard, others);
	}
}

char *diagnose(const struct conf *conf, size_t probe, const struct heard *heard)
{
	const struct probe *at = &conf->probes[probe];
	const struct bus *bus = &conf->buses[at->bus];
	struct others others = look_around(conf, probe, heard);

	return bus->speaks == SPEAKS_MODBUS ? diagnose_modbus(bus, at, &heard[probe], others)
					    : diagnose_lines(bus, at, &heard[probe], others);
}
