/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the files lie below the state folder, and how an archive is laid
 * out: names and numbers that writer and reader must agree on, as plain
 * strings and numbers; no librrd here.
 */
#ifndef WARMSIDE_CONF_LAYOUT_H
#define WARMSIDE_CONF_LAYOUT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "conf/model.h"

enum {
	ARCHIVE_STEP = 60,      /* s: one row of the finest size */
	ROW_MINUTE = 60,
	ROW_TEN_MINUTES = 600,
	ROW_HOUR = 3600,
	ROW_SIZES = 3,
	KEPT_SINCE = 9,         /* which of a set of rows' ten numbers in the file (librrd uses the
				 * first) says since when they are kept, in s since the epoch: set
				 * when there are to be more of them than were kept.  0: always */
	DS_NAME = 20,           /* bytes, the terminator included: librrd's bound */
	ENCLOSURE_NAME = 48,    /* bytes; the configuration allows 40 characters */
};

/* What is kept of each minute of a series, in the order of its columns. */
enum column { COLUMN_VALUE, COLUMN_LOW, COLUMN_HIGH, COLUMN_OK, COLUMN_OUT, COLUMNS };

/* One closed minute of one series; ok == 0 means nothing is known of it. */
struct minute_cell {
	double value;           /* mean of the known part; meaningless when ok is 0 */
	double low, high;       /* share 0..1 of the minute below / above the band */
	double ok;              /* share that is known */
	double out;             /* mean distance outside the band x share known */
};

/* One (place, quantity) of an enclosure that is archived. */
struct series {
	enum place place;
	enum quantity quantity;
	bool computed;          /* no probe measures it there (conf/computed.h) */
};

enum { MAX_SERIES = PLACES * QUANTITIES };

/* The series an enclosure has, in the fixed order of the enums: what its probes
 * give, and a humidity that is computed where one is wanted.  Returns how many. */
size_t enclosure_series(const struct conf *conf, const struct enclosure *enclosure,
			struct series out[MAX_SERIES]);

/* The bit of a series in a set of series. */
uint32_t series_bit(struct series series);

/* The members of a set, in the order of enclosure_series(); returns how many. */
size_t series_in(uint32_t set, struct series out[MAX_SERIES]);

/* "cool_h", "cool_h_lo", "cool_h_hi", "cool_h_ok", "cool_h_out". */
char *ds_name(struct series series, enum column column, char buf[DS_NAME]);

/* Row sizes in s (60, 600, 3600) and how many rows of each the configuration keeps. */
extern const int row_sizes[ROW_SIZES];
size_t row_count(const struct archive_rows *rows, int row_size);

/* Paths below the state folder; each is malloc'ed, the caller frees.
 * Never NULL (out of memory ends the program). */
char *archive_path(const char *state, const char *enclosure);      /* archive/<name>.rrd */
char *state_path(const char *state, const char *name);             /* <state>/<name> */

/* Names below the state folder, for state_path(). */
#define ARCHIVE_FOLDER "archive"
#define OUTBOX_FOLDER "outbox"
#define REQUESTS_FOLDER "requests"
#define ALERTS_FILE "alerts.jsonl"
#define STANDING_FILE "standing.json"
#define NOW_FILE "now.json"
#define BANDS_FILE "bands.jsonl"
#define DRYINGS_FILE "dryings.jsonl"
#define GATHERED_FILE "gathered"
#define SAMPLES_FILE "samples"
#define LOCK_FILE "lock"

#endif
