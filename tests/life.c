/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reminders, acknowledgement and escalation, to the second.
 */
#include "tests/cm.h"

#include "daemon/life.h"

enum { H = 3600 };

static const double begin = 1767614400;

static void intervals_double_up_to_their_most(void **state)
{
	(void)state;
	static const struct {
		enum priority priority;
		double hours[6];
	} rows[] = {
		{ NOW, { 0.5, 1, 2, 4, 4, 4 } },
		{ TODAY, { 6, 12, 24, 24, 24, 24 } },
		{ UPKEEP, { 24, 48, 96, 168, 168, 168 } },
	};

	for (size_t i = 0; i < 3; i++) {
		for (unsigned n = 0; n < 6; n++)
			assert_near(life_interval(rows[i].priority, n), rows[i].hours[n] * H, 0);
		assert_near(life_interval(rows[i].priority, 4000000000u), rows[i].hours[5] * H, 0);
	}
}

static void reminded_at_the_second_and_once(void **state)
{
	(void)state;
	static const double due[] = { 1800, 5400, 12600, 27000, 41400 };
	struct life life = { 0 };

	life_begin(&life, life_grade(NOW, false), begin);
	for (size_t i = 0; i < sizeof due / sizeof *due; i++) {
		assert_false(life_remind(&life, begin + due[i] - 0.001));
		assert_true(life_remind(&life, begin + due[i]));
		assert_false(life_remind(&life, begin + due[i]));
		assert_int_equal(life.reminded, i + 1);
	}
}

/* One that was due while nobody watched is told once, and the next counts from
 * then. */
static void a_late_reminder_is_one(void **state)
{
	(void)state;
	struct life life = { 0 };

	life_begin(&life, life_grade(NOW, false), begin);
	assert_true(life_remind(&life, begin + 10 * H));
	assert_false(life_remind(&life, begin + 11 * H - 1));
	assert_true(life_remind(&life, begin + 11 * H));
}

static void acknowledged_for_a_day(void **state)
{
	(void)state;
	struct life life = { 0 };

	life_begin(&life, life_grade(NOW, false), begin);
	life_ack(&life, begin + 600);
	assert_false(life_remind(&life, begin + 600 + ACK_LASTS - 1));
	assert_true(life.acked);
	assert_true(life_remind(&life, begin + 600 + ACK_LASTS));
	assert_false(life.acked);
	/* It is the first reminder: the next comes after an hour. */
	assert_false(life_remind(&life, begin + 600 + ACK_LASTS + H - 1));
	assert_true(life_remind(&life, begin + 600 + ACK_LASTS + H));
	/* Grown worse: no more acknowledged, and counted anew. */
	life_ack(&life, begin + 2e5);
	life.reach = 1200;
	life_begin(&life, life_grade(NOW, false), begin + 3e5);
	assert_false(life.acked);
	assert_int_equal(life.reminded, 0);
	assert_near(life.reach, 1200, 0);
	assert_near(life.next, begin + 3e5 + 1800, 0);
}

/* phone -(20 min)-> partner -(1 h)-> neighbour; and one beside them. */
static void passed_on_link_by_link(void **state)
{
	(void)state;
	struct webhook webhooks[] = {
		{ .escalate = 1200 }, { .escalate = 3600 }, { .escalate = 0 }, { .escalate = 0 },
	};
	const struct conf conf = { .webhooks = webhooks, .webhook_count = 4 };
	static const double delays[] = { 0, 1200, 4800, 0 };
	struct life life = { 0 };
	double beyond;

	for (size_t i = 0; i < 4; i++)
		assert_near(webhook_delay(&conf, i), delays[i], 0);
	life_begin(&life, life_grade(NOW, false), begin);
	assert_false(life_escalate(&life, &conf, begin + 1199, &beyond));
	assert_true(life_escalate(&life, &conf, begin + 1200, &beyond));
	assert_near(beyond, 0, 0);
	assert_near(life.reach, 1200, 0);
	assert_false(life_escalate(&life, &conf, begin + 4799, &beyond));
	assert_true(life_escalate(&life, &conf, begin + 4800, &beyond));
	assert_near(beyond, 1200, 0);
	assert_near(life.reach, 4800, 0);
	assert_false(life_escalate(&life, &conf, begin + 1e6, &beyond));

	/* After a long time without a watch, everybody at once. */
	life = (struct life){ 0 };
	life_begin(&life, life_grade(NOW, false), begin);
	assert_true(life_escalate(&life, &conf, begin + 1e5, &beyond));
	assert_near(beyond, 0, 0);
	assert_near(life.reach, 4800, 0);
}

static void neither_acknowledged_nor_what_can_wait_is_passed_on(void **state)
{
	(void)state;
	struct webhook webhooks[] = { { .escalate = 1200 }, { .escalate = 0 } };
	const struct conf conf = { .webhooks = webhooks, .webhook_count = 2 };
	struct life life = { 0 };
	double beyond;

	life_begin(&life, life_grade(TODAY, false), begin);
	assert_false(life_escalate(&life, &conf, begin + 1e6, &beyond));
	life_begin(&life, life_grade(UPKEEP, false), begin);
	assert_false(life_escalate(&life, &conf, begin + 1e6, &beyond));
	life_begin(&life, life_grade(NOW, false), begin);
	life_ack(&life, begin);
	assert_false(life_escalate(&life, &conf, begin + 1e6, &beyond));
	assert_near(life.reach, 0, 0);
}

static void a_moved_clock_changes_nothing(void **state)
{
	(void)state;
	struct life life = { 0 };

	life_begin(&life, life_grade(NOW, false), begin);
	life_shift(&life, -86400);
	assert_false(life_remind(&life, begin - 86400 + 1799));
	assert_true(life_remind(&life, begin - 86400 + 1800));
	life_ack(&life, begin);
	life_shift(&life, 3600);
	assert_near(life.acked_at, begin + 3600, 0);
	assert_near(life.from, begin - 86400 + 3600, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(intervals_double_up_to_their_most),
		cmocka_unit_test(reminded_at_the_second_and_once),
		cmocka_unit_test(a_late_reminder_is_one),
		cmocka_unit_test(acknowledged_for_a_day),
		cmocka_unit_test(passed_on_link_by_link),
		cmocka_unit_test(neither_acknowledged_nor_what_can_wait_is_passed_on),
		cmocka_unit_test(a_moved_clock_changes_nothing),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
