/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stood at an instant; see standing.h.
 */
#include "report/standing.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

static int gravest_first(const void *a, const void *b)
{
	const struct alert_record *one = a, *other = b;
	int difference = (int)other->priority - (int)one->priority;

	if (!difference)
		difference = alert_is_of_danger(other) - alert_is_of_danger(one);
	return difference ? difference : (one->time > other->time) - (one->time < other->time);
}

/* What was told of it last until then; the log may tell more of it since. */
static const struct alert_record *last_told(const struct alert_list *history,
					    const struct alert_life *life, double instant)
{
	for (size_t i = history->count; i-- > 0;) {
		const struct alert_record *one = &history->list[i];

		if (one->time <= instant && strcmp(one->id, life->last.id) == 0 &&
		    (one->event == RAISED || one->event == WORSENED || one->event == REMINDED))
			return one;
	}
	return &life->last;
}

void standing_load(const char *state, double instant, struct standing *out)
{
	struct alerts all;
	struct alert_list *list = &out->alerts;

	*out = (struct standing){ .known = alerts_load(state, (struct window){ 0, instant + 1 },
						       &all) };
	for (size_t i = 0; i < all.lives.count; i++) {
		const struct alert_life *life = &all.lives.list[i];

		if (!alert_stood_at(life, instant) || alert_is_reminder(&life->last))
			continue;
		list->list = must_resize(list->list, list->count + 1, sizeof *list->list);
		list->list[list->count++] = *last_told(&all.history, life, instant);
	}
	if (list->count)
		qsort(list->list, list->count, sizeof *list->list, gravest_first);
	alerts_clear(&all);
}

void standing_clear(struct standing *standing)
{
	free(standing->alerts.list);
	*standing = (struct standing){ 0 };
}

const struct alert_record *standing_of_probe(const struct standing *standing,
					     const char *enclosure, enum place place)
{
	for (size_t i = 0; i < standing->alerts.count; i++) {
		const struct alert_record *one = &standing->alerts.list[i];

		if (one->has_condition && (one->condition == SILENT || one->condition == FROZEN) &&
		    strcmp(one->enclosure, enclosure) == 0 &&
		    (!one->has_place || one->place == place))
			return one;
	}
	return NULL;
}
