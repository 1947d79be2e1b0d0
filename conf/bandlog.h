/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * bands.jsonl: a line whenever the configuration changes the band of a
 * series, so that the past is drawn against the band it was judged by.
 * The daemon writes, the report reads.
 */
#ifndef WARMSIDE_CONF_BANDLOG_H
#define WARMSIDE_CONF_BANDLOG_H

#include "conf/alertlog.h"
#include "conf/layout.h"
#include "conf/model.h"

/* From `time` on these bands hold for this series. */
struct band_change {
	double time;
	char enclosure[NAME_SIZE];
	struct series series;
	bool has_band, has_limits;
	struct range day, night, limits;
	struct day hours;       /* the day and changeover they follow */
};

/* What the configuration says of a series, as of that time. */
struct band_change band_change_now(const struct conf *conf, const struct enclosure *enclosure,
				   struct series series, double time);

/* True when both say the same (their times aside). */
bool band_change_same(const struct band_change *a, const struct band_change *b);

/* One line without its newline; malloc'ed. */
char *band_change_line(const struct band_change *change);

/* False when the line is none. */
bool band_change_parse(const char *line, struct band_change *out);

/* All lines of the file, in order; NULL and a count of 0 when there is none.
 * malloc'ed.  Torn and foreign lines are passed over. */
struct band_change *bandlog_read(const char *path, size_t *count);

#endif
