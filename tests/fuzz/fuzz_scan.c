/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A whole scan of a Modbus line on which some address answers anything whatever, and
 * what is made of the registers.  Input: two bytes choose the plan, three who answers;
 * then what comes of each question to one of them, and its registers.
 */
#include "tests/fuzz/fuzz.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/value.h"
#include "daemon/scan.h"

enum {
	ANSWERING = 3,
	/* Every address in every pass, twice when garbled, and every block of whoever is
	 * found; beside it the steps between. */
	STEPS_MOST = SCAN_PASSES * (2 * SCAN_LAST + 16) + 3 * SCAN_PASSES * SCAN_LAST * LAYOUT_BLOCKS,
};

/* What an answer of that kind looks like. */
static enum scan_outcome answer_to(const struct modbus_request *request, struct fuzz_bytes *in,
				   struct modbus_answer *answer)
{
	enum scan_outcome outcome = (enum scan_outcome)(fuzz_byte(in) % (SCAN_GARBLED + 1));

	*answer = (struct modbus_answer){ .verdict = MODBUS_READ, .address = request->address };
	for (size_t i = 0; outcome == SCAN_READ && i < request->count; i++)
		answer->registers[i] = (int16_t)(fuzz_byte(in) << 8 | fuzz_byte(in));
	return outcome;
}

static void look_at_step(const struct scan *scan, const struct scan_step *step)
{
	const struct modbus_request *request = &step->request;

	if (step->act != SCAN_ASK) {
		double left = scan_time_left(scan);

		fuzz_holds(isfinite(left) && left >= 0);
		return;
	}
	fuzz_holds(request->address >= SCAN_FIRST && request->address <= SCAN_LAST);
	fuzz_holds(request->function == 3 || request->function == 4); /* nothing that writes */
	fuzz_holds(request->count >= 1 && request->count <= 2);
	fuzz_holds(step->timeout > 0 && step->timeout < 10);
}

static void look_at_found(const struct scan_found *found)
{
	fuzz_holds(found->address >= SCAN_FIRST && found->address <= SCAN_LAST);
	fuzz_holds(found->done && found->fit_count <= LAYOUT_FITS);
	fuzz_holds(!found->garbled || found->fit_count == 0);
	for (size_t i = 0; i < found->fit_count; i++)
		for (int q = 0; q < QUANTITIES; q++) {
			const struct register_at *at = &found->fits[i].layout->registers[q];
			char text[LAYOUT_TEXT];

			if (!at->present)
				continue;
			fuzz_holds(is_plausible((enum quantity)q, found->fits[i].value[q]));
			fuzz_holds(!found->fits[i].likely ||
				   layout_likely((enum quantity)q, found->fits[i].value[q]));
			fuzz_holds(strlen(layout_register(at, text)) > 8);
		}
}

/* Two settings never show the same address twice at one of them. */
static void look_at_all(const struct scan *scan)
{
	for (size_t i = 0; i < scan->found_count; i++) {
		const struct scan_found *one = &scan->found[i];

		look_at_found(one);
		for (size_t j = 0; j < i; j++)
			fuzz_holds(one->address != scan->found[j].address ||
				   one->baud != scan->found[j].baud ||
				   one->parity != scan->found[j].parity);
	}
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct fuzz_bytes in = { data, size };
	const struct bus bus = { .baud = fuzz_byte(&in) % 2 ? 9600 : 1200,
				 .parity = (enum parity)(fuzz_byte(&in) % 3), .stop_bits = 1 };
	struct scan scan = { 0 };
	struct scan_step step;
	struct modbus_answer answer;
	uint8_t who[ANSWERING];

	if (bus.baud == 9600)
		scan_plan_port(&scan.plan);
	else
		scan_plan_bus(&scan.plan, &bus);
	scan.plan.one_setting = size > 40;
	for (size_t i = 0; i < ANSWERING; i++)
		who[i] = fuzz_byte(&in);
	for (size_t steps = 0;; steps++) {
		fuzz_holds(steps < STEPS_MOST);
		scan_next(&scan, &step);
		if (step.act == SCAN_DONE)
			break;
		look_at_step(&scan, &step);
		if (step.act == SCAN_LISTEN && in.left)
			scan_overheard(&scan, fuzz_byte(&in));
		if (step.act != SCAN_ASK)
			continue;
		if (in.left && memchr(who, step.request.address, sizeof who))
			scan_told(&scan, &step, answer_to(&step.request, &in, &answer), &answer);
		else
			scan_told(&scan, &step, SCAN_SILENT, &answer);
	}
	look_at_all(&scan);
	scan_free(&scan);
	return 0;
}
