/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Simulated jars over salts, minute by minute, whose probes' errors are known: what is told
 * of them must be right as often as it says, and a jar that is not settled, leaks or swings must
 * be refused.  16 seeds; 1000 when LONG is set.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "conf/air.h"
#include "report/chance.h"
#include "report/salt_jar.h"
#include "report/salt_leak.h"

static const double BEGIN = 1767571200; /* 2026-01-05T00:00:00Z */
enum { BEFORE = 86400, MINUTE = 60 };

struct made {
	enum salt salt;
	double hours;           /* closed */
	double delay;           /* h: of the tight jar with its probe */
	double leak;            /* share of the room's air in the end: 0 tight */
	double begin;           /* %: of the air that was shut in */
	double celsius, swing;  /* °C: mean, and half the daily swing */
	double room, room_swing; /* %: at the room's temperature */
	double error, slope;    /* the probe reads slope x true + error, % */
	double noise;           /* % of each minute's mean */
	double step;            /* %: the probe's resolution */
	double opened;          /* h before the end the probe was taken out; 0: never */
	double hidden;          /* h without readings before the end; 0: none */
	double hole, hole_end;  /* h without readings, which end so many h before the end */
};

static const struct made usual = {
	.salt = NACL, .hours = 14, .delay = 1.2, .begin = 48, .celsius = 22, .swing = 0.4,
	.room = 45, .room_swing = 6, .error = 2.3, .slope = 1, .noise = 0.15, .step = 0.1,
};

static size_t seeds(void)
{
	return getenv("LONG") ? 1000 : 16;
}

struct jar_case {
	struct bins inside, room;
	uint64_t chance;
	double salt_error;      /* %: the salt itself is not quite Greenspan's */
};

static struct bins bins_new(double from, double to)
{
	size_t count = (size_t)((to - from) / JAR_STEP);

	return (struct bins){ from, JAR_STEP, calloc(count + 1, sizeof(struct bin)), count };
}

static void put(struct bins *bins, double time, double celsius, double humidity)
{
	struct bin *bin = &bins->list[(size_t)((time - bins->from) / bins->step)];
	double kept = bin->ok / (bin->ok + MINUTE);

	bin->celsius = bin->celsius * kept + celsius * (1 - kept);
	bin->humidity = bin->humidity * kept + humidity * (1 - kept);
	bin->ok += MINUTE;
}

static void make(const struct made *made, uint64_t seed, struct jar_case *out)
{
	double end = BEGIN + made->hours * 3600, phase, wander = 0, vapour_room;
	double salt_celsius = made->celsius, humidity;
	double vapour = made->begin * air_saturation_pressure(made->celsius);

	*out = (struct jar_case){ .inside = bins_new(BEGIN, end),
				  .room = bins_new(BEGIN - BEFORE, end) };
	out->chance = seed;
	phase = chance_even(&out->chance) * 24;
	out->salt_error = (2 * chance_even(&out->chance) - 1) *
			  salt_uncertainty(made->salt, made->celsius);
	for (double t = BEGIN - BEFORE; t < end; t += MINUTE) {
		double day = sin(((t - BEGIN) / 3600 + phase) / 24 * 2 * 3.14159265358979);
		double celsius = made->celsius + made->swing * day;

		/* Weather: about an hour and a half to forget itself. */
		wander += -wander / 90 + chance_normal(&out->chance) * 0.15;
		vapour_room = fmin(fmax(made->room - made->room_swing * day + wander, 5), 95);
		put(&out->room, t, celsius, vapour_room);
		salt_celsius += (celsius - salt_celsius) * (1 - exp(-1 / 30.0));
		if (t < BEGIN)
			continue;

		/* Vapour goes from the salt into the air and through the leak. */
		double salt = salt_humidity(made->salt, salt_celsius) + out->salt_error;
		double over = salt * air_saturation_pressure(salt_celsius);
		double outside = vapour_room * air_saturation_pressure(celsius);
		double rest = over + made->leak * (outside - over);
		double rate = 1 / made->delay / (1 - fmin(made->leak, 0.9));

		vapour += (rest - vapour) * (1 - exp(-rate / 60));
		humidity = vapour / air_saturation_pressure(celsius);

		bool out_of_it = made->opened > 0 && t >= end - made->opened * 3600;
		double read = made->slope * (out_of_it ? vapour_room : humidity) + made->error +
			      made->noise * chance_normal(&out->chance);

		double left = (end - t) / 3600;

		if ((made->hidden > 0 && left <= made->hidden) ||
		    (left > made->hole_end && left <= made->hole_end + made->hole))
			continue;
		read = fmin(fmax(round(read / made->step) * made->step, 0), 100);
		put(&out->inside, t, round(celsius * 10) / 10, read);
	}
}

