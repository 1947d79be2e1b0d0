/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sorted titles; see titles.h.
 */
#include "conf/titles.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

void titles_add(struct titles *titles, const char *text, size_t number)
{
	if (titles->count == titles->room) {
		titles->room = titles->room ? 2 * titles->room : 16;
		titles->list = must_resize(titles->list, titles->room, sizeof *titles->list);
	}
	titles->list[titles->count++] = (struct titled){ text, number };
}

static int compare(const void *a, const void *b)
{
	const struct titled *one = a, *other = b;
	int order = strcmp(one->text, other->text);

	return order ? order : (one->number > other->number) - (one->number < other->number);
}

void titles_sort(struct titles *titles)
{
	if (titles->count)
		qsort(titles->list, titles->count, sizeof *titles->list, compare);
}

size_t titles_find(const struct titles *titles, const char *text, size_t none)
{
	size_t low = 0, high = titles->count;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (strcmp(titles->list[middle].text, text) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	if (low == titles->count || strcmp(titles->list[low].text, text) != 0)
		return none;
	return titles->list[low].number;
}

void titles_clear(struct titles *titles)
{
	free(titles->list);
	*titles = (struct titles){ 0 };
}
