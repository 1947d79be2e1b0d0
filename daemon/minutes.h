/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Gated readings of one enclosure -> closed minutes, ready for the archive:
 * what of each minute is known, lay below and above the band in force, and
 * by how much.  Pure; time is an argument.
 *
 * Between two readings of a series no more than 3 x `every` apart the value
 * is the straight line; anything else is unknown.  Lines are split at every
 * full minute (epoch multiple of 60) and at every change of the band.
 */
#ifndef WARMSIDE_DAEMON_MINUTES_H
#define WARMSIDE_DAEMON_MINUTES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "conf/layout.h"
#include "conf/model.h"
#include "daemon/reading.h"

/* One minute [end - 60, end) of which at least something is known. */
struct closed_minute {
	int64_t end;            /* s since the epoch, a multiple of 60 */
	size_t count;           /* of the enclosure's series, in the order of enclosure_series() */
	struct minute_cell cells[MAX_SERIES];
};

typedef void minute_sink(void *context, const struct closed_minute *minute);

struct minutes;

/* Keeps nothing of conf.  The caller frees with minutes_free; NULL is fine there. */
struct minutes *minutes_new(const struct conf *conf, const struct enclosure *enclosure);
void minutes_free(struct minutes *minutes);

/* Takes a reading (s since the epoch; °C or %) of the enclosure's series number
 * `series`.  False when it is refused: not later than the one before of its
 * series, or no finite number.  A line into a minute already closed counts
 * from that minute's end on. */
bool minutes_take(struct minutes *minutes, size_t series, double time, double value);

/* Hands to sink, in order, every minute that can be closed: those each series
 * has a reading at or after the end of, or has had none for longer than
 * 3 x its `every` (counted from the enclosure's first reading when it never
 * had one).  `now`: no reading earlier than this will be taken any more.
 * Minutes of which nothing is known are not handed out. */
void minutes_close(struct minutes *minutes, double now, minute_sink *sink, void *context);

/* At an orderly end: hands out everything, the last partial minute too. The
 * lines to the last readings are cut: what comes next begins anew. */
void minutes_finish(struct minutes *minutes, minute_sink *sink, void *context);

/* Goes on under a new configuration without losing anything.  False, and
 * nothing has changed, when the enclosure's series are others than before:
 * then finish this one and begin another. */
bool minutes_reload(struct minutes *minutes, const struct conf *conf,
		    const struct enclosure *enclosure);

#endif
