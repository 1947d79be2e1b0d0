/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The sequence of a scan; see scan.h.
 */
#include "daemon/scan.h"

#include <stdlib.h>

#include "conf/memory.h"

/* How long an address is waited for, beyond the time its question and answer
 * take on the wire at the present baud.  A sensor answers within some 10 ms
 * (common practice, no source), and a USB adapter may hold bytes back for 16 ms
 * each way.  MB-SL 2.4.1 has "from 1 s to several seconds" as typical, for devices
 * of all kinds; here it would be four minutes a baud, and need not be: an answer
 * that comes later carries its address and is taken for what it is. */
static const double reply_timeout = 0.2; /* s */
static const double known_timeout = 0.5; /* s: as the watch itself grants */
static const double late_timeout = 2;   /* s: for one that was late before */
static const double crumbs_time = 0.5;  /* s for the rest of a broken answer */
static const double owed_time = 1.5;    /* s for an answer to a question given up */
static const double last_time = 1;      /* s for late answers at the end of a pass */

/* Common practice of probes but for the first two, which MB-SL 3.2 asks of every
 * device.  What few use comes last. */
static const int common_bauds[] = { 9600, 19200, 4800, 2400, 38400, 115200, 57600 };

enum { COMMON = sizeof common_bauds / sizeof *common_bauds };

/* ---- plan ---- */

static void add_pass(struct scan_plan *plan, struct scan_pass pass)
{
	if (plan->count < SCAN_PASSES)
		plan->passes[plan->count++] = pass;
}

/* Every address by function 04; who is silent by 03 as well when somebody is
 * there, for a device that breaks the rule and refuses by silence. */
static void add_setting(struct scan_plan *plan, int baud, enum parity parity, int stop_bits,
			enum scan_when when)
{
	add_pass(plan, (struct scan_pass){ baud, parity, stop_bits, LAYOUT_INPUT, when });
	add_pass(plan, (struct scan_pass){ baud, parity, stop_bits, LAYOUT_HOLDING, SCAN_IF_HEARD });
}

static void add_last_hopes(struct scan_plan *plan, int baud, enum parity parity, int stop_bits)
{
	add_pass(plan, (struct scan_pass){ baud, parity, stop_bits, LAYOUT_HOLDING,
					   SCAN_IF_NOBODY });
}

void scan_plan_bus(struct scan_plan *plan, const struct bus *bus)
{
	*plan = (struct scan_plan){ 0 };
	add_setting(plan, bus->baud, bus->parity, bus->stop_bits, SCAN_ALWAYS);
	for (size_t i = 0; i < COMMON; i++)
		if (common_bauds[i] != bus->baud)
			add_setting(plan, common_bauds[i], bus->parity, bus->stop_bits, SCAN_ALWAYS);
	add_last_hopes(plan, bus->baud, bus->parity, bus->stop_bits);
}

void scan_plan_port(struct scan_plan *plan)
{
	*plan = (struct scan_plan){ 0 };
	for (size_t i = 0; i < COMMON; i++)
		add_setting(plan, common_bauds[i], PARITY_NONE, 1, SCAN_ALWAYS);
	for (size_t i = 0; i < 2; i++)
		add_last_hopes(plan, common_bauds[i], PARITY_NONE, 1);
	/* Even parity is what MB-SL 2.5.1 has as default. */
	add_setting(plan, common_bauds[1], PARITY_EVEN, 1, SCAN_IF_NOBODY);
	add_setting(plan, common_bauds[0], PARITY_EVEN, 1, SCAN_IF_NOBODY);
}

/* ---- found ---- */

static bool same_setting(const struct scan_pass *pass, const struct scan_pass *other)
{
	return pass->baud == other->baud && pass->parity == other->parity &&
	       pass->stop_bits == other->stop_bits;
}

size_t scan_count(const struct scan *scan, int baud, enum parity parity)
{
	size_t count = 0;

	for (size_t i = 0; i < scan->found_count; i++)
		if (scan->found[i].baud == baud && scan->found[i].parity == parity &&
		    !scan->found[i].garbled && !scan->found[i].again)
			count++;
	return count;
}

static bool anybody(const struct scan *scan)
{
	for (size_t i = 0; i < scan->found_count; i++)
		if (!scan->found[i].garbled)
			return true;
	return false;
}

