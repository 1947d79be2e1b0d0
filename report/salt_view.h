/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What warmside salt has found, and how it is said.
 */
#ifndef WARMSIDE_REPORT_SALT_VIEW_H
#define WARMSIDE_REPORT_SALT_VIEW_H

#include "conf/measure.h"
#include "report/request.h"
#include "report/salt_jar.h"
#include "report/salt_mistaken.h"

struct salt_view {
	const struct request *request;
	const struct probe *probe;
	const struct enclosure *enclosure; /* in whose archive its readings are ... */
	enum place place;       /* ... and where there */
	struct jar jars[SALT_TESTS]; /* of request->tests, each JAR_SETTLED */
	bool coarse[SALT_TESTS]; /* minutes are not kept any more */
	bool holds;             /* what the configuration corrects by is right, and remains */
	bool kept_slope;        /* as one salt shows none, the line has the configuration's */
	struct salt_line line;  /* its text is empty when the configuration's remains */
	bool doubtful;          /* its slope is far from 1 */
};

/* Fills in whose readings are asked for and where they are: DONE, or another status after a
 * sentence on standard error. */
int salt_find_probe(const struct request *request, struct salt_view *out);

/* Whether the configuration corrects the probe's humidity. */
bool salt_is_corrected(const struct probe *probe);

/* What the configuration makes of what the probe itself reads, %. */
double salt_corrected(const struct probe *probe, double read);

/* %: told to a tenth, and never smaller than it is. */
double salt_told_uncertainty(const struct jar *jar);

void salt_print_text(const struct salt_view *view);
void salt_print_json(const struct salt_view *view);

/* "2026-11-30": the day the last of the tests ended. */
char *salt_day(const struct salt_view *view, char buf[MEASURE_TEXT]);

/* Why there is no result, and what to do; malloc'ed, the caller frees. */
char *salt_refusal(const struct jar *jar, enum salt salt, enum units units);

/* The same of one that is more likely over the other salt; `corrected`: the configuration corrects
 * the probe. */
char *salt_mistaken_refusal(const struct salt_reading *reading, enum salt other, bool corrected);

#endif
