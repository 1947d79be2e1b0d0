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
		if (!drying_from_line(line, &record)) {
			out->damaged++;
			continue;
		}
		out->list = must_grow(out->list, out->count, sizeof *out->list);
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

void drying_log_drop_late(struct drying_log *log, const char *enclosure, double newest)
{
	size_t kept = 0;

	if (newest <= 0)
		return;
	for (size_t i = 0; i < log->count; i++) {
		if (strcmp(log->list[i].enclosure, enclosure) == 0 && log->list[i].to > newest) {
			log->late++;
			free(log->list[i].list);
		} else {
			log->list[kept++] = log->list[i];
		}
	}
	log->count = kept;
}

void drying_log_complain(const struct drying_log *log)
{
	if (log->damaged)
		fprintf(stderr, "warmside: %zu line%s of " DRYINGS_FILE " %s passed over\n",
			log->damaged, log->damaged == 1 ? "" : "s",
			log->damaged == 1 ? "is no record and is" : "are no records and are");
	if (log->late)
		fprintf(stderr, "warmside: %zu record%s of " DRYINGS_FILE " %s after the newest row of %s "
			"enclosure and %s passed over: was the clock wrong?\n",
			log->late, log->late == 1 ? "" : "s", log->late == 1 ? "ends" : "end",
			log->late == 1 ? "its" : "their", log->late == 1 ? "is" : "are");
}

const struct drying_record *drying_log_last(const struct drying_log *log, const char *enclosure,
					    enum place place, double until)
{
	const struct drying_record *last = NULL;

	for (size_t i = 0; i < log->count; i++)
		if (by_series(&log->list[i], enclosure, place) == 0 &&
		    log->list[i].to <= until && (!last || log->list[i].to > last->to))
			last = &log->list[i];
	return last;
}
