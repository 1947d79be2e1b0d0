/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The alert log; see alerts.h.
 */
#include "report/alerts.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>

#include "conf/layout.h"
#include "conf/memory.h"
#include "conf/words.h"

static void append(struct alert_list *list, const struct alert_record *record)
{
	list->list = must_resize(list->list, list->count + 1, sizeof *list->list);
	list->list[list->count++] = *record;
}

/* The place of an alert among those standing, or one behind the last. */
static size_t find_id(const struct alert_list *list, const char *id)
{
	size_t i = list->count;

	while (i-- > 0)
		if (strcmp(list->list[i].id, id) == 0)
			return i;
	return list->count;
}

static void follow(struct alert_list *standing, const struct alert_record *record)
{
	size_t at = find_id(standing, record->id);

	switch (record->event) {
	case RAISED:
	case WORSENED:
	case REMINDED:
		if (at == standing->count)
			append(standing, record);
		else
			standing->list[at] = *record;
		break;
	case CLEARED:
		if (at < standing->count) {
			memmove(&standing->list[at], &standing->list[at + 1],
				(standing->count - at - 1) * sizeof *standing->list);
			standing->count--;
		}
		break;
	default:
		break; /* what is acknowledged or shelved stands all the same */
	}
}

static int gravest_first(const void *a, const void *b)
{
	const struct alert_record *one = a, *other = b;
	int difference = (int)other->priority - (int)one->priority;

	return difference ? difference : (one->time > other->time) - (one->time < other->time);
}

void alerts_read(FILE *file, struct window window, struct alerts *out)
{
	char *line = NULL;
	size_t size = 0;
	ssize_t length;

	*out = (struct alerts){ 0 };
	while ((length = getline(&line, &size, file)) > 0) {
		struct alert_record record;

		if (strlen(line) != (size_t)length || !alert_from_line(line, &record)) {
			out->torn++;
			continue;
		}
		follow(&out->standing, &record);
		if (record.time >= window.from && record.time < window.to)
			append(&out->history, &record);
	}
	free(line);
	if (out->standing.count)
		qsort(out->standing.list, out->standing.count, sizeof *out->standing.list,
		      gravest_first);
}

bool alerts_load(const char *state, struct window window, struct alerts *out)
{
	char *path = state_path(state, ALERTS_FILE);
	FILE *file = fopen(path, "re");
	bool good = file || errno == ENOENT;

	*out = (struct alerts){ 0 };
	if (!good)
		fprintf(stderr, "warmside: %s cannot be read: %s\n", path, strerror(errno));
	if (file) {
		alerts_read(file, window, out);
		fclose(file);
	}
	if (out->torn)
		fprintf(stderr, "warmside: %s: %zu %s passed over, torn or not written by the "
			"daemon\n", path, out->torn, out->torn == 1 ? "line is" : "lines are");
	free(path);
	return good;
}

void alerts_clear(struct alerts *alerts)
{
	free(alerts->standing.list);
	free(alerts->history.list);
	*alerts = (struct alerts){ 0 };
}

char *alert_phrase(const struct alert_record *record)
{
	static const char *const phrases[CONDITIONS] = {
		[BELOW_BAND] = "below its band",
		[ABOVE_BAND] = "above its band",
		[BELOW_LIMITS] = "below its limits",
		[ABOVE_LIMITS] = "above its limits",
		[RUNAWAY] = "heading for its limit",
		[NO_GRADIENT] = "too little between warm and cool side",
		[SILENT] = "silent",
		[FROZEN] = "frozen",
		[CLOCK] = "clock not believed",
		[ARCHIVE] = "trouble with the archive",
		[DELIVERY] = "trouble with the delivery",
		[DISK] = "nothing can be written",
		[UNTESTED] = "no test alert for long",
	};
	const char *condition = record->has_condition ? phrases[record->condition] : "";
	char *text = must_print("%s%s%s%s%s",
				record->has_place ? place_phrase(record->place) : "",
				record->has_place && record->has_quantity ? " " : "",
				record->has_quantity ? quantity_word(record->quantity) : "",
				(record->has_place || record->has_quantity) && *condition ? " " : "",
				condition);
	return text;
}
