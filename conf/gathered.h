/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The file of minutes that are closed and not in their archives yet.  The
 * daemon gathers them, because a memory card wears out by the number of
 * writes; this file is what a kill leaves of them, and from where the report
 * has the newest minutes.
 *
 * It begins with a mark, then record after record, each with a sum of its
 * own, so that one cut short by a sudden end is known and what comes before
 * it is still good.  Written and read on the same machine: plain numbers.
 */
#ifndef WARMSIDE_CONF_GATHERED_H
#define WARMSIDE_CONF_GATHERED_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "conf/layout.h"

enum {
	GATHERED_MARK = 8,              /* bytes of the mark */
	GATHERED_MOST = 83886080,       /* bytes; nothing of ours is larger */
};

struct gathered_minute {
	char name[ENCLOSURE_NAME];      /* of the enclosure */
	int64_t end;                    /* s since the epoch, a multiple of 60 */
	uint32_t series;                /* the set of its series: series_bit() */
	uint32_t count;                 /* of the series in it */
	struct minute_cell cells[MAX_SERIES]; /* in the order of series_in() */
};

/* Writes the mark; at has room for GATHERED_MARK bytes. */
void gathered_mark(unsigned char *at);

/* Bytes of a record with so many series. */
size_t gathered_size(size_t count);

/* Writes a record, gathered_size(minute->count) bytes. */
void gathered_put(unsigned char *at, const struct gathered_minute *minute);

/* The records of a file's bytes, one after the other, those of the enclosure
 * of that name or (NULL) of all; *at is 0 before the first.  False at the end,
 * at the first record that is not whole, and when the mark is another's. */
bool gathered_next(const unsigned char *bytes, size_t size, const char *name, size_t *at,
		   struct gathered_minute *minute);

#endif
