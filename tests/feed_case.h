/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One feed for two enclosures in a folder of its own, what it tells, and the
 * minutes that must come out; for the tests of feed.c.
 */
#ifndef WARMSIDE_TESTS_FEED_CASE_H
#define WARMSIDE_TESTS_FEED_CASE_H

#include <stdbool.h>
#include <stdint.h>

#include "tests/feed_pump.h"

/* Pauses pass so much faster (a case may change it before anything else); no
 * wait may take longer than PATIENCE, real s. */
extern double speed;
extern const double PATIENCE;

/* 2026-01-05 00:00 UTC */
extern const int64_t midnight;

extern struct told {
	int damaged, failing, working;  /* how often */
	size_t enclosure;
	char path[512], why[512];
} told;

extern const struct feed_callbacks callbacks;
extern char *folder;
extern struct conf *conf;
extern struct feed *feed;

/* For cmocka: a new feed; closed, and all of it away again. */
int feed_case_set_up(void **state);
int feed_case_tear_down(void **state);
void end_feed(void);

/* Feeds made-up minutes number [from, to) after midnight of an enclosure; as:
 * of the enclosure with index `number` when all was made. */
void add(size_t enclosure, int from, int to);
void add_as(size_t enclosure, unsigned number, int from, int to);

/* A path in the archive folder; the caller frees. */
char *file_of(const char *name);

/* Makes the archive of that number a file that cannot be written, whoever runs
 * the test; and as it was again. */
void bar_file(unsigned number);
void unbar_file(unsigned number);

/* Fails unless every minute of [from, to) is there as it was fed. */
void expect_minutes(unsigned number, int from, int to);

void wait_empty(void);
bool was_working(void *context);
bool was_failing(void *context);

#endif
