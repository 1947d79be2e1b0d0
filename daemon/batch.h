/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What goes through the two pipes between the watcher and the archivist.
 * Both ends are the same program, so these are plain structs.  A batch says
 * for itself which series its minutes have, so that neither end must know
 * the configuration of the other:
 *
 *     batch_head, then for each enclosure
 *         section_head, then for each minute
 *             minute_head, then `count` struct minute_cell
 *
 * The answers are struct report: a hello after birth, one for each file that
 * was set aside or could not be written, and one that ends each batch.
 */
#ifndef WARMSIDE_DAEMON_BATCH_H
#define WARMSIDE_DAEMON_BATCH_H

#include <stddef.h>
#include <stdint.h>

#include "conf/layout.h"
#include "daemon/archive_head.h"
#include "daemon/reading.h"

struct batch_head {
	uint64_t number;                /* counted by the watcher, from 1 */
	uint64_t rows[ROW_SIZES];       /* that a new file gets */
	uint32_t size;                  /* bytes after this head */
	uint32_t sections;
	uint32_t synced;                /* acknowledged when it is on the disk, as well */
	uint32_t unused;
};

struct section_head {
	char name[ENCLOSURE_NAME];
	uint32_t size;                  /* bytes of its minutes */
	uint32_t minutes;
};

struct minute_head {
	int64_t end;                    /* s since the epoch */
	uint32_t series;                /* a set: see series_bit() */
	uint32_t count;                 /* of the series in it */
};

enum report_kind {
	REPORT_HELLO,           /* end: the latest last update of all archives, 0 for none */
	REPORT_FOLDER,          /* the folder cannot be used: text; the archivist ends */
	REPORT_DAMAGED,         /* name was set aside as file; text: why */
	REPORT_FAILED,          /* section number `section` is not written: text */
	REPORT_DONE,            /* batch `number` is done but for what failed */
};

/* Small enough (below PIPE_BUF) to be written in one piece. */
struct report {
	uint64_t number;
	int64_t end;
	uint32_t kind, section;
	char name[ENCLOSURE_NAME];
	char file[ENCLOSURE_NAME + 48]; /* within the archive folder */
	char text[ARCHIVE_TEXT];
};

/* A shared page: whose file the archivist has in hand; "" when none. */
struct in_hand {
	char name[ENCLOSURE_NAME];
};

#endif