static void look(const struct made *made, uint64_t seed, bool with_room, struct jar *out)
{
	struct jar_case at;

	make(made, seed, &at);

	struct jar_past past = { &at.inside, with_room ? &at.room : NULL, made->salt, made->step };

	jar_look(&past, out);
	free(at.inside.list);
	free(at.room.list);
}

/* How many of the seeds come to that verdict. */
static size_t count_of(const struct made *made, bool with_room, enum jar_verdict verdict)
{
	size_t count = 0;

	for (uint64_t seed = 1; seed <= seeds(); seed++) {
		struct jar jar;

		look(made, seed, with_room, &jar);
		count += jar.verdict == verdict;
	}
	return count;
}

/* ---- tight jars ------------------------------------------------------------- */

static void assert_true_to_itself(const char *name, const struct made *made)
{
	double sum = 0, told = 0, squares = 0;
	size_t settled = 0, covered = 0, verdicts[JAR_FAR + 1] = { 0 };

	for (uint64_t seed = 1; seed <= seeds(); seed++) {
		struct jar jar;

		look(made, seed, true, &jar);
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
	       "%.1f %%; leaking %zu, moving %zu, noisy %zu, swinging %zu\n", name, settled, seeds(),
	       sum / (double)settled, sqrt(squares / (double)settled), told / (double)settled,
	       100 * (double)covered / (double)settled, verdicts[JAR_LEAKING],
	       verdicts[JAR_MOVING], verdicts[JAR_NOISY], verdicts[JAR_SWINGING]);
	assert_true((double)settled >= 0.94 * (double)seeds());
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
	struct made made = usual;

	(void)state;
	assert_true_to_itself("nacl", &made);
	made.salt = MGCL2;
	made.error = -3.1;
	assert_true_to_itself("mgcl2", &made);
	made = usual;
	made.hours = 36;
	made.slope = 0.93;
	assert_true_to_itself("nacl, a day and a half", &made);
	made = usual;
	made.salt = KCL;
	made.hours = 20;
	made.delay = 2.5;
	made.swing = 0.25;
	made.noise = 0.4;
	assert_true_to_itself("kcl, slow and noisy", &made);
	made = usual;
	made.step = 1;
	made.noise = 0.02;
	assert_true_to_itself("whole percents", &made);
	made = usual;
	made.swing = 0;
	made.room_swing = 0;
	assert_true_to_itself("an even room", &made);
}

/* What follows the air by exponential approach goes on where nobody looks. */
static void a_gap_changes_little(void **state)
{
	struct made made = usual;
	double all = 0, known = 0;
	size_t covered = 0;

	(void)state;
	made.hours = 24;
	made.hole_end = 7;
	for (uint64_t seed = 1; seed <= seeds(); seed++) {
		struct jar whole, gapped;

		made.hole = 0;
		look(&made, seed, true, &whole);
		made.hole = 3;
		look(&made, seed, true, &gapped);
		assert_int_equal(whole.verdict, JAR_SETTLED);
		assert_int_equal(gapped.verdict, JAR_SETTLED);
		all += whole.uncertainty;
		known += gapped.uncertainty;

		double off = fabs(gapped.read - gapped.actual - made.error);

		covered += off <= gapped.uncertainty;
		assert_true(off <= 2 * gapped.uncertainty);
	}
	printf("a day: told ±%.2f %%; three hours of it unknown: ±%.2f %%, which holds the error in %zu "
	       "of %zu\n", all / (double)seeds(), known / (double)seeds(), covered, seeds());
	assert_true(known <= 1.1 * all);
	/* Few seeds have few phases of the day. */
	assert_true((double)covered >= (seeds() < 100 ? 0.75 : 0.94) * (double)seeds());
}

