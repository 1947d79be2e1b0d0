/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The morning look: what all enclosures of a window come to, and the sentence
 * that answers the question of the morning.  Page and digest are made from it.
 */
#ifndef WARMSIDE_REPORT_MORNING_H
#define WARMSIDE_REPORT_MORNING_H

#include "report/account.h"
#include "report/gather.h"
#include "report/request.h"

/* What is remembered of an enclosure when its account is gone again. */
struct morning_line {
	const struct enclosure *enclosure;
	size_t order;           /* in which it was added */
	enum need need;
	bool urgent, unsafe;
	double weight;
	bool watched;           /* it has a probe */
	double known;           /* 0..1 */
	bool silent;            /* every series of it is, if there is any */
	double heard;           /* its last reading in the window, s since the epoch; 0: none */
	bool endangered;        /* beyond its limits in the window, but not lately */
	bool shelved;
	char *complaint, *brief; /* account_complaint's; NULL: none */
};

struct morning {
	struct account_base base;
	double made;            /* s since the epoch */
	bool log_unreadable;    /* then alerts is empty */
	struct alerts alerts;
	struct band_list bands;
	const struct alert_life **standing; /* what stood at base.until, gravest first */
	size_t standing_count;
	struct morning_line *lines; /* by order, after morning_sort worst first */
	size_t count;
	struct gathered gathered;
};

/* Reads what all accounts share; what cannot be read is told on standard error. */
void morning_begin(const struct request *request, struct morning *out);

/* The account of the i-th configured enclosure, added to the lines; tells an archive's
 * trouble on standard error.  The caller frees it with account_clear. */
void morning_account(struct morning *morning, size_t i, struct account *out);

/* Worst first, the room behind enclosures of the same need. */
void morning_sort(struct morning *morning);

void morning_clear(struct morning *morning);

/* 0..1: how much of the time of all enclosures that have a probe is known. */
double morning_known(const struct morning *morning);

/* The window's end is long gone: what is told is told as past. */
bool morning_is_past(const struct morning *morning);

/* ---- headline.c: each is malloc'ed, the caller frees ------------------------- */

/* "Two of twelve need you: Third tub too dry for 6 h 10 min, Incubator 0.4 °C too cold since
 * 04:20."  The lines must be sorted. */
char *morning_headline(const struct morning *morning);

/* "Three were out of their bands for a while: ...", "All were in their bands.", and
 * what is wrong with the room; "" when there is nothing to add. */
char *morning_others(const struct morning *morning);

/* ---- wording.c: what page and digest both say ---------------------------------- */

/* The label; a number after one that runs leftwards would be drawn before it (Unicode
 * Standard Annex 9, rule W2), but for a left-to-right mark.  Malloc'ed. */
char *label_before_text(const char *label);

/* Its label; "Room" for the room. */
const char *shown_label(const struct enclosure *enclosure);

/* "Third tub, cool side humidity below its band, since 04:20; acknowledged by
 * anna: misted it": an alert that stands; malloc'ed, as what follows. */
char *morning_standing(const struct morning *morning, const struct alert_life *life);

/* "Third tub, cool side humidity below its band, raised 04:20". */
char *morning_raised(const struct morning *morning, const struct alert_life *life);

/* "Need you", "Out for a while": the title of those that ask for the same. */
const char *need_title(enum need need, bool past);

/* All that can be known of it is, but for a moment. */
bool line_is_known(const struct morning_line *line);

/* "too dry for 6 h 10 min", "in its bands", "out of service": of a line, malloc'ed as all
 * below, which the caller frees. */
char *line_words(const struct morning_line *line);

/* "2026-11-24 16:56 to 2026-11-25 16:56 (1 d), 99 % of it known. Made 2026-11-25 16:56." */
char *morning_span(const struct morning *morning);

/* "Room air: 19.7 °C, between 18.1 °C and 21.1 °C; 25 %, ...", the newest reading and
 * the extremes; NULL when nothing is known. */
char *morning_air(const struct account *room, enum units units);

/* "No alert stands.", "One alert stands", "Alerts that stand"; not malloc'ed. */
const char *standing_title(const struct morning *morning);

/* Is called with one sentence after another, without their full stops. */
typedef void note_visit(void *context, const char *note);

/* What changed against the time before, a series each. */
void account_changes(const struct account *account, enum units units, note_visit *visit,
		     void *context);

/* Whether it is shelved, out of service, without a record. */
void account_notes(const struct account *account, note_visit *visit, void *context);

/* What this watch is not. */
extern const char morning_caution[];

/* ---- page.c ------------------------------------------------------------------- */

/* The whole page, HTML; makes the accounts itself, one after another.  False
 * after a sentence on standard error. */
bool page_write(struct morning *morning, FILE *out);

#endif
