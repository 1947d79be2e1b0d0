/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The records of all enclosures for the window of a request, and what must
 * be said about them beside any figure.
 */
#ifndef WARMSIDE_REPORT_GATHER_H
#define WARMSIDE_REPORT_GATHER_H

#include "conf/measure.h"
#include "report/request.h"
#include "report/rows.h"

struct gathered {
	size_t count;           /* of enclosures read, those without a probe aside */
	size_t missing;         /* enclosures without an archive */
	size_t unreadable;      /* enclosures whose archive cannot be read */
	int row_size;           /* s: of the coarsest rows; 0 when there are none */
	bool behind;            /* minutes that are not archived yet cannot be read */
	bool shared_out;        /* an edge of the window falls inside a row */
	double newest;          /* the newest record of all; 0 when there is none */
};

/* Takes what it needs of an enclosure's record, which is gone afterwards. */
typedef void gather_visit(void *context, const struct enclosure *enclosure,
			  const struct record *record);

/* Reads one record after the other, in the configuration's order, so that
 * the rows of one enclosure are in memory and not those of all; tells each
 * archive's trouble on standard error. */
void gather(const struct request *request, gather_visit *visit, void *context,
	    struct gathered *out);

/* Counts in one record; tells its trouble on standard error. */
void gather_note(struct gathered *gathered, const struct enclosure *enclosure,
		 const struct record *record);

/* DONE, or FAILED when an archive was unreadable or there is none at all. */
int gathered_result(const struct gathered *gathered);

/* "2026-01-05 08:00 to 2026-01-06 08:00 (24 h)" and an empty line. */
void say_window(const struct request *request);

/* "From minute rows; lowest and highest are of minute means.", whether the window
 * cuts a row, how old the newest record is: a line each where there is something
 * to say; malloc'ed, the caller frees. */
char *rows_text(const struct gathered *gathered, struct window window);

/* Such lines, each filled up to the terminal's width; takes the text apart. */
void say_lines(const struct terminal *terminal, char *text);

/* The same of all that was gathered, after an empty line. */
void say_rows(const struct request *request, const struct gathered *gathered);

/* The enclosure of that name, "room" for the room, else the only one of that
 * label; NULL after a sentence on standard error. */
const struct enclosure *enclosure_named(const struct conf *conf, const char *name);

/* "T3 · Third tub", or the name alone; malloc'ed, the caller frees. */
char *enclosure_title(const struct enclosure *enclosure);

/* "season brumation", "seasons dry, brumation": those of the enclosure in force at any time
 * in a window, of which only the configuration knows; NULL when there is none, else
 * malloc'ed, the caller frees. */
char *seasons_within(const struct day *day, const struct enclosure *enclosure,
		     struct window window);

/* "cool side humidity", "hot spot humidity (computed)"; malloc'ed, the caller frees. */
char *series_phrase(struct series series);

/* "6 h 10 min": a glance needs no seconds, unless there is less than a minute. */
char *whole_minutes(double seconds, char buf[MEASURE_TEXT]);

/* "3.2 % h", "4.1 °C h", "7.4 °F h"; malloc'ed, the caller frees. */
char *degree_hours_text(double degree_hours, enum quantity quantity, enum units units);

#endif
