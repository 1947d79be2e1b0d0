/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Titles of sections, to be found again quickly: a thousand enclosures name
 * two thousand probes.
 */
#ifndef WARMSIDE_CONF_TITLES_H
#define WARMSIDE_CONF_TITLES_H

#include <stddef.h>

struct titled {
	const char *text;
	size_t number;
};

/* Zero-initialised: empty.  The texts must live as long. */
struct titles {
	struct titled *list;
	size_t count, room;
};

void titles_add(struct titles *titles, const char *text, size_t number);

/* After the last one was added, before the first is looked for. */
void titles_sort(struct titles *titles);

/* The least number of that title; `none` when there is none. */
size_t titles_find(const struct titles *titles, const char *text, size_t none);

/* Frees what it holds and leaves it empty. */
void titles_clear(struct titles *titles);

#endif
