/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reading dryings.jsonl; see dryings.h.
 */
#include "report/dryings.h"

#include <stdlib.h>
#include <string.h>
#include <sys/types.h>

#include "conf/memory.h"

static int by_series(const struct drying_record *one, const char *enclosure, enum place place)
{
	int names = strcmp(one->enclosure, enclosure);

	return names ? names : (one->place > place) - (one->place < place);
}

static int by_series_and_time(const void *a, const void *b)
{
	const struct drying_record *one = a, *other = b;
	int series = by_series(one, other->enclosure, other->place);

	return series ? series : (one->from > other->from) - (one->from < other->from);
}

void drying_log_read(FILE *file, struct drying_log *out)
{
	struct drying_record record;
	char *line = NULL;
	size_t size = 0;

	*out = (struct drying_log){ 0 };
	while (getline(&line, &size, file) > 0) {
		if (!drying_from_line(line, &record))
			continue;
		out->list = must_resize(out->list, out->count + 1, sizeof *out->list);
		out->list[out->count++] = record;
	}
	free(line);
	if (out->count)
		qsort(out->list, out->count, sizeof *out->list, by_series_and_time);
}

void drying_log_load(const char *state, struct drying_log *out)
{
	char *path = state_path(state, DRYINGS_FILE);
	FILE *file = fopen(path, "re");

	*out = (struct drying_log){ 0 };
	if (file) {
		drying_log_read(file, out);
		fclose(file);
	}
	free(path);
}

void drying_log_clear(struct drying_log *log)
{
	for (size_t i = 0; i < log->count; i++)
		free(log->list[i].list);
	free(log->list);
	*log = (struct drying_log){ 0 };
}

const struct drying_record *drying_log_last(const struct drying_log *log, const char *enclosure,
					    enum place place)
{
	const struct drying_record *last = NULL;

	for (size_t i = 0; i < log->count; i++)
		if (by_series(&log->list[i], enclosure, place) == 0 &&
		    (!last || log->list[i].to > last->to))
			last = &log->list[i];
	return last;
}
