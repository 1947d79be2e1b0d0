/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What registers look like: one layout from another by the values alone, and
 * the table in contrib/registers.md against the one in the code.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/layouts.h"

/* The registers of a probe from `first` on, which refuses all others. */
struct registers {
	int function, first, count;
	int16_t word[4];
};

static void ask(const struct registers *r, struct layout_raw raw[LAYOUT_BLOCKS])
{
	for (int b = 0; b < LAYOUT_BLOCKS; b++) {
		const struct layout_block *block = &layout_blocks[b];
		int at = block->first - r->first;

		raw[b] = (struct layout_raw){ .read = block->function == r->function && at >= 0 &&
						      at + block->count <= r->count };
		for (int i = 0; raw[b].read && i < block->count; i++)
			raw[b].word[i] = r->word[at + i];
	}
}

static size_t fits(struct registers r, struct layout_fit list[LAYOUT_FITS])
{
	struct layout_raw raw[LAYOUT_BLOCKS];

	ask(&r, raw);
	return layout_fits(raw, list);
}

/* The best of what fits is "temperature register; humidity register; likely". */
static void assert_best(struct registers r, size_t count, const char *wanted)
{
	struct layout_fit list[LAYOUT_FITS];
	size_t found = fits(r, list);
	char t[LAYOUT_TEXT], h[LAYOUT_TEXT], text[128];

	assert_int_equal(count, found);
	snprintf(text, sizeof text, "%s; %s; %s",
		 layout_register(&list[0].layout->registers[TEMPERATURE], t),
		 list[0].layout->registers[HUMIDITY].present
			 ? layout_register(&list[0].layout->registers[HUMIDITY], h) : "none",
		 list[0].likely ? "likely" : "unlikely");
	assert_string_equal(wanted, text);
}

static void told_by_their_values(void **state)
{
	(void)state;
	assert_best((struct registers){ 4, 1, 2, { 231, 552 } }, 1,
		    "input 1 / 10; input 2 / 10; likely");
	assert_best((struct registers){ 4, 0, 2, { 231, 552 } }, 1,
		    "input 0 / 10; input 1 / 10; likely");
	assert_best((struct registers){ 3, 0, 2, { 552, 231 } }, 1,
		    "holding 1 / 10; holding 0 / 10; likely");
	assert_best((struct registers){ 3, 0, 2, { 231, 552 } }, 1,
		    "holding 0 / 10; holding 1 / 10; likely");
	assert_best((struct registers){ 4, 0, 2, { 2312, 5520 } }, 1,
		    "input 0 / 100; input 1 / 100; likely");
	assert_best((struct registers){ 3, 256, 2, { 231, 552 } }, 1,
		    "holding 256 / 10; holding 257 / 10; likely");
	/* A dew point behind the two is not taken for a temperature: all three read as usual. */
	assert_best((struct registers){ 4, 0, 3, { 231, 552, 137 } }, 2,
		    "input 0 / 10; input 1 / 10; likely");
}

/* 25.1 and 30.5 can be either: both ways are offered, the usual one first. */
static void doubt_is_shown(void **state)
{
	struct layout_fit list[LAYOUT_FITS];

	(void)state;
	assert_int_equal(2, fits((struct registers){ 4, 1, 2, { 251, 305 } }, list));
	assert_float_equal(25.1, list[0].value[TEMPERATURE], 1e-9);
	assert_float_equal(30.5, list[1].value[TEMPERATURE], 1e-9);
	assert_true(list[0].likely && list[1].likely);
}

static void frost_and_damp_are_unlikely(void **state)
{
	(void)state;
	assert_best((struct registers){ 4, 1, 2, { -105, 1000 } }, 2,
		    "input 1 / 10; input 2 / 10; unlikely");
}

static void what_is_no_air(void **state)
{
	struct layout_fit list[LAYOUT_FITS];

	(void)state;
	assert_int_equal(0, fits((struct registers){ 4, 0, 4, { 0, 0, 0, 0 } }, list));
	assert_int_equal(0, fits((struct registers){ 4, 0, 2, { 32767, 32767 } }, list));
	assert_int_equal(0, fits((struct registers){ 4, 0, 2, { -5000, -6000 } }, list));
	assert_int_equal(0, fits((struct registers){ 4, 40, 2, { 231, 552 } }, list));
}

static void a_thermometer_alone(void **state)
{
	(void)state;
	assert_best((struct registers){ 4, 1, 1, { 231 } }, 1, "input 1 / 10; none; likely");
	assert_best((struct registers){ 3, 0, 1, { 2310 } }, 1, "holding 0 / 100; none; likely");
	assert_best((struct registers){ 3, 0, 1, { 860 } }, 1, "holding 0 / 100; none; likely");
}

/* Every layout can be found: its registers are in the blocks that are asked. */
static void every_layout_is_asked_for(void **state)
{
	struct layout_raw raw[LAYOUT_BLOCKS];
	struct layout_fit list[LAYOUT_FITS];
	size_t count;
	const struct layout *all = layout_list(&count);

	(void)state;
	for (size_t l = 0; l < count; l++) {
		const struct register_at *t = &all[l].registers[TEMPERATURE];
		const struct register_at *h = &all[l].registers[HUMIDITY];
		int first = h->present && h->address < t->address ? h->address : t->address;
		struct registers r = { t->function, first, h->present ? 2 : 1, { 0 } };

		/* 46 °C is no humidity of the other order's: 5.0 % is unlikely. */
		r.word[t->address - first] = (int16_t)(23 * t->divisor);
		if (h->present)
			r.word[h->address - first] = (int16_t)(60 * h->divisor);
		ask(&r, raw);
		assert_true(layout_fits(raw, list) >= 1);
		assert_ptr_equal(&all[l], list[0].layout);
	}
}

/* Rows of the table begin with "| `". */
static void the_page_agrees(void **state)
{
	const char *top = getenv("top_srcdir");
	char path[4096], line[400], wanted[400], t[LAYOUT_TEXT], h[LAYOUT_TEXT];
	size_t count, row = 0;
	const struct layout *all = layout_list(&count);
	FILE *page;

	(void)state;
	snprintf(path, sizeof path, "%s/contrib/registers.md", top ? top : ".");
	page = fopen(path, "re");
	assert_non_null(page);
	while (fgets(line, sizeof line, page)) {
		if (strncmp(line, "| `", 3) != 0)
			continue;
		assert_true(row < count);
		layout_register(&all[row].registers[TEMPERATURE], t);
		if (all[row].registers[HUMIDITY].present)
			snprintf(wanted, sizeof wanted, "| `%s` | `%s` |", t,
				 layout_register(&all[row].registers[HUMIDITY], h));
		else
			snprintf(wanted, sizeof wanted, "| `%s` | none |", t);
		line[strlen(wanted)] = '\0';
		assert_string_equal(wanted, line);
		row++;
	}
	fclose(page);
	assert_int_equal(count, row);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(told_by_their_values),
		cmocka_unit_test(doubt_is_shown),
		cmocka_unit_test(frost_and_damp_are_unlikely),
		cmocka_unit_test(what_is_no_air),
		cmocka_unit_test(a_thermometer_alone),
		cmocka_unit_test(every_layout_is_asked_for),
		cmocka_unit_test(the_page_agrees),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
