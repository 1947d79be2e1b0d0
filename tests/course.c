/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The course of vapour between mistings, against its two equations solved in very small
 * steps by another way.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "conf/course.h"

static const struct course_law tub = { 0.15, 0.4, 300 };
static const struct course_law screen = { 3, 0.5, 60 };
static const struct course_law small = { 0.5, 2, 10 };
static const struct course_around warm = { 23, 8 };     /* 25 °C, a room of 20 °C and 46 % */

static struct course_state slope(const struct course_law *law, struct course_state state,
				 const struct course_around *around)
{
	double to_air = law->exchange * (state.activity * around->saturated - state.vapour);

	return (struct course_state){ law->airing * (around->room - state.vapour) + to_air,
				      -to_air / law->capacity };
}

static struct course_state moved(struct course_state state, struct course_state slope,
				 double hours)
{
	return (struct course_state){ state.vapour + hours * slope.vapour,
				      state.activity + hours * slope.activity };
}

/* Classical Runge-Kutta. */
static struct course_state runge_kutta(const struct course_law *law, struct course_state state,
				       const struct course_around *around, double hours)
{
	enum { STEPS = 2000 };
	double h = hours / STEPS;

	for (int i = 0; i < STEPS; i++) {
		struct course_state a = slope(law, state, around);
		struct course_state b = slope(law, moved(state, a, h / 2), around);
		struct course_state c = slope(law, moved(state, b, h / 2), around);
		struct course_state d = slope(law, moved(state, c, h), around);

		state = moved(state, a, h / 6);
		state = moved(state, b, h / 3);
		state = moved(state, c, h / 3);
		state = moved(state, d, h / 6);
	}
	return state;
}

static void both_equations_together(void **state)
{
	static const struct course_law *const laws[] = { &tub, &screen, &small };
	static const double hours[] = { 1 / 60.0, 1 / 6.0, 1, 6, 24, 72 };
	static const struct course_state begin[] = { { 18, 0.4 }, { 9, 0.8 }, { 20, 1 }, { 5, 0 } };
	double worst = 0;

	(void)state;
	for (int l = 0; l < 3; l++)
		for (int h = 0; h < 6; h++)
			for (int b = 0; b < 4; b++) {
				struct course_state right =
					runge_kutta(laws[l], begin[b], &warm, hours[h]);
				struct course_state got =
					course_step(laws[l], begin[b], &warm, hours[h]);

				worst = fmax(worst, fabs(got.vapour / right.vapour - 1));
				assert_near(got.vapour, right.vapour, 1e-7 * right.vapour);
				assert_near(got.activity, right.activity, 1e-8);
			}
	printf("within %.1g of Runge-Kutta\n", worst);
}

/* As one step or as many. */
static void steps_add_up(void **state)
{
	struct course_state many = { 18, 0.6 }, one = course_step(&tub, many, &warm, 24);

	(void)state;
	for (int i = 0; i < 144; i++)
		many = course_step(&tub, many, &warm, 1 / 6.0);
	assert_near(many.vapour, one.vapour, 1e-9);
	assert_near(many.activity, one.activity, 1e-11);
}

/* In the end everything is as dry as the room. */
static void it_comes_to_the_room(void **state)
{
	struct course_state end = course_step(&small, (struct course_state){ 18, 0.9 }, &warm, 1e4);

	(void)state;
	assert_near(end.vapour, warm.room, 1e-9);
	assert_near(end.activity, warm.room / warm.saturated, 1e-9);
}

/* A store that never ends: a floor, reached with the time constant 1 / (n + e). */
static void an_endless_store(void **state)
{
	struct course_law law = { 0.2, 0.3, INFINITY };
	struct course_state begin = { 20, 0.7 };
	double floor = (0.2 * 8 + 0.3 * 0.7 * 23) / 0.5;
	static const double hours[] = { 0.1, 1, 2, 10, 100 };

	(void)state;
	for (int i = 0; i < 5; i++) {
		struct course_state got = course_step(&law, begin, &warm, hours[i]);

		assert_near(got.vapour, floor + (20 - floor) * exp(-0.5 * hours[i]), 1e-12);
		assert_near(got.activity, 0.7, 0);
	}
}

/* The activity that keeps air as it is keeps it so, for as long as the store lasts. */
static void steady_air(void **state)
{
	struct course_law law = tub;
	struct course_state steady = { 14, course_activity(&tub, 14, &warm) }, later;

	(void)state;
	assert_near(steady.activity, (14 + 0.15 / 0.4 * (14 - 8)) / 23, 1e-12);
	law.capacity = INFINITY;
	later = course_step(&law, steady, &warm, 50);
	assert_near(later.vapour, 14, 1e-12);
	assert_near(slope(&tub, steady, &warm).vapour, 0, 1e-12);
}

static void a_share_stays_one(void **state)
{
	struct course_state full = { 60, 1 }, got;

	(void)state;
	assert_near(course_activity(&tub, 30, &warm), 1, 0);
	assert_near(course_activity(&tub, 1, &warm), 0, 0);
	got = course_step(&small, full, &warm, 0.5);
	assert_near(got.activity, 1, 0);
	assert_true(got.vapour < 60 && got.vapour > 8);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(both_equations_together),
		cmocka_unit_test(steps_add_up),
		cmocka_unit_test(it_comes_to_the_room),
		cmocka_unit_test(an_endless_store),
		cmocka_unit_test(steady_air),
		cmocka_unit_test(a_share_stays_one),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
