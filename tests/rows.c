/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows read back, and made-up minutes; see rows.h.
 */
#include "tests/rows.h"

#include <math.h>
#include <rrd.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool rows_fetch(const char *path, const char *function, int step, int64_t from, int64_t to,
		struct rows *rows)
{
	time_t start = from, end = to;
	unsigned long got_step = (unsigned long)step, ds_count;

	*rows = (struct rows){ 0 };
	rrd_clear_error();
	if (rrd_fetch_r(path, function, &start, &end, &got_step, &ds_count, &rows->names,
			&rows->data) < 0) {
		fprintf(stderr, "fetch: %s\n", rrd_get_error());
		return false;
	}
	rows->begin = start;
	rows->step = (int64_t)got_step;
	rows->ds_count = ds_count;
	rows->count = (size_t)(end - start) / got_step;
	return rows->step == step;
}

void rows_free(struct rows *rows)
{
	for (size_t i = 0; i < rows->ds_count; i++)
		rrd_freemem(rows->names[i]);
	rrd_freemem(rows->names);
	rrd_freemem(rows->data);
}

double rows_at(const struct rows *rows, const char *ds, int64_t end)
{
	int64_t row = (end - rows->begin) / rows->step - 1;

	for (size_t i = 0; i < rows->ds_count; i++)
		if (strcmp(rows->names[i], ds) == 0 && row >= 0 && row < (int64_t)rows->count)
			return rows->data[(size_t)row * rows->ds_count + i];
	fprintf(stderr, "no row of %s ends at %lld\n", ds, (long long)end);
	abort();
}

/* A number in 0..1 from two numbers (the finaliser of SplitMix64, from memory). */
static double scramble(uint64_t a, uint64_t b)
{
	uint64_t x = a * 0x9e3779b97f4a7c15u + b * 0xd1b54a32d192ed03u;

	x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9u;
	x = (x ^ (x >> 27)) * 0x94d049bb133111ebu;
	return (double)((x ^ (x >> 31)) >> 11) / 9007199254740992.0;
}

struct minute_cell made_up_cell(int64_t end, unsigned number)
{
	uint64_t seed = (uint64_t)end * 16 + number;
	struct minute_cell cell = { 0 };
	double kind = scramble(seed, 1);

	cell.ok = kind < 0.1 ? 0 : kind < 0.3 ? scramble(seed, 2) : 1;
	if (cell.ok <= 0)
		return cell;
	cell.value = -5 + 50 * scramble(seed, 3);
	cell.low = scramble(seed, 4) < 0.5 ? 0 : cell.ok * scramble(seed, 5);
	cell.high = scramble(seed, 6) < 0.5 ? 0 : (cell.ok - cell.low) * scramble(seed, 7);
	cell.out = 3 * (cell.low + cell.high) * scramble(seed, 8);
	return cell;
}

double column_value(const struct minute_cell *cell, enum column column)
{
	const double values[COLUMNS] = {
		[COLUMN_VALUE] = cell->ok > 0 ? cell->value : (double)NAN,
		[COLUMN_LOW] = cell->low,
		[COLUMN_HIGH] = cell->high,
		[COLUMN_OK] = cell->ok,
		[COLUMN_OUT] = cell->out,
	};

	return values[column];
}
