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

/* Standing for longer is stale (ISA-18.2), s. */
enum { STALE_SECONDS = 24 * 3600 };

struct alert_list {
	struct alert_record *list;
	size_t count;
};

/* One alert, from raised to cleared. */
struct alert_life {
	struct alert_record last; /* the latest raised, worsened or reminded */
	double raised;          /* when */
	bool over;
	double end;             /* when it was cleared; valid when over */
	bool acknowledged;      /* and neither worsened nor reminded since */
	struct alert_record ack; /* by whom, when and why; valid when acknowledged */
	double waiting;         /* since when it waits for somebody, while not acknowledged */
};

struct alert_lives {
	struct alert_life *list;
	size_t count;
};

/* A webhook took a message. */
struct delivery {
	char message[ALERT_ID], webhook[NAME_SIZE];
	double time;
	bool known;             /* what the message told is in the window */
};

struct alerts {
	struct alert_lives standing; /* not cleared in the whole log; `now` first, then by time */
	struct alert_list shelved;  /* the latest record of each enclosure not unshelved since */
	struct alert_list history;  /* every record in the window, in the log's order */
	struct alert_lives lives;   /* each that stood at some moment of the window */
	struct delivery *deliveries; /* since the window's begin; by message, then time */
	size_t delivery_count;
	double *waits;              /* s from raised to each acknowledgement in the window, or
				     * from the telling that made another one necessary */
	size_t wait_count;
	size_t torn;                /* lines that are no record: passed over */
	bool missing;           /* there is no log yet */
};

/* Reads the log from an open file. */
void alerts_read(FILE *file, struct window window, struct alerts *out);

/* Opens <state>/alerts.jsonl and reads it.  A log not begun yet is an empty
 * one.  False, and an empty one, after a sentence on standard error; torn lines get
 * one there too. */
bool alerts_load(const char *state, struct window window, struct alerts *out);
void alerts_clear(struct alerts *alerts);

/* Whether a message can tell of such an event. */
bool event_is_told(enum event event);

/* Whether it stood at an instant. */
bool alert_stood_at(const struct alert_life *life, double instant);

/* For how long it stood, or stands, s. */
double alert_stood(const struct alert_life *life, double now);

/* The deliveries of a message, *count of them. */
const struct delivery *alerts_deliveries(const struct alerts *alerts, const char *message,
					 size_t *count);

/* Whether it is of what is still to come, and all may be well yet. */
bool alert_is_reminder(const struct alert_record *record);

/* Beyond its limits, or heading for them. */
bool alert_is_of_danger(const struct alert_record *record);

/* "cool side humidity below its band": what a record is about, for people;
 * malloc'ed, the caller frees. */
char *alert_phrase(const struct alert_record *record);

/* "anna: misted it", or what there is of it: who and why; malloc'ed, the caller
 * frees. */
char *alert_author(const struct alert_record *record);

#endif
