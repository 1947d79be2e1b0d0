/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The layout of a line; see scan_doubt.h.
 */
#include "daemon/scan_doubt.h"

enum { SURE_LEAST = 2 };

static size_t votes(const struct scan *scan, const struct layout *layout)
{
	size_t count = 0;

	for (size_t i = 0; i < scan->found_count; i++)
		count += scan->found[i].fit_count == 1 && scan->found[i].fits[0].likely &&
			 scan->found[i].fits[0].layout == layout;
	return count;
}

/* NULL when no layout has the most votes. */
static const struct layout *elect(const struct scan *scan)
{
	size_t count, most = SURE_LEAST - 1;
	const struct layout *all = layout_list(&count), *elected = NULL;

	for (size_t l = 0; l < count; l++) {
		size_t has = votes(scan, &all[l]);

		if (has == most)
			elected = NULL;
		if (has > most) {
			most = has;
			elected = &all[l];
		}
	}
	return elected;
}

void scan_settle_doubt(struct scan *scan)
{
	const struct layout *elected = elect(scan);

	for (size_t i = 0; elected && i < scan->found_count; i++) {
		struct scan_found *found = &scan->found[i];

		for (size_t f = 0; f < found->fit_count; f++) {
			if (found->fits[f].layout != elected ||
			    (found->fits[0].likely && !found->fits[f].likely))
				continue;
			found->fits[0] = found->fits[f];
			found->fit_count = 1;
		}
	}
}
