/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The end of a gathering on the loop: awaited while it is open, at its own
 * time and at no other.
 */
#include "tests/cm.h"

#include "daemon/loop_send.h"
#include "daemon/when.h"

static const double now = 1767571200;

static void called(struct ev_loop *ev, ev_timer *timer, int events)
{
	(void)ev;
	(void)events;
	++*(int *)timer->data;
}

static void it_is_over_when_its_time_is_up(void **state)
{
	struct ev_loop *ev = ev_loop_new(EVFLAG_AUTO);
	struct gathering gathering = { .open = true, .close = now + 0.05 };
	struct loop_send send;
	int calls = 0;

	(void)state;
	loop_send_init(&send, called, &calls);
	double begun = when_monotonic();

	loop_send_arm(&send, ev, &gathering, now);
	ev_run(ev, 0); /* nothing else is awaited */
	assert_int_equal(calls, 1);
	assert_true(when_monotonic() - begun >= 0.049);

	/* A clock that is a hair behind: what is left is awaited again. */
	loop_send_arm(&send, ev, &gathering, now + 0.0499);
	ev_run(ev, 0);
	assert_int_equal(calls, 2);
	ev_loop_destroy(ev);
}

static void only_what_is_open_is_awaited(void **state)
{
	struct ev_loop *ev = ev_loop_new(EVFLAG_AUTO);
	struct gathering gathering = { .open = true, .close = now + 100 };
	struct loop_send send;
	int calls = 0;

	(void)state;
	loop_send_init(&send, called, &calls);
	loop_send_arm(&send, ev, &gathering, now);
	assert_near(ev_timer_remaining(ev, &send.timer), 100, 1);
	gathering.close = now + 20; /* it closes sooner, by what has joined it */
	loop_send_arm(&send, ev, &gathering, now + 5);
	assert_near(ev_timer_remaining(ev, &send.timer), 15, 1);
	gathering.close = now + 5 * 3600; /* held by quiet hours: looked at each hour */
	loop_send_arm(&send, ev, &gathering, now + 5);
	assert_near(ev_timer_remaining(ev, &send.timer), 3600, 1);
	gathering.open = false; /* it went with the orderly end of something else */
	loop_send_arm(&send, ev, &gathering, now + 6);
	assert_false(ev_is_active(&send.timer));
	gathering.open = true;
	gathering.close = now; /* its time has passed meanwhile */
	loop_send_arm(&send, ev, &gathering, now + 6);
	ev_run(ev, 0);
	assert_int_equal(calls, 1);
	loop_send_stop(&send, ev);
	ev_loop_destroy(ev);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(it_is_over_when_its_time_is_up),
		cmocka_unit_test(only_what_is_open_is_awaited),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
