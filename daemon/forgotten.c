/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What only the alert log remembers; see forgotten.h.
 */
#include "daemon/forgotten.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

struct open_ones {
	struct alert_record *list;
	size_t count;
};

/* Shelvings have no id of their own, only an enclosure. */
static bool is_of(const struct alert_record *one, const struct alert_record *other)
{
	if ((one->event == SHELVED) != (other->event == SHELVED || other->event == UNSHELVED))
		return false;
	return one->event == SHELVED ? strcmp(one->enclosure, other->enclosure) == 0
				     : strcmp(one->id, other->id) == 0;
}

static void close_one(struct open_ones *open, const struct alert_record *record)
{
	for (size_t i = open->count; i-- > 0;)
		if (is_of(&open->list[i], record)) {
			open->count--;
			memmove(open->list + i, open->list + i + 1,
				(open->count - i) * sizeof *open->list);
		}
}

static void follow(struct open_ones *open, const struct alert_record *record)
{
	bool begins = record->event == RAISED || record->event == WORSENED ||
		      record->event == SHELVED;

	if (!begins && record->event != CLEARED && record->event != UNSHELVED)
		return;
	close_one(open, record);
	if (!begins)
		return;
	open->list = must_resize(open->list, open->count + 1, sizeof *open->list);
	open->list[open->count++] = *record;
}

static void end(struct alert_record *record, double now)
{
	bool shelved = record->event == SHELVED;

	record->event = shelved ? UNSHELVED : CLEARED;
	record->time = now;
	record->message[0] = record->joins[0] = record->by[0] = '\0';
	record->has_value = false;
	record->has_until = !shelved;
	record->until = now;
	snprintf(record->note, sizeof record->note,
		 "forgotten, because standing.json was damaged or removed%s",
		 shelved ? "" : "; told anew if it lasts");
}

struct alert_record *forgotten_ends(const char *path, double now, size_t *count)
{
	struct open_ones open = { 0 };
	FILE *file = fopen(path, "re");
	char *line = NULL;
	size_t room = 0;
	struct alert_record record;

	while (file && getline(&line, &room, file) > 0)
		if (alert_from_line(line, &record))
			follow(&open, &record);
	free(line);
	if (file)
		fclose(file);
	*count = 0;
	for (size_t i = 0; i < open.count; i++) {
		if (open.list[i].event == SHELVED && open.list[i].has_until &&
		    open.list[i].until <= now)
			continue; /* over by itself */
		end(&open.list[i], now);
		open.list[(*count)++] = open.list[i];
	}
	return open.list;
}