/* An even jar, a tenth of whose air is the room's with a delay of 1.2 h; the room goes
 * from 30 to 60 % while nobody looks.  Its air as it was last known holds for an hour. */
static void a_gap_of_the_room(void **state)
{
	enum { STEPS = 144, LAST = 60, NEXT = 80 };
	struct bins inside = bins_new(BEGIN, BEGIN + STEPS * JAR_STEP);
	struct bins room = bins_new(BEGIN, BEGIN + STEPS * JAR_STEP);
	double air = 30;
	struct leak leak;

	(void)state;
	for (size_t i = 0; i < STEPS; i++) {
		double now = i < LAST + 6 ? 30 : 60;

		air += (now - air) * (1 - exp(-JAR_STEP / 3600.0 / 1.2));
		inside.list[i] = (struct bin){ .ok = JAR_STEP, .celsius = 22,
					       .humidity = 68 + 0.1 * air + (i % 2 ? 0.01 : -0.01) };
		if (i < LAST || i >= NEXT)
			room.list[i] = (struct bin){ .ok = JAR_STEP, .celsius = 22, .humidity = now };
	}
	assert_true(leak_find(&inside, &room, 0, STEPS, 1.2, 0, &leak));
	assert_near(leak.share, 0.1, 0.001);
	free(inside.list);
	free(room.list);
}

/* Half a degree (common practice) by which the probe's thermometer may be wrong, as likely anywhere
 * within: of a salt that changes much with it, magnesium nitrate by 0.298 % a °C (Greenspan's
 * linear term), that is 0.0861 %.  A probe that wrong is told what is as far off. */
static void the_probes_thermometer(void **state)
{
	struct made made = usual;
	struct jar_case at;
	struct jar right, wrong;

	(void)state;
	made.salt = MGNO3;
	made.swing = 0.1;
	make(&made, 1, &at);

	struct jar_past past = { &at.inside, NULL, MGNO3, 0.1 };

	jar_look(&past, &right);
	for (size_t i = 0; i < at.inside.count; i++)
		at.inside.list[i].celsius += 0.5;
	jar_look(&past, &wrong);
	assert_int_equal(right.verdict, JAR_SETTLED);
	assert_near(right.actual - wrong.actual, 0.149, 0.001);
	assert_near(right.parts.temperature, 0.149 / sqrt(3), 0.0005);
	assert_true(right.uncertainty >= 2 * right.parts.temperature);
	free(at.inside.list);
	free(at.room.list);
}

/* When it settled is not before it had come to within half a percent, and the plateau
 * reaches to the end. */
static void the_plateau_is_the_settled_part(void **state)
{
	struct made made = usual;

	(void)state;
	made.swing = 0.1;
	made.delay = 1;
	for (uint64_t seed = 1; seed <= 20; seed++) {
		struct jar jar;

		look(&made, seed, true, &jar);
		assert_int_equal(jar.verdict, JAR_SETTLED);
		assert_near(jar.until, BEGIN + 14 * 3600, 0);
		/* 27 % away at first: 0.5 % after 4.0 time constants. */
		assert_true(jar.settled >= BEGIN + 3.2 * 3600 && jar.settled <= BEGIN + 5.2 * 3600);
		assert_near(jar.celsius, 22, 0.15);
	}
}

/* ---- refused ------------------------------------------------------------------ */

