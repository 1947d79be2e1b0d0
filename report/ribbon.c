/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Past bands; see ribbon.h.
 */
#include "report/ribbon.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>

#include "conf/band.h"
#include "conf/memory.h"

static void append(struct ribbon *ribbon, const struct band_record *record)
{
	ribbon->list = must_resize(ribbon->list, ribbon->count + 1, sizeof *ribbon->list);
	ribbon->list[ribbon->count++] = *record;
}

static bool concerns(const struct band_record *record, const struct enclosure *enclosure,
		     struct series series)
{
	return record->series.place == series.place && record->series.quantity == series.quantity &&
	       strcmp(record->enclosure, enclosure->name) == 0;
}

static int by_time(const void *a, const void *b)
{
	const struct band_record *one = a, *other = b;

	return (one->time > other->time) - (one->time < other->time);
}

void ribbon_load(const struct conf *conf, const struct enclosure *enclosure, struct series series,
		 struct ribbon *out)
{
	char *path = state_path(conf->state, BANDS_FILE);
	FILE *file = fopen(path, "re");
	struct band_record record;
	char *line = NULL;
	size_t size = 0;

	*out = (struct ribbon){ 0 };
	while (file && getline(&line, &size, file) > 0)
		if (band_from_line(line, &record) && concerns(&record, enclosure, series))
			append(out, &record);
	if (file)
		fclose(file);
	free(line);
	free(path);
	if (out->count) {
		qsort(out->list, out->count, sizeof *out->list, by_time);
		return;
	}
	record = band_record_of(conf, enclosure, series, -INFINITY);
	append(out, &record);
}

void ribbon_clear(struct ribbon *ribbon)
{
	free(ribbon->list);
	*ribbon = (struct ribbon){ 0 };
}

struct in_force ribbon_at(const struct ribbon *ribbon, double instant)
{
	const struct band_record *record = &ribbon->list[0];

	for (size_t i = 1; i < ribbon->count && ribbon->list[i].time <= instant; i++)
		record = &ribbon->list[i];

	const struct rule rule = { .day = record->day, .night = record->night };
	struct daypart_span span = daypart_at(&record->clock, instant);
	/* A changeover belongs to the part it leads to: shade the night from its begin. */
	bool night = span.part == NIGHT ||
		     (span.part == CHANGEOVER &&
		      daypart_at(&record->clock, span.from + record->clock.changeover).part ==
			      NIGHT);

	return (struct in_force){ .has_band = record->has_band,
				  .band = record->has_band ? band_in(&rule, span.part)
							   : (struct range){ 0 },
				  .night = night };
}
