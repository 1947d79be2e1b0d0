/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The alert log as a keeper asks about it: what stands now, and what
 * happened in a window.
 */
#ifndef WARMSIDE_REPORT_ALERTS_H
#define WARMSIDE_REPORT_ALERTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "conf/alertlog.h"
#include "report/window.h"

struct alert_list {
	struct alert_record *list;
	size_t count;
};

struct alerts {
	struct alert_list standing; /* the latest raised, worsened or reminded of each alert not
				     * cleared in the whole log; `now` first, then by time */
	struct alert_list history;  /* every record in the window, in the log's order */
	size_t torn;                /* lines that are no record: passed over */
};

/* Reads the log from an open file. */
void alerts_read(FILE *file, struct window window, struct alerts *out);

/* Opens <state>/alerts.jsonl and reads it.  A log not begun yet is an empty
 * one.  False after a sentence on standard error; torn lines get one there
 * too. */
bool alerts_load(const char *state, struct window window, struct alerts *out);
void alerts_clear(struct alerts *alerts);

/* "cool side humidity below its band": what a record is about, for people;
 * malloc'ed, the caller frees. */
char *alert_phrase(const struct alert_record *record);

#endif
