/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The whole chain without any I/O: readings in, minutes and events out; what
 * a restart and a reload keep.  Day and night are at UTC.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <time.h>

#include "daemon/flow.h"
#include "daemon/nowfile.h"
#include "daemon/standing.h"
#include "tests/world.h"

static const double noon = 1767614400; /* 2026-01-05T12:00:00Z */

struct rig {
	struct world world;
	struct flow *flow;
	size_t minutes;
	double out, ok;         /* of T3's humidity, s and % s */
	char events[32][80];
	double when[32];
	char ids[32][ALERT_ID];
	size_t count;
};

static void take_minute(void *context, size_t enclosure, const struct closed_minute *minute)
{
	struct rig *rig = context;

	if (enclosure != 0)
		return;
	rig->minutes++;
	rig->out += minute->cells[1].out * 60;
	rig->ok += minute->cells[1].ok * 60;
}

static void take_event(void *context, struct alert_record *record,
		       const struct message_context *message)
{
	struct rig *rig = context;

	(void)message;
	assert_true(rig->count < 32);
	snprintf(rig->events[rig->count], sizeof *rig->events, "%s %s %s %s %s",
		 event_word(record->event), record->enclosure,
		 record->has_quantity ? (record->quantity == HUMIDITY ? "humidity" : "temperature")
				      : "-",
		 condition_word(record->condition), priority_word(record->priority));
	memcpy(rig->ids[rig->count], record->id, sizeof *rig->ids);
	rig->when[rig->count++] = record->time;
}

static void rig_begin(struct rig *rig, double now)
{
	const struct flow_sink sink = { .context = rig, .minute = take_minute, .event = take_event };

	rig->flow = flow_new(&rig->world.conf, &sink, now);
}

static struct rig *rig_new(void)
{
	struct rig *rig = calloc(1, sizeof *rig);

	world_make(&rig->world);
	rig_begin(rig, noon);
	return rig;
}

static void rig_free(struct rig *rig)
{
	flow_free(rig->flow);
	free(rig);
}

/* A minute's readings of both probes, and the tick after. */
static void minute(struct rig *rig, double time, double temperature, double humidity)
{
	struct reading r = { .probe = 0, .time = time, .has = { true, true },
			     .value = { temperature, humidity } };

	flow_reading(rig->flow, &r);
	r.probe = 1;
	r.value[TEMPERATURE] = 21;
	r.value[HUMIDITY] = 40;
	flow_reading(rig->flow, &r);
	flow_tick(rig->flow, time);
}

static void hold(struct rig *rig, double *time, double humidity, int minutes)
{
	for (; minutes > 0; minutes--, *time += 60)
		minute(rig, *time, 25, humidity);
}

static void expect(const struct rig *rig, size_t index, const char *event)
{
	assert_true(index < rig->count);
	assert_string_equal(rig->events[index], event);
}

static void readings_become_minutes_and_events(void **state)
{
	(void)state;
	struct rig *rig = rig_new();
	double t = noon;

	hold(rig, &t, 40, 62);
	assert_int_equal(rig->count, 1);
	expect(rig, 0, "raised T3 humidity below_band today");
	assert_near(rig->when[0], noon + 3600, 0);
	assert_int_equal(rig->minutes, 61);
	assert_near(rig->out, 61 * 60 * 5, 1e-6);
	assert_near(rig->ok, 61 * 60, 1e-6);
	hold(rig, &t, 50, 8);
	assert_int_equal(rig->count, 2);
	expect(rig, 1, "cleared T3 humidity below_band today");
	assert_string_equal(rig->ids[0], rig->ids[1]);
	rig_free(rig);
}

static void a_spike_reaches_neither_minutes_nor_judge(void **state)
{
	(void)state;
	struct rig *rig = rig_new();
	double t = noon;

	hold(rig, &t, 50, 5);
	hold(rig, &t, 5, 1);
	hold(rig, &t, 50, 5);
	assert_near(rig->out, 0, 0);
	assert_near(rig->ok, 600, 1e-9); /* the line spans the spike */
	assert_int_equal(rig->flow->probes[0].counters.failed[SPIKE], 1);
	rig_free(rig);
}

static void silence_is_told_and_its_end(void **state)
{
	(void)state;
	struct rig *rig = rig_new();
	double t = noon;

	hold(rig, &t, 50, 2);
	double last = t - 60;

	for (double now = last; now < last + 660; now += 1)
		flow_tick(rig->flow, now);
	/* Both the enclosure and the room have one probe each: nobody watches. */
	assert_int_equal(rig->count, 2);
	expect(rig, 0, "raised T3 - silent now");
	expect(rig, 1, "raised room - silent now");
	assert_near(rig->when[0], last + 600, 0);
	/* One answer is not yet a probe that answers. */
	t = last + 700;
	hold(rig, &t, 50, 5);
	assert_int_equal(rig->count, 2);
	hold(rig, &t, 50, 1);
	assert_int_equal(rig->count, 4);
	expect(rig, 2, "cleared T3 - silent now");
	assert_near(rig->when[2], last + 1000, 0);
	rig_free(rig);
}

