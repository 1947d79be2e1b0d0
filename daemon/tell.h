/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What happens to an event: a line in the alert log, and a message for every
 * webhook that is to be told; or, when rehearsing, a line on standard output.
 *
 * Nothing is lost or told twice by a sudden end, because it goes in three
 * steps, and whoever keeps standing.json writes it between them: events are
 * taken (and kept there), then written to the log, then sent.
 */
#ifndef WARMSIDE_DAEMON_TELL_H
#define WARMSIDE_DAEMON_TELL_H

#include "daemon/gathering.h"
#include "daemon/log.h"
#include "daemon/postbox.h"

enum {
	FLOOD_ALERTS = 10,      /* more than so many raised ... */
	FLOOD_SECONDS = 600,    /* ... within this are a flood (ISA-18.2, EEMUA 191) */
	FLOOD_GATHER = 300,     /* s: then what is not urgent is gathered for longer */
	GATHER_MOST = 86400,    /* s: no quiet hours are longer */
	FLOOD_KNOWN = 64,       /* raises remembered */
	UNLOGGED_MOST = 1000,   /* records that wait for a disk that takes nothing */
	CLOSING_MOST = 1000,    /* of a matter, over before the matter is */
	SILENT_GATHER = 3,      /* times: probes of one bus fall silent within a round */
};

struct teller {
	const struct conf *conf;
	int log;                /* alerts.jsonl, append only; -1 while it is away */
	char *outbox;           /* folder */
	bool post;              /* false: print what would be sent, and when */
	struct postbox *postbox; /* borrowed; NULL unless posting */
	unsigned long told;     /* messages put into the outbox or printed */
	struct gathering gathering;
	struct gathering test;  /* a test goes by itself */
	/* What is over, of matters that are not: it goes with the message that says
	 * the matter is, so that whoever counts by ids sees the end of each. */
	struct item *closing;
	size_t closing_count;
	struct alert_record *unlogged;
	size_t unlogged_count;
	unsigned long dropped;  /* records that found no room at all */
	bool fresh;             /* something was taken since teller_log */
	double raises[FLOOD_KNOWN]; /* when alerts were raised, a ring */
	size_t next_raise;
	struct log_state log_failing;
};

/* Opens the log and makes the outbox below the state folder.  False, with a
 * line logged, when that cannot be done. */
bool teller_open(struct teller *teller, const struct conf *conf, bool post);
void teller_close(struct teller *teller);

/* Takes an event: to be logged, and gathered to be told.  Fills record->message. */
void teller_take(struct teller *teller, struct alert_record *record,
		 const struct message_context *context);

/* Writes what was taken to the log; what the disk does not take waits in
 * memory.  Called again every second. */
void teller_log(struct teller *teller);

/* Sends what is due at `now`.  True when a message went: then what is kept has
 * changed. */
bool teller_send(struct teller *teller, double now);

/* Sends whatever is gathered, due or not: the end of a recording. */
bool teller_send_all(struct teller *teller);

/* The clock was put right by so many s.  What is gathered goes no later than it
 * would have, be it a little sooner. */
void teller_shift(struct teller *teller, double by);

/* A webhook took a message: logged. */
void teller_delivered(struct teller *teller, const struct courier_result *result, double now);

/* What of it a restart must know, into and out of standing.json's object.  What
 * was to be logged and is in the log already is not logged again. */
void teller_keep(const struct teller *teller, json_t *whole);
void teller_restore(struct teller *teller, const json_t *whole);

#endif
