/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The parts of the page among themselves.  Every picture on it is drawn in
 * columns: all curves of a page have the same ones, x runs from 0 to twice
 * their number, so that a reading stands in the middle of its column.
 */
#ifndef WARMSIDE_REPORT_PAGE_H
#define WARMSIDE_REPORT_PAGE_H

#include <stdio.h>

#include "report/graph.h"
#include "report/morning.h"

enum {
	PAGE_COLUMNS = 720,     /* at most, of a picture */
	TICK_APART = 84,        /* of them between two ticks */
	Y_SCALE = 100,          /* y counts hundredths of °C, °F or % */
};

/* Where an instant is on the time axis: 0..100 %. */
double page_percent(struct window window, double instant);

/* The attributes of a picture of that window, whose y goes from top down. */
void page_view(FILE *out, struct window window, const struct curve *curve, double top,
	       double height);

/* ---- page_path.c: what is inside the pictures ---------------------------------- */

/* The night, the band, what is below and above, the reading of one panel; y
 * runs down from the panel's high end. */
void path_plot(FILE *out, const struct graph_panel *panel);

/* What is to be seen on a strip. */
struct strip_drawn {
	bool night, beyond, unknown; /* whether there is any */
};

/* One strip: all places of a quantity in one, the deepest straying of them; y is the distance
 * out of the band, upwards above.  False, and nothing is written, when none of
 * its places has a band. */
bool path_strip(FILE *out, const struct graph *graph, enum quantity quantity,
		struct strip_drawn *drawn);

/* ---- page_section.c -------------------------------------------------------------- */

/* All about one enclosure; graph has all its places, or is NULL when it has no probe. */
void section_write(FILE *out, const struct morning *morning, const struct account *account,
		   const struct graph *graph);

/* "e-T3": what a link to it names; malloc'ed, the caller frees. */
char *section_id(const struct enclosure *enclosure);

/* ---- page_table.c ------------------------------------------------------------------ */

/* How long each series was where, in h:min and as a share; its extremes. */
void section_table(FILE *out, const struct account *account, enum units units);

/* ---- page_sheet.c ---------------------------------------------------------------- */

/* What is kept of an enclosure until all are known and sorted: where its parts stand in
 * the spool. */
struct spooled {
	long at;
	size_t length;
};

struct page_part {
	struct spooled strips[QUANTITIES]; /* length 0: none */
	struct spooled marks[QUANTITIES]; /* mistings and alerts, laid over the strip */
	struct spooled section;
};

struct page {
	struct morning *morning;
	FILE *spool;
	struct page_part *parts; /* by the order of the lines */
	char *room;             /* morning_air of it; NULL without a room */
	struct tick times[MOST_TICKS];
	size_t time_count;
	struct curve columns;   /* of every picture: from, step and columns only */
	struct {
		bool night, beyond, unknown, misting, alert;
	} seen;                 /* on any strip: what has to be explained */
};

/* The room sheet, worst first. */
void sheet_write(FILE *out, const struct page *page);

/* Copies from the spool. */
void page_copy(FILE *out, const struct page *page, struct spooled part);

/* What is written at the ticks. */
void page_axis(FILE *out, const struct tick *times, size_t count, struct window window);

#endif