static void one_quantity_of_two_falls_silent(void **state)
{
	(void)state;
	struct rig *rig = rig_new();
	double t = noon;

	hold(rig, &t, 50, 2);
	for (; t < noon + 1200; t += 60) {
		struct reading r = { .probe = 0, .time = t, .has = { true, false },
				     .value = { 25, 0 } };

		flow_reading(rig->flow, &r);
		r.probe = 1;
		flow_reading(rig->flow, &r);
		flow_tick(rig->flow, t);
	}
	assert_int_equal(rig->count, 2);
	expect(rig, 0, "raised T3 humidity silent upkeep");
	rig_free(rig);
}

/* Readings too far apart for the archive, but no silence: an animal that is
 * far out all the time is told of. */
static void sparse_readings_are_judged(void **state)
{
	(void)state;
	struct rig *rig = rig_new();

	for (double t = noon; t < noon + 4200; t += 200)
		minute(rig, t, 25, 40);
	assert_int_equal(rig->minutes, 0);
	assert_int_equal(rig->count, 3);
	/* Nothing of it can be archived, which somebody must see to, too. */
	expect(rig, 0, "raised T3 - silent upkeep");
	expect(rig, 1, "raised room - silent upkeep");
	expect(rig, 2, "raised T3 humidity below_band today");
	assert_near(rig->when[2], noon + 3600, 0);
	rig_free(rig);
}

/* The clock is put right by an hour while an enclosure strays: patience goes
 * on, nobody seems silent, and nothing of an hour ago is archived twice. */
static void a_clock_put_right_changes_nothing(void **state)
{
	(void)state;
	const double shifts[] = { -3600, 86400 };

	for (size_t i = 0; i < 2; i++) {
		struct rig *rig = rig_new();
		double t = noon;

		hold(rig, &t, 40, 31);
		flow_shift(rig->flow, shifts[i]);
		t += shifts[i];
		hold(rig, &t, 40, 31);
		assert_int_equal(rig->count, 1);
		expect(rig, 0, "raised T3 humidity below_band today");
		assert_near(rig->when[0], noon + 3600 + shifts[i], 0);
		assert_near(rig->flow->enclosures[0].series[1].alert.since, noon + shifts[i], 0);
		rig_free(rig);
	}
}

/* What was standing in an enclosure that is gone after a restart is over. */
static void orphans_are_cleared_at_a_restart(void **state)
{
	(void)state;
	struct rig *rig = rig_new();
	double t = noon;

	hold(rig, &t, 40, 62);
	json_t *kept = standing_json(rig->flow);

	flow_free(rig->flow);
	rig->world.conf.enclosures = &rig->world.enclosures[1];
	rig->world.conf.enclosure_count = 1;
	rig_begin(rig, t);
	assert_true(standing_restore(rig->flow, kept));
	json_decref(kept);
	assert_int_equal(rig->count, 2);
	expect(rig, 1, "cleared T3 humidity below_band today");
	assert_string_equal(rig->ids[1], rig->ids[0]);
	rig_free(rig);
}

/* A restart neither repeats, forgets nor delays. */
static void a_restart_knows_what_stood(void **state)
{
	(void)state;
	struct rig *rig = rig_new();
	double t = noon;

	hold(rig, &t, 40, 31); /* half of its patience is used up */
	json_t *kept = standing_json(rig->flow);

	flow_free(rig->flow);
	t += 7200; /* off for two hours: unknown, counts for nothing */
	rig_begin(rig, t);
	assert_true(standing_restore(rig->flow, kept));
	json_decref(kept);
	double again = t;

	hold(rig, &t, 40, 40);
	assert_int_equal(rig->count, 1);
	assert_near(rig->when[0], again + 1800, 0);
	assert_near(rig->flow->enclosures[0].series[1].alert.since, noon, 0);

	kept = standing_json(rig->flow);
	flow_free(rig->flow);
	rig_begin(rig, t);
	assert_true(standing_restore(rig->flow, kept));
	json_decref(kept);
	hold(rig, &t, 40, 30);
	assert_int_equal(rig->count, 1); /* stands, is not repeated */
	hold(rig, &t, 50, 8);
	assert_int_equal(rig->count, 2);
	expect(rig, 1, "cleared T3 humidity below_band today");
	assert_string_equal(rig->ids[1], rig->ids[0]);
	rig_free(rig);
}

static void silence_goes_on_over_a_restart(void **state)
{
	(void)state;
	struct rig *rig = rig_new();
	double t = noon;

	hold(rig, &t, 50, 2);
	flow_tick(rig->flow, noon + 60 + 480); /* silent for 8 min */
	json_t *kept = standing_json(rig->flow);

	flow_free(rig->flow);
	rig_begin(rig, noon + 10000);
	standing_restore(rig->flow, kept);
	json_decref(kept);
	flow_tick(rig->flow, noon + 10000 + 119);
	assert_int_equal(rig->count, 0);
	flow_tick(rig->flow, noon + 10000 + 120);
	assert_int_equal(rig->count, 2);
	rig_free(rig);
}

