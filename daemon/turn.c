/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whose turn it is; see turn.h.
 */
#include "daemon/turn.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

/* ---- what is over ----------------------------------------------------------- */

/* What the messages of one webhook say of an alert. */
struct said {
	const char *alert;
	bool raised, cleared;
};

static int by_alert(const void *a, const void *b)
{
	return strcmp(((const struct said *)a)->alert, ((const struct said *)b)->alert);
}

/* May this message still be replaced?  One on its way may have arrived. */
static bool is_open(const struct waiting *waiting, size_t webhook)
{
	return waiting->webhook == webhook && waiting->known && !waiting->busy &&
	       !waiting->done && waiting->replaced_count == 0;
}

/* Every alert once, in order; returns how many. */
static size_t unite(struct said *said, size_t count)
{
	size_t last = 0;

	if (count == 0)
		return 0;
	qsort(said, count, sizeof *said, by_alert);
	for (size_t i = 1; i < count; i++) {
		if (strcmp(said[last].alert, said[i].alert) != 0) {
			said[++last] = said[i];
			continue;
		}
		said[last].raised |= said[i].raised;
		said[last].cleared |= said[i].cleared;
	}
	return last + 1;
}

static bool is_over(const struct waiting *waiting, const struct said *said, size_t count)
{
	for (size_t i = 0; i < waiting->part_count; i++) {
		const struct said key = { .alert = waiting->parts[i].alert };
		const struct said *found = bsearch(&key, said, count, sizeof *said, by_alert);

		if (!found || !found->raised || !found->cleared)
			return false;
	}
	return waiting->part_count > 0;
}

static void mark(struct waitings *waitings, size_t webhook)
{
	size_t count = 0, most = 0;

	for (size_t i = 0; i < waitings->count; i++)
		most += waitings->list[i].part_count;
	struct said *said = must_calloc(most, sizeof *said);

	for (size_t i = 0; i < waitings->count; i++)
		for (size_t p = 0; is_open(&waitings->list[i], webhook) &&
				   p < waitings->list[i].part_count; p++) {
			const struct outgoing_part *part = &waitings->list[i].parts[p];

			said[count++] = (struct said){ part->alert, !part->cleared, part->cleared };
		}
	count = unite(said, count);
	/* Never taken back: when the message that raised several alerts has gone
	 * out for the sake of one that stands, those that cleared stay over. */
	for (size_t i = 0; i < waitings->count; i++)
		if (is_open(&waitings->list[i], webhook) &&
		    is_over(&waitings->list[i], said, count))
			waitings->list[i].over = true;
	free(said);
}

void turn_mark(struct waitings *waitings)
{
	for (size_t i = 0; waitings->fresh && i < waitings->conf->webhook_count; i++)
		mark(waitings, i);
	waitings->fresh = false;
}

/* ---- what is next ----------------------------------------------------------- */

struct turn turn_of(const struct waitings *waitings, size_t webhook, double now)
{
	struct turn turn = { 0 };

	for (size_t i = 0; i < waitings->count; i++) {
		struct waiting *waiting = &waitings->list[i];
		bool summary = waiting->replaced_count > 0, due = now >= waiting->rest_until;

		if (waiting->webhook != webhook || waiting->busy || waiting->done)
			continue;
		turn.over += waiting->over || summary;
		if (!due)
			continue;
		if (summary && !turn.summary)
			turn.summary = waiting;
		if (!summary && !turn.oldest)
			turn.oldest = waiting;
		if (!summary && !waiting->over && !turn.standing)
			turn.standing = waiting;
	}
	return turn;
}
