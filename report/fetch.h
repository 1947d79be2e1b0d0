/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reading round-robin files: the one user of librrd for that.  The file's
 * head is looked at before librrd is let near it, because a damaged head
 * makes librrd 1.7.2 divide by zero or read outside its mapping.
 */
#ifndef WARMSIDE_REPORT_FETCH_H
#define WARMSIDE_REPORT_FETCH_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/layout.h"

/* An end of a window: at_style is NULL when the instant is known already. */
struct moment {
	const char *at_style;
	double instant;
};

/* Fills in the instant of whichever is at-style ("end-6h" and "start+1d"
 * refer to the other one).  NULL, or what is wrong (the caller frees it). */
char *fetch_times(struct moment *start, struct moment *end);

/* What a round-robin file holds, read from its head. */
struct shape {
	double newest;                  /* instant of the last update, s since the epoch */
	size_t rows[ROW_SIZES];         /* rows of means kept of each of row_sizes; 0: none */
	size_t names_count;
	char (*names)[DS_NAME];         /* of the data sources, in the file's order */
};

/* True and fills *out (shape_clear frees it), or false and *trouble is one
 * sentence that names the file (the caller frees it); *missing says that
 * there is no file at all. */
bool fetch_shape(const char *path, struct shape *out, char **trouble, bool *missing);
void shape_clear(struct shape *shape);

/* The position of a data source; false when the file has none of that name. */
bool shape_find(const struct shape *shape, const char *name, size_t *at);

/* One block of rows of one size and one consolidation. */
struct block {
	const char *function;   /* "AVERAGE", "MIN" or "MAX" */
	int row_size;           /* s */
	double from, to;        /* multiples of row_size */
};

enum fetched {
	FETCHED,
	FETCH_MOVED,            /* the rows asked for have just been overwritten: look again */
	FETCH_FAILED            /* *trouble says why */
};

/* Row by row, names_count numbers each, NaN where unknown; the caller frees
 * with fetch_free when FETCHED.  Waits for up to two seconds while the file
 * is locked by the daemon's archivist. */
enum fetched fetch_block(const char *path, const struct shape *shape, struct block block,
			 double **values, char **trouble);
void fetch_free(double *values);

#endif