static void what_a_quiet_room_keeps_does_not_change(void **state)
{
	(void)state;
	struct rig *rig = rig_new();
	double t = noon;

	hold(rig, &t, 50, 5);
	json_t *one = standing_json(rig->flow), *other = json_array();

	hold(rig, &t, 51, 50);
	json_t *two = standing_json(rig->flow);

	assert_true(json_equal(one, two));
	json_decref(one);
	json_decref(two);
	assert_false(standing_restore(rig->flow, NULL));
	assert_false(standing_restore(rig->flow, other));
	json_decref(other);
	rig_free(rig);
}

static void a_reload_forgets_nothing(void **state)
{
	(void)state;
	struct rig *rig = rig_new();
	struct world *other = calloc(1, sizeof *other);
	double t = noon;

	world_make(other);
	other->enclosures[0].places[COOL_SIDE].rules[HUMIDITY].day.low = 47;
	hold(rig, &t, 40, 62);
	size_t before = rig->minutes;

	flow_reload(rig->flow, &other->conf);
	hold(rig, &t, 40, 10);
	assert_int_equal(rig->count, 1);
	assert_int_equal(rig->minutes, before + 10); /* not one is lost */
	assert_near(rig->ok, 71 * 60, 1e-6);
	flow_free(rig->flow);
	free(other);
	free(rig);
}

static void what_a_reload_takes_away_is_cleared(void **state)
{
	(void)state;
	struct rig *rig = rig_new();
	struct world *other = calloc(1, sizeof *other);
	double t = noon;

	world_make(other);
	other->conf.enclosures = &other->enclosures[1]; /* only the room is left */
	other->conf.enclosure_count = 1;
	hold(rig, &t, 40, 62);
	flow_reload(rig->flow, &other->conf);
	assert_int_equal(rig->count, 2);
	expect(rig, 1, "cleared T3 humidity below_band today");
	flow_free(rig->flow);
	free(other);
	free(rig);
}

static void now_shows_values_states_and_bands(void **state)
{
	(void)state;
	struct rig *rig = rig_new();
	double t = noon, value, low;
	const char *name, *whole, *place, *quantity, *word;
	const bool open = true;
	const struct now_extra extra = { .running = true, .bus_count = 1, .bus_open = &open };

	hold(rig, &t, 40, 2);
	char *text = now_text(rig->flow, &extra);
	json_t *json = json_loads(text, 0, NULL);
	json_t *t3 = json_array_get(json_object_get(json, "enclosures"), 0);

	assert_int_equal(json_unpack(t3, "{s:s,s:s,s:[{s:s},{s:s,s:s,s:F,s:s,s:[F,f]}]}", "name",
				     &name, "state", &whole, "places", "place", &place, "place",
				     &place, "quantity", &quantity, "value", &value, "state",
				     &word, "band", &low, &(double){ 0 }),
			 0);
	assert_string_equal(name, "T3");
	assert_string_equal(whole, "straying");
	assert_string_equal(place, "cool_side");
	assert_string_equal(quantity, "humidity");
	assert_near(value, 40, 0);
	assert_near(low, 45, 0);
	json_decref(json);
	free(text);
	rig_free(rig);
}

static void the_tools_own_trouble(void **state)
{
	(void)state;
	struct rig *rig = rig_new();

	flow_trouble(rig->flow, CLOCK, true, noon);
	flow_trouble(rig->flow, CLOCK, true, noon);
	flow_trouble(rig->flow, CLOCK, false, 0);
	flow_archive_damaged(rig->flow, 0);
	assert_int_equal(rig->count, 4);
	expect(rig, 0, "raised  - clock upkeep");
	expect(rig, 1, "cleared  - clock upkeep");
	expect(rig, 2, "raised T3 - archive upkeep");
	expect(rig, 3, "cleared T3 - archive upkeep");
	rig_free(rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(readings_become_minutes_and_events),
		cmocka_unit_test(a_spike_reaches_neither_minutes_nor_judge),
		cmocka_unit_test(silence_is_told_and_its_end),
		cmocka_unit_test(one_quantity_of_two_falls_silent),
		cmocka_unit_test(sparse_readings_are_judged),
		cmocka_unit_test(a_clock_put_right_changes_nothing),
		cmocka_unit_test(orphans_are_cleared_at_a_restart),
		cmocka_unit_test(a_restart_knows_what_stood),
		cmocka_unit_test(silence_goes_on_over_a_restart),
		cmocka_unit_test(what_a_quiet_room_keeps_does_not_change),
		cmocka_unit_test(a_reload_forgets_nothing),
		cmocka_unit_test(what_a_reload_takes_away_is_cleared),
		cmocka_unit_test(now_shows_values_states_and_bands),
		cmocka_unit_test(the_tools_own_trouble),
	};

	setenv("TZ", "UTC0", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
