/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Register layouts of Modbus probes; see layouts.h.
 */
#include "daemon/layouts.h"

#include <stdio.h>

#include "conf/value.h"

/* Common practice of probes with a Modbus line, no source: the standard (MODBUS
 * Application Protocol V1.1b3, 4.3) leaves to each device what its registers hold. */
const struct layout_block layout_blocks[LAYOUT_BLOCKS] = {
	[LAYOUT_INPUT] = { 4, 1, 2 },
	[LAYOUT_HOLDING] = { 3, 0, 2 },
	{ 4, 0, 2 }, { 3, 1, 2 }, { 4, 2, 2 }, { 3, 2, 2 }, { 3, 256, 2 }, { 4, 256, 2 },
	{ 3, 768, 2 },
	{ 4, 1, 1 }, { 4, 0, 1 }, { 3, 0, 1 }, { 3, 1, 1 }, { 4, 256, 1 }, { 3, 256, 1 },
};

#define AT(function, address, divisor) { true, function, address, divisor }
#define PAIR(function, temperature, humidity, divisor) \
	{ { AT(function, temperature, divisor), AT(function, humidity, divisor) } }
#define ALONE(function, temperature, divisor) { { AT(function, temperature, divisor) } }

static const struct layout layouts[] = {
	PAIR(4, 1, 2, 10),     PAIR(3, 1, 0, 10),     PAIR(4, 0, 1, 10),     PAIR(3, 0, 1, 10),
	PAIR(4, 1, 0, 10),     PAIR(3, 1, 2, 10),     PAIR(4, 2, 1, 10),     PAIR(3, 2, 1, 10),
	PAIR(4, 2, 3, 10),     PAIR(3, 2, 3, 10),     PAIR(3, 256, 257, 10), PAIR(3, 257, 256, 10),
	PAIR(4, 256, 257, 10), PAIR(3, 768, 769, 10), PAIR(4, 1, 2, 100),    PAIR(3, 1, 0, 100),
	PAIR(4, 0, 1, 100),    PAIR(3, 0, 1, 100),    PAIR(4, 1, 0, 100),    PAIR(3, 1, 2, 100),
	PAIR(3, 256, 257, 100), PAIR(4, 256, 257, 100),
	ALONE(4, 1, 10),       ALONE(4, 0, 10),       ALONE(3, 0, 10),	     ALONE(3, 1, 10),
	ALONE(4, 256, 10),     ALONE(3, 256, 10),     ALONE(4, 1, 100),	     ALONE(4, 0, 100),
	ALONE(3, 0, 100),      ALONE(3, 1, 100),
};

enum { LAYOUTS = sizeof layouts / sizeof *layouts };

/* Common practice, no source: what a probe that lies in a home will hardly leave. */
static const struct range likely[QUANTITIES] = { { 5, 45 }, { 10, 95 } };

bool layout_likely(enum quantity quantity, double value)
{
	return value >= likely[quantity].low && value <= likely[quantity].high;
}

const struct layout *layout_list(size_t *count)
{
	*count = LAYOUTS;
	return layouts;
}

/* The words of this register, from any block that has it. */
static bool find_word(const struct layout_raw raw[LAYOUT_BLOCKS], const struct register_at *at,
		      bool alone, int *word)
{
	for (int b = 0; b < LAYOUT_BLOCKS; b++) {
		const struct layout_block *block = &layout_blocks[b];
		int index = at->address - block->first;

		if (!raw[b].read || (b >= LAYOUT_PAIRS) != alone ||
		    block->function != at->function || index < 0 || index >= block->count)
			continue;
		*word = raw[b].word[index];
		return true;
	}
	return false;
}

static bool fits(const struct layout *layout, const struct layout_raw raw[LAYOUT_BLOCKS],
		 struct layout_fit *fit)
{
	bool alone = !layout->registers[HUMIDITY].present, nought = true;

	*fit = (struct layout_fit){ .layout = layout, .likely = true };
	for (int q = 0; q < QUANTITIES; q++) {
		const struct register_at *at = &layout->registers[q];
		int word;

		if (!at->present)
			continue;
		if (!find_word(raw, at, alone, &word))
			return false;
		nought = nought && word == 0;
		fit->value[q] = word / at->divisor;
		if (!is_plausible((enum quantity)q, fit->value[q]))
			return false;
		fit->likely = fit->likely && layout_likely((enum quantity)q, fit->value[q]);
	}
	return !nought;
}

static bool says_the_same(const struct layout_fit *one, const struct layout_fit *other)
{
	return one->value[TEMPERATURE] == other->value[TEMPERATURE] &&
	       one->value[HUMIDITY] == other->value[HUMIDITY];
}

/* Adds the layouts that fit and are as likely as wanted, behind the `count` there. */
static size_t add_fits(const struct layout_raw raw[LAYOUT_BLOCKS], bool wanted, bool alone,
		       struct layout_fit list[LAYOUT_FITS])
{
	size_t count = 0;

	for (size_t l = 0; l < LAYOUTS && count < LAYOUT_FITS; l++) {
		bool known = false;

		if (layouts[l].registers[HUMIDITY].present == alone ||
		    !fits(&layouts[l], raw, &list[count]) || list[count].likely != wanted)
			continue;
		for (size_t i = 0; i < count; i++)
			known = known || says_the_same(&list[i], &list[count]);
		count += known ? 0 : 1;
	}
	return count;
}

size_t layout_fits(const struct layout_raw raw[LAYOUT_BLOCKS], struct layout_fit fits[LAYOUT_FITS])
{
	size_t count = 0;

	for (int alone = 0; alone < 2 && count == 0; alone++) {
		count = add_fits(raw, true, alone, fits);
		if (count == 0)
			count = add_fits(raw, false, alone, fits);
	}
	return count;
}

char *layout_register(const struct register_at *at, char buf[LAYOUT_TEXT])
{
	snprintf(buf, LAYOUT_TEXT, "%s %d / %.0f", at->function == 4 ? "input" : "holding",
		 at->address, at->divisor);
	return buf;
}
