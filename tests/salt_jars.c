/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Simulated jars over salts, minute by minute, whose probes' errors are known: what is told
 * of them must be right as often as it says, and a jar that is not settled, leaks or swings must
 * be refused.  16 seeds; 1000 when LONG is set.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "tests/made_jar.h"

/* How many of the seeds come to that verdict. */
static size_t count_of(const struct made_jar *made, bool with_room, enum jar_verdict verdict)
{
	size_t count = 0;

	for (uint64_t seed = 1; seed <= made_jar_seeds(); seed++) {
		struct jar jar;

		made_jar_look(made, seed, with_room, &jar);
		count += jar.verdict == verdict;
	}
	return count;
}

/* ---- tight jars ------------------------------------------------------------- */

static void assert_true_to_itself(const char *name, const struct made_jar *made)
{
	double sum = 0, told = 0, squares = 0;
	size_t settled = 0, covered = 0, verdicts[JAR_FAR + 1] = { 0 };

	for (uint64_t seed = 1; seed <= made_jar_seeds(); seed++) {
		struct jar jar;

		made_jar_look(made, seed, true, &jar);
		verdicts[jar.verdict]++;
		if (jar.verdict != JAR_SETTLED)
			continue;

		double truth = made->error + (made->slope - 1) * jar.actual;
		double off = jar.read - jar.actual - truth;

		settled++;
		covered += fabs(off) <= jar.uncertainty;
		sum += off;
		squares += off * off;
		told += jar.uncertainty;
	}
	printf("%s: settled %zu of %zu; error %+.3f ± %.3f %%, told ±%.2f %%, which holds it in "
	       "%.1f %%; leaking %zu, moving %zu, noisy %zu, swinging %zu\n", name, settled, made_jar_seeds(),
	       sum / (double)settled, sqrt(squares / (double)settled), told / (double)settled,
	       100 * (double)covered / (double)settled, verdicts[JAR_LEAKING],
	       verdicts[JAR_MOVING], verdicts[JAR_NOISY], verdicts[JAR_SWINGING]);
	assert_true((double)settled >= 0.94 * (double)made_jar_seeds());
	/* 95 %, less what so many throws may fall short of it. */
	assert_true((double)covered >=
		    0.95 * (double)settled - 2 * sqrt(0.05 * (double)settled));
	/* Few seeds have few phases of the day. */
	assert_near(sum / (double)settled, 0,
		    0.05 + made->step / 4 + 3 * sqrt(squares) / (double)settled);
	assert_true(told / (double)settled < 1.1);
}

static void tight_jars(void **state)
{
	struct made_jar made = usual_jar;

	(void)state;
	assert_true_to_itself("nacl", &made);
	made.salt = MGCL2;
	made.error = -3.1;
	assert_true_to_itself("mgcl2", &made);
	made = usual_jar;
	made.hours = 36;
	made.slope = 0.93;
	assert_true_to_itself("nacl, a day and a half", &made);
	made = usual_jar;
	made.salt = KCL;
	made.hours = 20;
	made.delay = 2.5;
	made.swing = 0.25;
	made.noise = 0.4;
	assert_true_to_itself("kcl, slow and noisy", &made);
	made = usual_jar;
	made.step = 1;
	made.noise = 0.02;
	assert_true_to_itself("whole percents", &made);
	made = usual_jar;
	made.swing = 0;
	made.room_swing = 0;
	assert_true_to_itself("an even room", &made);
}

/* When it settled is not before it had come to within half a percent, and the plateau
 * reaches to the end. */
