/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Figures about alerts; see alerts_figures.h.
 */
#include "report/alerts_figures.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

bool alert_is_stale(const struct alert_life *life, double now)
{
	return alert_stood(life, now) > STALE_SECONDS;
}

static void count_records(const struct alert_list *history, struct alert_figures *out)
{
	for (size_t i = 0; i < history->count; i++) {
		const struct alert_record *record = &history->list[i];

		out->events[record->event]++;
		if (record->event != RAISED)
			continue;
		out->untold += record->message[0] == '\0' && record->joins[0] == '\0';
		if (record->has_priority)
			out->priorities[record->priority]++;
	}
}

static void measure_lives(const struct alert_lives *lives, double now, struct alert_figures *out)
{
	for (size_t i = 0; i < lives->count; i++) {
		const struct alert_life *life = &lives->list[i];

		out->stale += alert_is_stale(life, now);
		if (!out->longest || alert_stood(life, now) > alert_stood(out->longest, now))
			out->longest = life;
	}
}

static int rising(const void *a, const void *b)
{
	const double *one = a, *other = b;

	return (*one > *other) - (*one < *other);
}

static void measure_waits(const struct alerts *alerts, struct alert_figures *out)
{
	size_t count = alerts->wait_count;
	double *sorted = must_calloc(count, sizeof *sorted);

	for (size_t i = 0; i < count; i++)
		sorted[i] = alerts->waits[i];
	out->waits = count;
	if (count > 0) {
		qsort(sorted, count, sizeof *sorted, rising);
		out->median_wait = (sorted[(count - 1) / 2] + sorted[count / 2]) / 2;
		out->longest_wait = sorted[count - 1];
	}
	free(sorted);
}

/* ---- what was raised --------------------------------------------------------- */

/* The raised records of the window, in the log's order. */
struct raises {
	const struct alert_record **list;
	size_t count;
};

static struct raises raises_of(const struct alert_list *history)
{
	struct raises raises = { must_calloc(history->count, sizeof *raises.list), 0 };

	for (size_t i = 0; i < history->count; i++)
		if (history->list[i].event == RAISED)
			raises.list[raises.count++] = &history->list[i];
	return raises;
}

/* Where and what, as far as two of the same are counted together. */
static int compare_matter(const struct alert_record *a, const struct alert_record *b)
{
	int difference = strcmp(a->enclosure, b->enclosure);

	if (difference == 0)
		difference = (a->has_place ? (int)a->place : -1) -
			     (b->has_place ? (int)b->place : -1);
	if (difference == 0)
		difference = (a->has_quantity ? (int)a->quantity : -1) -
			     (b->has_quantity ? (int)b->quantity : -1);
	if (difference == 0)
		difference = (a->has_condition ? (int)a->condition : -1) -
			     (b->has_condition ? (int)b->condition : -1);
	return difference ? difference : strcmp(a->webhook, b->webhook);
}

/* Equal ones in the log's order. */
static int by_matter(const void *a, const void *b)
{
	const struct alert_record *one = *(const struct alert_record *const *)a;
	const struct alert_record *other = *(const struct alert_record *const *)b;
	int difference = compare_matter(one, other);

	return difference ? difference : (one > other) - (one < other);
}

/* The more frequent first, of equals the one that was first. */
static bool goes_before(const struct frequent *a, const struct frequent *b)
{
	return a->count > b->count || (a->count == b->count && a->what < b->what);
}

static void note_frequent(struct alert_figures *out, const struct frequent *found)
{
	size_t at = out->frequent_count;

	while (at > 0 && goes_before(found, &out->frequent[at - 1]))
		at--;
	if (at == FREQUENT_MOST)
		return;
	if (out->frequent_count < FREQUENT_MOST)
		out->frequent_count++;
	memmove(&out->frequent[at + 1], &out->frequent[at],
		(out->frequent_count - at - 1) * sizeof *out->frequent);
	out->frequent[at] = *found;
}

/* Leaves the raises in another order. */
static void find_frequent(struct raises *raises, struct alert_figures *out)
{
	if (raises->count)
		qsort(raises->list, raises->count, sizeof *raises->list, by_matter);
	for (size_t from = 0, to; from < raises->count; from = to) {
		for (to = from + 1; to < raises->count; to++)
			if (compare_matter(raises->list[from], raises->list[to]) != 0)
				break;
		note_frequent(out, &(struct frequent){ raises->list[from], to - from });
	}
}

static int by_time(const void *a, const void *b)
{
	double one = (*(const struct alert_record *const *)a)->time;
	double other = (*(const struct alert_record *const *)b)->time;

	return (one > other) - (one < other);
}

static size_t count_messages(const struct alert_record *const *list, size_t count)
{
	size_t messages = 0;

	for (size_t i = 0; i < count; i++) {
		size_t j = 0;

		while (j < i && strcmp(list[j]->message, list[i]->message) != 0)
			j++;
		messages += j == i && list[i]->message[0];
	}
	return messages;
}

/* Leaves the raises in the order of time: a clock may have been set back. */
static void find_burst(struct raises *raises, struct alert_figures *out)
{
	size_t from = 0, best = 0;

	if (raises->count)
		qsort(raises->list, raises->count, sizeof *raises->list, by_time);
	for (size_t to = 0; to < raises->count; to++) {
		while (raises->list[to]->time - raises->list[from]->time > BURST_SECONDS)
			from++;
		if (to - from + 1 > out->burst) {
			out->burst = to - from + 1;
			best = from;
		}
	}
	if (out->burst == 0)
		return;
	out->burst_from = raises->list[best]->time;
	out->burst_messages = count_messages(raises->list + best, out->burst);
}

void figures_of(const struct alerts *alerts, double now, struct alert_figures *out)
{
	struct raises raises = raises_of(&alerts->history);

	*out = (struct alert_figures){ 0 };
	count_records(&alerts->history, out);
	measure_lives(&alerts->lives, now, out);
	measure_waits(alerts, out);
	find_frequent(&raises, out);
	find_burst(&raises, out);
	free(raises.list);
}
