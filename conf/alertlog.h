/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One line of alerts.jsonl <-> one record, both directions.  Pure: the
 * daemon's alert files write the lines, both programs read them.
 */
#ifndef WARMSIDE_CONF_ALERTLOG_H
#define WARMSIDE_CONF_ALERTLOG_H

#include <stdbool.h>

#include <jansson.h>

#include "conf/model.h"

enum event { RAISED, REMINDED, WORSENED, ACKNOWLEDGED, CLEARED, SHELVED, UNSHELVED,
	     DELIVERED, TESTED, EVENTS };

enum condition { BELOW_BAND, ABOVE_BAND, BELOW_LIMITS, ABOVE_LIMITS, RUNAWAY, NO_GRADIENT,
		 SILENT, FROZEN, CLOCK, ARCHIVE, DELIVERY, DISK, UNTESTED, MISTING_DUE,
		 UNCALIBRATED, CONDITIONS };

enum { ALERT_ID = 40, NAME_SIZE = 41, BY_SIZE = 81, NOTE_SIZE = 401 };

struct alert_record {
	double time;                    /* when it happened */
	char id[ALERT_ID];              /* of the alert: lasts from raised to cleared */
	char message[ALERT_ID];         /* the webhook-id that told it; "" for none */
	enum event event;
	char enclosure[NAME_SIZE];      /* "" when it concerns no enclosure */
	bool has_place;
	enum place place;
	bool has_quantity;
	bool computed;                  /* no probe measures it there (conf/computed.h) */
	enum quantity quantity;
	bool has_condition;             /* test and delivered have none */
	enum condition condition;
	bool has_priority;
	enum priority priority;
	bool has_value;
	double value;                   /* the latest reading, °C or % */
	bool has_since;
	double since;                   /* when the condition began */
	bool has_worst;
	double worst;                   /* the reading farthest out so far */
	bool has_until;
	double until;                   /* shelved: its end; cleared: when it was over; else of
					 * misting_due: when it will be below its band */
	char webhook[NAME_SIZE];        /* delivered: who took it; condition delivery: whose */
	char joins[ALERT_ID];           /* it is part of the matter of that alert, or of the
					 * "room", and told by the messages about that; or "" */
	char by[BY_SIZE];               /* acknowledged, shelved, unshelved: who, or "" */
	char note[NOTE_SIZE];           /* and why, or "" */
};

const char *event_word(enum event event);
const char *condition_word(enum condition condition);
const char *priority_word(enum priority priority);

/* The other way; false, and nothing changed, for another word. */
bool event_from_word(const char *word, enum event *event);
bool condition_from_word(const char *word, enum condition *condition);
bool priority_from_word(const char *word, enum priority *priority);

/* The record as a JSON object (a new reference); absent things are null. */
json_t *alert_to_json(const struct alert_record *record);

/* One line without its newline; malloc'ed, the caller frees. */
char *alert_to_line(const struct alert_record *record);

/* False when the object or line is not a record (torn, foreign, unknown words). */
bool alert_from_json(const json_t *object, struct alert_record *out);
bool alert_from_line(const char *line, struct alert_record *out);

#endif
