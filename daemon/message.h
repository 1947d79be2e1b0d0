/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An event -> what a keeper reads: a title that fits a lock screen, and a
 * text.  Pure.
 */
#ifndef WARMSIDE_DAEMON_MESSAGE_H
#define WARMSIDE_DAEMON_MESSAGE_H

#include <stdio.h>

#include "conf/alertlog.h"
#include "conf/model.h"

enum { TITLE_CHARACTERS = 60, REASON_TEXT = 400 };

struct room_view;

/* What the record alone does not say. */
struct message_context {
	const struct conf *conf;
	const struct enclosure *enclosure; /* NULL when it concerns none */
	bool has_band;
	struct range band;      /* in force at the record's time; of a gradient what is wanted */
	double edge;            /* MISTING_DUE: what of its band it will come below */
	bool by_allowance;      /* told because of what it was outside in a day */
	bool falling;           /* RUNAWAY: towards the lower limit */
	bool chattering;        /* raised and cleared again and again */
	bool acked;             /* somebody has seen it */
	bool unanswered;        /* reminded: nobody has, and others are told */
	bool quiet;             /* to be logged, not to be told */
	enum event told;        /* as what it is told: of a room matter its own event */
	bool joins;             /* part of a matter that is told already: told by the message
				 * about that, if it is still to go */
	const char *follows;    /* joins: the alert it follows; NULL: the room's matter */
	bool patchy;            /* SILENT: it answers, but only now and then */
	char reason[REASON_TEXT]; /* SILENT: what the bus shows of it, or "" */
	enum priority gravest;  /* the highest it was told with */
	/* The webhooks that are held back for more than `beyond` and at most `reach`
	 * s are told; beyond < 0: those that are not held back as well. */
	double reach, beyond;
	bool family;            /* cleared: the last of several in one enclosure, ... */
	double family_since;    /* ... the first of which began then */
	const struct room_view *room; /* told as a matter of the whole room, else NULL */
};

/* A sentence of at most 60 characters: "T3 too dry, 38 %".  malloc'ed. */
char *message_title(const struct alert_record *record, const struct message_context *context);

/* The text under the title: which enclosure, where, what now, which band,
 * since when, how far at worst, what usually causes it and what to look at
 * first; in the keeper's units and local time.  malloc'ed. */
char *message_text(const struct alert_record *record, const struct message_context *context);

/* Text of at most so many characters: a longer one is freed and comes back cut,
 * its last character an ellipsis. */
char *message_cut(char *text, size_t most);

/* ---- message_room.c: of a matter of the whole room ------------------------- */

char *room_title(const struct room_view *view, const struct alert_record *record,
		 const struct message_context *context);
char *room_text(const struct room_view *view, const struct alert_record *record,
		const struct message_context *context);

/* ---- message_reading.c: of a value ------------------------------------------ */

/* What follows whose and which place's it is: the value, what is wanted, and the season
 * that has moved it. */
void reading_print(FILE *out, const struct alert_record *record,
		   const struct message_context *context);

/* ---- message_misting.c: that a misting will be due -------------------------- */

/* What follows the label; malloc'ed. */
char *misting_predicate(const struct alert_record *record);

/* What follows the reading. */
void misting_print(FILE *out, const struct alert_record *record,
		   const struct message_context *context);

/* ---- message_trouble.c: of the tool's own trouble -------------------------- */

/* What follows "Warmside" or an enclosure's label; malloc'ed. */
char *trouble_predicate(const struct alert_record *record,
			const struct message_context *context);
void trouble_print(FILE *out, const struct alert_record *record,
		   const struct message_context *context);

#endif