static void the_plateau_is_the_settled_part(void **state)
{
	struct made_jar made = usual_jar;

	(void)state;
	made.swing = 0.1;
	made.delay = 1;
	for (uint64_t seed = 1; seed <= 20; seed++) {
		struct jar jar;

		made_jar_look(&made, seed, true, &jar);
		assert_int_equal(jar.verdict, JAR_SETTLED);
		assert_near(jar.until, JAR_BEGIN + 14 * 3600, 0);
		/* 27 % away at first: 0.5 % after 4.0 time constants. */
		assert_true(jar.settled >= JAR_BEGIN + 3.2 * 3600 && jar.settled <= JAR_BEGIN + 5.2 * 3600);
		assert_near(jar.celsius, 22, 0.15);
	}
}

/* ---- refused ------------------------------------------------------------------ */

static void unsettled_jars(void **state)
{
	static const double delays[] = { 4, 6, 10, 24 };
	struct made_jar made = usual_jar;
	struct jar jar;

	(void)state;
	made.swing = 0.1;
	for (size_t i = 0; i < sizeof delays / sizeof *delays; i++) {
		made.delay = delays[i];
		size_t settled = count_of(&made, true, JAR_SETTLED);

		printf("14 h at a time constant of %g h: %zu of %zu taken for settled\n", delays[i],
		       settled, made_jar_seeds());
		assert_int_equal(settled, 0);
	}
	made = usual_jar;
	made.hours = 5;
	made_jar_look(&made, 1, true, &jar);
	assert_int_equal(jar.verdict, JAR_SHORT);
	made.hours = 6.5;
	made_jar_look(&made, 1, true, &jar);
	assert_int_equal(jar.verdict, JAR_MOVING);
	assert_true(jar.drift > 0.1);
}

/* From this share of the room's air on, every jar of so many hours is refused (one of 200 may
 * pass). */
static void leaking_jars(void **state)
{
	static const struct {
		double hours, surely;
	} jars[] = { { 14, 0.4 }, { 24, 0.1 } };
	static const double leaks[] = { 0.03, 0.1, 0.4 };
	struct made_jar made = usual_jar;

	(void)state;
	for (size_t h = 0; h < sizeof jars / sizeof *jars; h++)
		for (size_t i = 0; i < sizeof leaks / sizeof *leaks; i++) {
			size_t settled, leaking;

			made.hours = jars[h].hours;
			made.leak = leaks[i];
			settled = count_of(&made, true, JAR_SETTLED);
			leaking = count_of(&made, true, JAR_LEAKING);
			printf("%g h, %g %% of the room's air (%.1f %% of humidity): refused %zu of "
			       "%zu, as leaking %zu\n", made.hours, made.leak * 100,
			       made.leak * (75.4 - made.room), made_jar_seeds() - settled, made_jar_seeds(), leaking);
			if (made.leak >= jars[h].surely)
				assert_true(settled <= made_jar_seeds() / 200);
		}
}

/* What is said not to be seen is what is not seen: a jar that passes is moved by less. */
static void a_leak_that_passes_is_small(void **state)
{
	static const double leaks[] = { 0.05, 0.08 };
	struct made_jar made = usual_jar;

	(void)state;
	for (size_t i = 0; i < sizeof leaks / sizeof *leaks; i++) {
		size_t passed = 0, kept = 0;

		made.leak = leaks[i];
		for (uint64_t seed = 1; seed <= made_jar_seeds(); seed++) {
			struct jar jar;

			made_jar_look(&made, seed, true, &jar);
			if (jar.verdict != JAR_SETTLED)
				continue;
			passed++;
			kept += fabs(jar.read - jar.actual - made.error) <=
				jar.unseen + jar.uncertainty;
		}
		printf("of %zu that pass with %g %% of the room's air, %zu keep within what is "
		       "said\n", passed, leaks[i] * 100, kept);
		assert_true((double)kept >= 0.95 * (double)passed);
	}
}

