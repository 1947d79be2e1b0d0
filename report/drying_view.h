/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Between the parts of `warmside drying`: what was reckoned, and its outputs.
 */
#ifndef WARMSIDE_REPORT_DRYING_VIEW_H
#define WARMSIDE_REPORT_DRYING_VIEW_H

#include "report/drying_summary.h"
#include "report/request.h"

struct drying_entry {
	const struct enclosure *enclosure;
	bool has_place;         /* its humidity is measured: what follows is valid */
	struct dryings dryings;
	struct drying_summary summary;
};

struct drying_view {
	const struct request *request;
	const struct enclosure *only; /* the one asked for, or NULL; its rows are kept */
	struct drying_entry *list; /* in the configuration's order, the room left out */
	size_t count;
	struct gathered gathered;
};

/* Of a last drying that no misting has ended. */
#define DRYING_UNFINISHED "not long enough yet"

/* Whether mistings a day are told: not from less than a day. */
bool drying_has_rate(const struct drying_entry *entry);

/* Whether the room's air moves the floor by more than is worth a word. */
bool drying_floor_moves(const struct drying_summary *summary);

void drying_text(const struct drying_view *view);
void drying_text_of_one(const struct drying_view *view); /* drying_text_one.c */
void drying_say_newest(const struct drying_view *view);
void drying_json(const struct drying_view *view);
void drying_csv(const struct drying_view *view);

/* ---- drying_words.c ---- */

enum { DRYING_WORDS = 40 };

/* "3.3 h", "14 h", "never" for what is infinite; "–" when it is not known. */
char *drying_hours(bool known, double hours, char buf[DRYING_WORDS]);

/* "2.1..5.0 h", "6.0 h..never". */
char *drying_hours_range(bool known, double low, double high, char buf[DRYING_WORDS]);

/* "80 % of dryings: 2.1..5.0 h"; of fewer than nine "2.1..5.0 h in 5 dryings", of one
 * "one drying"; malloc'ed, the caller frees.  Count >= 1. */
char *drying_share_text(const struct spread *spread, const char *range);

/* "0.42", "12". */
char *drying_rate(bool known, double rate, char buf[DRYING_WORDS]);

/* "T3 dries 22 % quicker than four weeks ago (38 dryings): a lid left ajar, or substrate
 * drying out?"; malloc'ed, the caller frees.  Of a trend that is told. */
char *drying_trend_text(const struct drying_entry *entry);

/* ---- drying_graph.c: the dryings of one enclosure laid over each other ---- */

/* The bytes of a PNG or SVG file, malloc'ed, or NULL and a sentence. */
unsigned char *drying_paint(const struct drying_view *view, bool svg, size_t *size,
			    char **trouble);

/* ---- drying_save.c ---- */

/* Appends to dryings.jsonl; DONE or FAILED. */
int drying_save(const struct request *request);

#endif
