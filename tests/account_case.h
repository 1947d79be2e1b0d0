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
	struct band_list bands;
	struct account_base base;
	struct account account;
};

/* For cmocka: *state is the case, with Europe/Berlin as its zone. */
int account_case_begin(void **state);
int account_case_end(void **state);

/* Rows of another size, or another window; the readings are those of the beginning. */
void account_case_rows(struct account_case *c, double from, size_t count, double row_size);

/* Rows [from, to) of a series read that value; NaN: they are unknown. */
void account_case_put(struct account_case *c, size_t series, size_t from, size_t to, double value);

/* The account of a copy of the record. */
struct account *account_case_reckon(struct account_case *c);

#endif
