/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Changes of bands, written down; see bands.h.
 */
#include "daemon/bands.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/bandlog.h"
#include "conf/daypart.h"
#include "conf/memory.h"
#include "conf/readfile.h"
#include "conf/season.h"
#include "daemon/files.h"
#include "daemon/log.h"

enum { BANDS_CEILING = 16 << 20 };

/* What the log says already, in order; malloc'ed.  Cuts text into lines. */
static struct band_record *read_said(char *text, size_t *count)
{
	struct band_record *said = NULL, record;
	char *rest = NULL;

	*count = 0;
	for (char *line = strtok_r(text, "\n", &rest); line; line = strtok_r(NULL, "\n", &rest))
		if (band_from_line(line, &record)) {
			said = must_resize(said, *count + 1, sizeof *said);
			said[(*count)++] = record;
		}
	return said;
}

/* Whether the last thing said of the series is what is so now. */
static bool is_said(const struct band_record *said, size_t count, const struct band_record *now)
{
	for (size_t i = count; i-- > 0;)
		if (strcmp(said[i].enclosure, now->enclosure) == 0 &&
		    said[i].series.place == now->series.place &&
		    said[i].series.quantity == now->series.quantity)
			return band_same(&said[i], now);
	return false;
}

static void write_changes(FILE *out, const struct conf *conf, const struct band_record *said,
			  size_t count, double now)
{
	for (size_t e = 0; e < conf->enclosure_count; e++) {
		struct series series[MAX_SERIES];
		size_t n = enclosure_series(conf, &conf->enclosures[e], series);

		for (size_t s = 0; s < n; s++) {
			struct band_record record =
				band_record_of(conf, &conf->enclosures[e], series[s], now);

			if (is_said(said, count, &record))
				continue;
			char *line = band_to_line(&record);

			fprintf(out, "%s\n", line);
			free(line);
		}
	}
}

static void note(const struct conf *conf, double now)
{
	char *path = state_path(conf->state, BANDS_FILE), *text = NULL;
	size_t count = 0, old_size = 0, size = 0;
	char *old = file_read(path, BANDS_CEILING, &old_size);
	bool readable = old || errno == ENOENT;
	FILE *out = readable ? open_memstream(&text, &size) : NULL;

	if (!readable)
		log_errno("%s cannot be read; changes of bands are not written down", path);
	if (out) {
		if (old && old_size > 0) {
			fwrite(old, 1, old_size, out);
			if (old[old_size - 1] != '\n')
				fputc('\n', out); /* a torn line spoils none but itself */
		}
		struct band_record *said = old ? read_said(old, &count) : NULL;

		write_changes(out, conf, said, count, now);
		free(said);
		if (fclose(out) == 0 && size != old_size && !file_replace(path, text, size, true))
			log_errno("%s cannot be written", path);
	}
	free(text);
	free(old);
	free(path);
}

struct bands_course bands_begin(const struct conf *conf, double now)
{
	int date = daypart_at(&conf->day, now).date + 1;

	note(conf, now);
	return (struct bands_course){ date, daypart_begin(&conf->day, date) };
}

void bands_follow(struct bands_course *course, const struct conf *conf, double now)
{
	while (course->begins <= now) {
		if (seasons_step(conf, course->date))
			note(conf, course->begins);
		course->date++;
		course->begins = daypart_begin(&conf->day, course->date);
	}
}
