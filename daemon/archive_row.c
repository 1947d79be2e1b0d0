/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Minutes to update texts; see archive_row.h.
 */
#include "daemon/archive_row.h"

#include <math.h>
#include <stdio.h>
#include <string.h>


enum { NO_CELL = -1, DECIMALS = 12 };

static void plan_column(const struct archive_head *head, struct series series, enum column column,
			int cell, struct archive_filling *fillings)
{
	char name[DS_NAME];

	ds_name(series, column, name);
	for (size_t i = 0; i < head->ds_count; i++)
		if (strcmp(archive_head_ds(head, i), name) == 0) {
			fillings[i] = (struct archive_filling){ cell, column };
			return;
		}
}

void archive_row_plan(const struct archive_head *head, uint32_t set,
		      struct archive_filling *fillings)
{
	struct series series[MAX_SERIES];
	size_t count = series_in((UINT32_C(1) << MAX_SERIES) - 1, series);
	int cell = 0;

	for (size_t i = 0; i < head->ds_count; i++)
		fillings[i] = (struct archive_filling){ NO_CELL, COLUMN_VALUE };
	for (size_t i = 0; i < count; i++) {
		bool here = set & series_bit(series[i]);

		for (enum column column = 0; column < COLUMNS; column++)
			plan_column(head, series[i], column, here ? cell : NO_CELL, fillings);
		cell += here;
	}
}

/* Twelve decimals and no trailing zeros: more than any sum over a row can
 * tell, and several times faster than printf, which would cost as much as
 * librrd itself. */
static char *put_number(char *at, double value)
{
	static const int64_t unit = 1000000000000;
	const double largest = 1e6;
	char digits[DECIMALS + 1];
	int used = 0;

	if (!isfinite(value)) {
		*at++ = 'U';
		return at;
	}
	if (fabs(value) >= largest)
		return at + snprintf(at, ROW_CELL - 1, "%.12g", value);
	int64_t scaled = (int64_t)llrint(fabs(value) * (double)unit);
	int64_t whole = scaled / unit, part = scaled % unit;

	if (value < 0 && scaled)
		*at++ = '-';
	do
		digits[used++] = (char)('0' + whole % 10);
	while (whole /= 10);
	while (used)
		*at++ = digits[--used];
	if (!part)
		return at;
	*at++ = '.';
	for (int i = DECIMALS - 1; i >= 0; i--, part /= 10)
		digits[i] = (char)('0' + part % 10);
	used = DECIMALS;
	while (digits[used - 1] == '0')
		used--;
	memcpy(at, digits, (size_t)used);
	return at + used;
}

static double column_of(const struct minute_cell *cell, enum column column)
{
	switch (column) {
	case COLUMN_VALUE:
		return cell->ok > 0 ? cell->value : NAN;
	case COLUMN_LOW:
		return cell->low;
	case COLUMN_HIGH:
		return cell->high;
	case COLUMN_OK:
		return cell->ok;
	case COLUMN_OUT:
		return cell->out;
	case COLUMNS:
		break;
	}
	return NAN;
}

char *archive_row_put(char *at, int64_t stamp, const struct archive_filling *fillings,
		      size_t ds_count, const struct minute_cell *cells)
{
	at += snprintf(at, ROW_STAMP, "%lld", (long long)stamp);
	for (size_t i = 0; i < ds_count; i++) {
		*at++ = ':';
		if (cells && fillings[i].cell != NO_CELL)
			at = put_number(at,
					column_of(&cells[fillings[i].cell], fillings[i].column));
		else
			*at++ = fillings[i].column == COLUMN_VALUE ? 'U' : '0';
	}
	*at++ = '\0';
	return at;
}
