/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The nearest known word; see closest.h.
 */
#include "conf/closest.h"

#include <string.h>

enum { LONGEST = 40 };

static size_t least(size_t a, size_t b)
{
	return a < b ? a : b;
}

static size_t distance(const char *a, const char *b)
{
	size_t rows = strlen(a), columns = strlen(b);
	size_t table[LONGEST + 1][LONGEST + 1];

	for (size_t i = 0; i <= rows; i++) {
		table[i][0] = i;
		for (size_t j = 1; j <= columns; j++) {
			if (i == 0) {
				table[i][j] = j;
				continue;
			}
			table[i][j] = least(table[i - 1][j - 1] + (a[i - 1] != b[j - 1]),
					    least(table[i - 1][j], table[i][j - 1]) + 1);
			if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
				table[i][j] = least(table[i][j], table[i - 2][j - 2] + 1);
		}
	}
	return table[rows][columns];
}

struct closest closest_begin(const char *word)
{
	return (struct closest){ .word = word, .best = NULL, .distance = strlen(word) / 3 + 1 };
}

void closest_try(struct closest *closest, const char *candidate)
{
	size_t found;

	if (strlen(closest->word) > LONGEST || strlen(candidate) > LONGEST)
		return;
	found = distance(closest->word, candidate);
	if (found < closest->distance) {
		closest->best = candidate;
		closest->distance = found;
	}
}
