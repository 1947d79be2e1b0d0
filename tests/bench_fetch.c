/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What librrd alone needs for the rows of a window: fetches them and adds up
 * each column of what it gets (bench-report.sh).
 *
 *     bench_fetch ROW_SIZE FROM TO FILE...
 */
#include <math.h>
#include <rrd.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

enum { MOST_COLUMNS = 100 };

static const char *const functions[] = { "AVERAGE", "MIN", "MAX" };

/* Adds up one block; false when librrd does not give just that. */
static bool add_block(const char *path, const char *function, unsigned long row_size, time_t from,
		      time_t to, double sums[MOST_COLUMNS], size_t *rows)
{
	time_t start = from, end = to - 1; /* an end on a row asks for one more */
	unsigned long step = row_size, columns;
	char **names;
	rrd_value_t *values;

	if (rrd_fetch_r(path, function, &start, &end, &step, &columns, &names, &values) ||
	    step != row_size || start != from || end != to || columns > MOST_COLUMNS)
		return false;

	size_t count = (size_t)(to - from) / row_size;

	for (size_t row = 0; row < count; row++)
		for (size_t i = 0; i < columns; i++)
			if (!isnan(values[row * columns + i]))
				sums[i] += values[row * columns + i];
	*rows += count;
	for (unsigned long i = 0; i < columns; i++)
		rrd_freemem(names[i]);
	rrd_freemem(names);
	rrd_freemem(values);
	return true;
}

int main(int argc, char *argv[])
{
	double sums[MOST_COLUMNS] = { 0 };
	size_t rows = 0;

	if (argc < 5)
		return 2;

	unsigned long row_size = strtoul(argv[1], NULL, 10);
	time_t from = (time_t)strtoll(argv[2], NULL, 10), to = (time_t)strtoll(argv[3], NULL, 10);

	for (int file = 4; file < argc; file++)
		for (size_t i = 0; i < sizeof functions / sizeof *functions; i++)
			if (!add_block(argv[file], functions[i], row_size, from, to, sums, &rows)) {
				fprintf(stderr, "bench_fetch: %s does not give these rows: %s\n",
					argv[file], rrd_get_error());
				return 1;
			}
	for (size_t i = 1; i < MOST_COLUMNS; i++)
		sums[0] += sums[i];
	printf("%zu rows, all together %.9g\n", rows, sums[0]);
	return 0;
}