static void without_a_room_probe_any_leak_may_pass(void **state)
{
	struct made_jar made = usual_jar;
	struct jar jar;

	(void)state;
	made.leak = 0.05;
	made.swing = 0.1;
	made_jar_look(&made, 1, false, &jar);
	assert_int_equal(jar.verdict, JAR_SETTLED);
	assert_false(jar.room_known);
	assert_true(isinf(jar.unseen));
	/* A room whose air hardly moves shows as little. */
	made = usual_jar;
	made.swing = 0;
	made.room_swing = 0;
	struct jar_case at;

	made_jar_make(&made, 1, &at);
	for (size_t i = 0; i < at.room.count; i++)
		at.room.list[i].humidity = 45;
	jar_look(&(struct jar_past){ &at.inside, &at.room, NACL, 0.1 }, &jar);
	assert_int_equal(jar.verdict, JAR_SETTLED);
	assert_true(jar.room_known && isinf(jar.unseen));
	free(at.inside.list);
	free(at.room.list);
}

static void assert_all(const char *what, const struct made_jar *made, enum jar_verdict verdict)
{
	size_t count = count_of(made, true, verdict);

	printf("%s: %zu of %zu\n", what, count, made_jar_seeds());
	assert_int_equal(count, made_jar_seeds());
}

static void other_jars_that_are_refused(void **state)
{
	struct made_jar made = usual_jar;

	(void)state;
	made.swing = 1.6;
	made.hours = 26;
	assert_all("3.2 °C from night to day", &made, JAR_SWINGING);
	made = usual_jar;
	made.opened = 0.5;
	made.room = 50;
	assert_all("taken out half an hour before the end", &made, JAR_OPENED);
	made = usual_jar;
	made.hidden = 2;
	assert_all("silent at the end", &made, JAR_GAPS);
	made = usual_jar;
	made.salt = K2SO4;
	made.error = 4;
	assert_all("at the end of its range", &made, JAR_WET);
	made = usual_jar;
	made.celsius = 12;
	assert_all("too cold", &made, JAR_OUTSIDE);
	made.celsius = 33;
	assert_all("too warm", &made, JAR_OUTSIDE);
	made = usual_jar;
	made.error = -17;
	made.swing = 0.1;
	assert_all("far off", &made, JAR_FAR);
	made = usual_jar;
	made.noise = 6;
	assert_int_equal(count_of(&made, true, JAR_SETTLED), 0);
}

/* Years later only means of an hour are left. */
static void from_hours(void **state)
{
	struct made_jar made = usual_jar;
	struct jar_case at;
	struct jar jar;

	(void)state;
	made.hours = 30;
	made.swing = 0.1;
	made_jar_make(&made, 3, &at);

	struct bins hours = { at.inside.from, 3600, calloc(31, sizeof(struct bin)), 30 };

	for (size_t i = 0; i < hours.count; i++) {
		struct bin *bin = &hours.list[i];

		for (size_t s = 0; s < 6; s++) {
			bin->ok += at.inside.list[6 * i + s].ok;
			bin->celsius += at.inside.list[6 * i + s].celsius / 6;
			bin->humidity += at.inside.list[6 * i + s].humidity / 6;
		}
	}
	jar_look(&(struct jar_past){ &hours, NULL, NACL, 0 }, &jar);
	assert_int_equal(jar.verdict, JAR_SETTLED);
	assert_near(jar.read - jar.actual, made.error, jar.uncertainty);
	hours.count = 11; /* too few for a trend */
	jar_look(&(struct jar_past){ &hours, NULL, NACL, 0 }, &jar);
	assert_true(jar.verdict == JAR_NOISY || jar.verdict == JAR_MOVING);
	free(hours.list);
	free(at.inside.list);
	free(at.room.list);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(tight_jars),
		cmocka_unit_test(the_plateau_is_the_settled_part),
		cmocka_unit_test(unsettled_jars),
		cmocka_unit_test(leaking_jars),
		cmocka_unit_test(a_leak_that_passes_is_small),
		cmocka_unit_test(without_a_room_probe_any_leak_may_pass),
		cmocka_unit_test(other_jars_that_are_refused),
		cmocka_unit_test(from_hours),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
