/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * For tests of accounts: the tiny enclosure, whose rows are written down by
 * hand, minute by minute or coarser, and judged by the band in force.
 */
#ifndef WARMSIDE_TESTS_ACCOUNT_CASE_H
#define WARMSIDE_TESTS_ACCOUNT_CASE_H

#include "report/account.h"
#include "tests/archive_maker.h"

/* 2026-01-05T12:00+01:00: noon, in the zone of these tests. */
#define CASE_NOON 1767610800.0

/* The series of the tiny enclosure, in its order. */
enum { WARM_T, COOL_T, COOL_H, CASE_SERIES };

struct account_case {
	struct tiny tiny;
	struct record record;   /* of T3, noon to noon in minutes: 28 °C, 24 °C, 55 % */
	struct alert_life lives[4];
	struct alert_record shelved[2];
	struct alerts alerts;   /* of the two above, as many as its counts say */
	struct band_list bands; /* of the two below, when it is not empty */
	struct band_record records[2];
	struct season season;   /* of T3, when its season_count is 1 */
	struct season_rule says;
	struct rule_season seen;
	struct account_base base;
	struct account account;
};

/* For cmocka: *state is the case, with Europe/Berlin as its zone. */
int account_case_begin(void **state);
int account_case_end(void **state);

/* How what is wanted of the warm side's temperature moves with the change to day after the
 * first midnight, at minute 1200 of the day: from 27..31 °C by day, 23..29 by night and the
 * limits 15..36 to 8..13 °C and 4..18. */
enum case_move { MOVED_BY_SEASON, MOVED_BY_RELOAD, CASE_MOVES };

/* By a season of the configuration, "brumation", which stays; or by an edit of the band
 * that the log of bands knows of, the configuration being the new one. */
void account_case_move(struct account_case *c, enum case_move move);

/* Rows of another size, or another window; the readings are those of the beginning. */
void account_case_rows(struct account_case *c, double from, size_t count, double row_size);

/* Rows [from, to) of a series read that value; NaN: they are unknown. */
void account_case_put(struct account_case *c, size_t series, size_t from, size_t to, double value);

/* The account of a copy of the record. */
struct account *account_case_reckon(struct account_case *c);

#endif
