/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Changes of bands, written down; see bands.h.
 */
#include "daemon/bands.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/bandlog.h"
#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/files.h"
#include "daemon/log.h"

enum { BANDS_CEILING = 16 << 20 };

/* The last thing said of a series; NULL when nothing was. */
static const struct band_change *last_said(const struct band_change *said, size_t count,
					   const struct band_change *now)
{
	for (size_t i = count; i-- > 0;)
		if (strcmp(said[i].enclosure, now->enclosure) == 0 &&
		    said[i].series.place == now->series.place &&
		    said[i].series.quantity == now->series.quantity)
			return &said[i];
	return NULL;
}

static void write_changes(FILE *out, const struct conf *conf, const struct band_change *said,
			  size_t count, double now)
{
	for (size_t e = 0; e < conf->enclosure_count; e++) {
		struct series series[MAX_SERIES];
		size_t n = enclosure_series(conf, &conf->enclosures[e], series);

		for (size_t s = 0; s < n; s++) {
			struct band_change change =
				band_change_now(conf, &conf->enclosures[e], series[s], now);
			const struct band_change *before = last_said(said, count, &change);

			if (before && band_change_same(before, &change))
				continue;
			char *line = band_change_line(&change);

			fprintf(out, "%s\n", line);
			free(line);
		}
	}
}

void bands_note(const struct conf *conf, double now)
{
	char *path = state_path(conf->state, BANDS_FILE), *text = NULL;
	size_t count, old_size = 0, size = 0;
	struct band_change *said = bandlog_read(path, &count);
	char *old = file_read(path, BANDS_CEILING, &old_size);
	FILE *out = open_memstream(&text, &size);

	if (out) {
		if (old)
			fwrite(old, 1, old_size, out);
		write_changes(out, conf, said, count, now);
		if (fclose(out) == 0 && size != old_size && !file_replace(path, text, size, true))
			log_errno("%s cannot be written", path);
	}
	free(text);
	free(old);
	free(said);
	free(path);
}