static void unsettled_jars(void **state)
{
	static const double delays[] = { 4, 6, 10, 24 };
	struct made made = usual;
	struct jar jar;

	(void)state;
	made.swing = 0.1;
	for (size_t i = 0; i < sizeof delays / sizeof *delays; i++) {
		made.delay = delays[i];
		size_t settled = count_of(&made, true, JAR_SETTLED);

		printf("14 h at a time constant of %g h: %zu of %zu taken for settled\n", delays[i],
		       settled, seeds());
		assert_int_equal(settled, 0);
	}
	made = usual;
	made.hours = 5;
	look(&made, 1, true, &jar);
	assert_int_equal(jar.verdict, JAR_SHORT);
	made.hours = 6.5;
	look(&made, 1, true, &jar);
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
	struct made made = usual;

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
			       made.leak * (75.4 - made.room), seeds() - settled, seeds(), leaking);
			if (made.leak >= jars[h].surely)
				assert_true(settled <= seeds() / 200);
		}
}

/* What is said not to be seen is what is not seen: a jar that passes is moved by less. */
static void a_leak_that_passes_is_small(void **state)
{
	static const double leaks[] = { 0.05, 0.08 };
	struct made made = usual;

	(void)state;
	for (size_t i = 0; i < sizeof leaks / sizeof *leaks; i++) {
		size_t passed = 0, kept = 0;

		made.leak = leaks[i];
		for (uint64_t seed = 1; seed <= seeds(); seed++) {
			struct jar jar;

			look(&made, seed, true, &jar);
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
	struct made made = usual;
	struct jar jar;

	(void)state;
	made.leak = 0.05;
	made.swing = 0.1;
	look(&made, 1, false, &jar);
	assert_int_equal(jar.verdict, JAR_SETTLED);
	assert_false(jar.room_known);
	assert_true(isinf(jar.unseen));
	/* A room whose air hardly moves shows as little. */
	made = usual;
	made.swing = 0;
	made.room_swing = 0;
	struct jar_case at;

	make(&made, 1, &at);
	for (size_t i = 0; i < at.room.count; i++)
		at.room.list[i].humidity = 45;
	jar_look(&(struct jar_past){ &at.inside, &at.room, NACL, 0.1 }, &jar);
	assert_int_equal(jar.verdict, JAR_SETTLED);
	assert_true(jar.room_known && isinf(jar.unseen));
	free(at.inside.list);
	free(at.room.list);
}

static void assert_all(const char *what, const struct made *made, enum jar_verdict verdict)
{
	size_t count = count_of(made, true, verdict);

	printf("%s: %zu of %zu\n", what, count, seeds());
	assert_int_equal(count, seeds());
}

static void other_jars_that_are_refused(void **state)
{
	struct made made = usual;

	(void)state;
	made.swing = 1.6;
	made.hours = 26;
	assert_all("3.2 °C from night to day", &made, JAR_SWINGING);
	made = usual;
	made.opened = 0.5;
	made.room = 50;
	assert_all("taken out half an hour before the end", &made, JAR_OPENED);
	made = usual;
	made.hidden = 2;
	assert_all("silent at the end", &made, JAR_GAPS);
	made = usual;
	made.salt = K2SO4;
	made.error = 4;
	assert_all("at the end of its range", &made, JAR_WET);
	made = usual;
	made.celsius = 12;
	assert_all("too cold", &made, JAR_OUTSIDE);
	made.celsius = 33;
	assert_all("too warm", &made, JAR_OUTSIDE);
	made = usual;
	made.error = -17;
	made.swing = 0.1;
	assert_all("far off", &made, JAR_FAR);
	made = usual;
	made.noise = 6;
	assert_int_equal(count_of(&made, true, JAR_SETTLED), 0);
}

/* Years later only means of an hour are left. */
static void from_hours(void **state)
{
	struct made made = usual;
	struct jar_case at;
	struct jar jar;

	(void)state;
	made.hours = 30;
	made.swing = 0.1;
	make(&made, 3, &at);

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
		cmocka_unit_test(a_gap_changes_little),
		cmocka_unit_test(a_gap_of_the_room),
		cmocka_unit_test(the_probes_thermometer),
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