static struct scan_found *find(struct scan *scan, int address)
{
	const struct scan_pass *pass = &scan->plan.passes[scan->pass];

	for (size_t i = 0; i < scan->found_count; i++)
		if (scan->found[i].address == address && scan->found[i].baud == pass->baud &&
		    scan->found[i].parity == pass->parity)
			return &scan->found[i];
	return NULL;
}

/* True when all is known of somebody with this address at another setting. */
static bool is_known(const struct scan *scan, int address)
{
	for (size_t i = 0; i < scan->found_count; i++)
		if (scan->found[i].address == address && scan->found[i].done &&
		    scan->found[i].fit_count > 0)
			return true;
	return false;
}

static struct scan_found *add_found(struct scan *scan, int address)
{
	const struct scan_pass *pass = &scan->plan.passes[scan->pass];

	scan->found = must_resize(scan->found, scan->found_count + 1, sizeof *scan->found);
	scan->found[scan->found_count] = (struct scan_found){
		.address = address, .baud = pass->baud, .parity = pass->parity,
		.stop_bits = pass->stop_bits, .again = is_known(scan, address),
	};
	return &scan->found[scan->found_count++];
}

void scan_free(struct scan *scan)
{
	free(scan->found);
	*scan = (struct scan){ 0 };
}

/* ---- what is next ---- */

static bool applies(const struct scan *scan, size_t index)
{
	const struct scan_pass *pass = &scan->plan.passes[index];
	bool heard = scan_count(scan, pass->baud, pass->parity) > 0;

	if (pass->when == SCAN_IF_HEARD)
		return heard;
	if (pass->when == SCAN_IF_NOBODY)
		return !anybody(scan);
	return !scan->plan.one_setting || !anybody(scan);
}

static void ask(struct scan *scan, struct scan_step *step, int address, int block, double timeout)
{
	const struct layout_block *b = &layout_blocks[block];

	step->act = SCAN_ASK;
	step->request = modbus_request(address, b->function, b->first, b->count);
	step->timeout = timeout;
	scan->figures.asked++;
}

static void listen(struct scan_step *step, double time)
{
	step->act = SCAN_LISTEN;
	step->timeout = time;
}

static bool understand(struct scan_found *found)
{
	found->fit_count = layout_fits(found->raw, found->fits);
	return found->fit_count > 0;
}

/* The next block to ask this one about; LAYOUT_BLOCKS when there is none. */
static int next_block(struct scan_found *found, int block)
{
	while (block < LAYOUT_BLOCKS && found->asked[block])
		block++;
	return block == LAYOUT_PAIRS && understand(found) ? LAYOUT_BLOCKS : block;
}

/* Asks on about somebody who has just been found.  False when all are done. */
static bool examine(struct scan *scan, struct scan_step *step)
{
	while (scan->examined < scan->found_count) {
		struct scan_found *found = &scan->found[scan->examined];

		if (!scan->examining)
			scan->block = -1;
		scan->examining = true;
		scan->block = found->garbled || found->again ? LAYOUT_BLOCKS : next_block(found, scan->block + 1);
		if (scan->block < LAYOUT_BLOCKS) {
			found->asked[scan->block] = true;
			ask(scan, step, found->address, scan->block,
			    found->late ? late_timeout : known_timeout);
			scan->asked_of_found = true;
			return true;
		}
		if (!found->again)
			understand(found);
		found->done = true;
		scan->examining = false;
		scan->examined++;
	}
	return false;
}

/* The next address of the pass.  False when there is none. */
static bool ask_next(struct scan *scan, struct scan_step *step)
{
	const struct scan_pass *pass = &scan->plan.passes[scan->pass];
	bool useless = scan->noise >= SCAN_NOISY && !scan_count(scan, pass->baud, pass->parity);

	if (!scan->again)
		do
			scan->address++;
		while (scan->address <= SCAN_LAST && find(scan, scan->address));
	if (scan->address > SCAN_LAST || useless)
		return false;
	ask(scan, step, scan->address, pass->block, reply_timeout);
	scan->asked_of_found = false;
	return true;
}

static bool begin_pass(struct scan *scan, struct scan_step *step)
{
	const struct scan_pass *pass;

	while (scan->pass < scan->plan.count && !applies(scan, scan->pass))
		scan->pass++;
	if (scan->pass == scan->plan.count)
		return false;
	pass = &scan->plan.passes[scan->pass];
	scan->asked_all =
		scan->set_before && same_setting(pass, &scan->plan.passes[scan->last_set]);
	if (!scan->asked_all)
		scan->noise = 0;
	scan->set = scan->set_before = true;
	scan->last_set = scan->pass;
	scan->address = SCAN_FIRST - 1;
	scan->listened = scan->again = false;
	scan->rest = 0;
	step->act = SCAN_SET;
	step->pass = pass;
	return true;
}

void scan_next(struct scan *scan, struct scan_step *step)
{
	*step = (struct scan_step){ .act = SCAN_DONE };
	for (;;) {
		if (!scan->set) {
			begin_pass(scan, step);
			return;
		}
		step->pass = &scan->plan.passes[scan->pass];
		if (scan->rest > 0) {
			listen(step, scan->rest);
			scan->rest = 0;
			return;
		}
		if (examine(scan, step) || ask_next(scan, step))
			return;
		if (!scan->listened) {
			scan->listened = true;
			listen(step, last_time);
			return;
		}
		scan->set = false;
		scan->pass++;
	}
}

/* ---- what came of it ---- */

static void keep(struct scan_found *found, int block, const struct modbus_answer *answer)
{
	found->raw[block].read = true;
	for (int i = 0; i < layout_blocks[block].count; i++)
		found->raw[block].word[i] = answer->registers[i];
}

/* Answers do not say which register they are of: after silence the next
 * question waits until what is owed can come no more. */
static void told_of_found(struct scan *scan, enum scan_outcome outcome,
			  const struct modbus_answer *answer)
{
	struct scan_found *found = &scan->found[scan->examined];

	if (outcome == SCAN_READ)
		keep(found, scan->block, answer);
	else if (outcome == SCAN_REFUSED)
		found->refused++;
	else
		scan->rest = owed_time;
}

static void told_of_nobody(struct scan *scan, enum scan_outcome outcome,
			   const struct modbus_answer *answer)
{
	const struct scan_pass *pass = &scan->plan.passes[scan->pass];
	struct scan_found *found;

	if (outcome == SCAN_GARBLED)
		scan->rest = crumbs_time;
	if (outcome == SCAN_GARBLED && !scan->again) {
		scan->again = true;
		return;
	}
	scan->noise += outcome == SCAN_GARBLED;
	scan->again = false;
	if (outcome == SCAN_SILENT || find(scan, scan->address))
		return;
	found = add_found(scan, scan->address);
	found->garbled = outcome == SCAN_GARBLED;
	found->again = found->again && !found->garbled;
	found->refused = outcome == SCAN_REFUSED;
	found->asked[pass->block] = true;
	if (outcome == SCAN_READ)
		keep(found, pass->block, answer);
}

void scan_told(struct scan *scan, const struct scan_step *step, enum scan_outcome outcome,
	       const struct modbus_answer *answer)
{
	if (outcome == SCAN_SILENT) {
		scan->figures.silent++;
		scan->figures.timeouts += step->timeout;
	}
	scan->figures.garbled += outcome == SCAN_GARBLED;
	if (scan->asked_of_found)
		told_of_found(scan, outcome, answer);
	else
		told_of_nobody(scan, outcome, answer);
}

void scan_overheard(struct scan *scan, int address)
{
	struct scan_found *found;

	if (address < SCAN_FIRST || address > SCAN_LAST ||
	    (address > scan->address && !scan->asked_all))
		return;
	found = find(scan, address);
	if (!found)
		found = add_found(scan, address);
	found->late = true;
}

double scan_time_left(const struct scan *scan)
{
	double time = 0;

	for (size_t p = scan->pass; p < scan->plan.count; p++) {
		const struct scan_pass *pass = &scan->plan.passes[p];
		/* When all are asked, address is past the last. */
		int asked = p > scan->pass || !scan->set ? 0
			    : scan->address < SCAN_LAST	 ? scan->address
							 : SCAN_LAST;
		int addresses = SCAN_LAST - asked;
		/* Eleven bits a character at most; question and answer to two registers. */
		double wire = 11.0 * (MODBUS_REQUEST + 9) / pass->baud;

		if (p == scan->pass || applies(scan, p))
			time += addresses * (reply_timeout + wire);
	}
	return time;
}
