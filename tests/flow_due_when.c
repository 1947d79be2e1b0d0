/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When a misting that will be due is told, and when it is not any more: beside
 * other alerts, before quiet hours, day after day.
 */
#include "tests/cm.h"

#include <time.h>

#include "conf/memory.h"
#include "daemon/flow_tell.h"
#include "daemon/tell.h"
#include "tests/tub_stage.h"

static struct live_due *due_of(const struct tub *t)
{
	return t->stage.watch.flow->enclosures[0].due;
}

/* ---- beside other alerts ---------------------------------------------------------- */

static void gather(struct gathering *gathering, enum condition condition, enum event event,
		   enum priority priority, const char *title)
{
	struct item item = {
		.record = { .time = SCENE_BEGIN + (double)gathering->count, .event = event,
			    .condition = condition, .enclosure = "E1" },
		.event = event, .priority = priority, .reach = INFINITY, .beyond = -1,
		.title = must_copy(title), .text = must_copy(title),
	};

	snprintf(item.record.id, sizeof item.record.id, "alert_%zu", gathering->count);
	gathering_add(gathering, &item, INFINITY);
}

static void expect_title(const struct gathering *gathering, const struct conf *conf,
			 size_t flood, const char *wanted)
{
	char *title = gathering_title(gathering, conf, flood);

	assert_string_equal(title, wanted);
	free(title);
}

/* Whatever has happened already leads, be it less urgent or later. */
static void it_stands_behind_every_alert(void **state)
{
	(void)state;
	struct tub t;
	struct gathering g = { 0 };
	struct outgoing out;

	tub_begin(&t, "webhook \"plain\" { endpoint = \"http://127.0.0.1:9/\"\n"
		      "body = \"{priority}\" }", "");
	gather(&g, SILENT, CLEARED, NOW, "heard");
	gather(&g, MISTING_DUE, RAISED, TODAY, "due");
	expect_title(&g, t.scene->conf, 0, "due; 1 more");
	expect_title(&g, t.scene->conf, 11, "due; 1 more");
	gather(&g, FROZEN, RAISED, UPKEEP, "frozen");
	expect_title(&g, t.scene->conf, 0, "frozen; 2 more");
	expect_title(&g, t.scene->conf, 11, "11 alerts in 10 min: frozen");
	/* It is as urgent as before. */
	assert_true(gathering_write(&g, t.scene->conf, 1, 0, &out));
	assert_string_equal(out.body, "today");
	outgoing_clear(&out);
	gather(&g, BELOW_BAND, RAISED, TODAY, "dry");
	expect_title(&g, t.scene->conf, 0, "dry; 3 more");
	gathering_drop(&g, "alert_1");
	expect_title(&g, t.scene->conf, 0, "dry; 2 more");
	gathering_clear(&g);
	stage_end(&t.stage);
}

/* So many in one tick delay no alert. */
static void many_are_no_flood(void **state)
{
	(void)state;
	struct tub t;
	struct message_context context;
	struct alert_record record = { .event = RAISED, .has_condition = true, .has_priority = true,
				       .priority = TODAY, .enclosure = "E1", .has_place = true,
				       .place = COOL_SIDE, .has_quantity = true,
				       .quantity = HUMIDITY, .has_value = true, .value = 40 };

	tub_begin(&t, "", "");
	struct teller *teller = &t.stage.watch.teller;

	for (int i = 0; i < 13; i++) {
		context = (struct message_context){ .conf = t.scene->conf, .told = RAISED,
						    .gravest = TODAY, .reach = INFINITY,
						    .beyond = -1,
						    .enclosure = t.scene->conf->enclosures };
		record.time = t.scene->now;
		record.condition = i < 12 ? MISTING_DUE : BELOW_BAND;
		snprintf(record.id, sizeof record.id, "alert_%d", i);
		teller_take(teller, &record, &context);
	}
	assert_near(teller->gathering.close, t.scene->now + t.scene->conf->gather, 0);
	assert_true(teller_send(teller, t.scene->now + 30));
	stage_expect(&t.stage, "phone", "E1 too dry, 40 %; 12 more\n");
	stage_end(&t.stage);
}

static void over_before_it_was_told_it_is_not_told(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "gather = \"10min\"", "misting_due = \"6h\"");
	tub_law(&t, SCENE_BEGIN);
	tub_until_told(&t, 1, 24 * 60);
	assert_true(t.stage.watch.teller.gathering.open);
	tub_mist(&t);
	tub_run(&t, 6);
	due_of(&t)->next = 0;
	tub_run(&t, 1);
	assert_int_equal(tub_told(&t, "cleared"), 1);
	assert_false(t.stage.watch.teller.gathering.open);
	tub_run(&t, 20);
	stage_expect(&t.stage, "phone", "");
	stage_end(&t.stage);
}

/* Dry in the night; at ten to ten, when it is sure, its message would be held till morning. */
static void what_quiet_hours_would_hold_is_not_raised(void **state)
{
	(void)state;
	struct tub t;

	for (int gather = 0; gather <= 10; gather += 10) {
		char *more = must_print("gather = \"%dmin\" quiet { from = \"22:00\" to = \"07:00\" }",
					gather);

		tub_begin(&t, more, "misting_due = \"1h\"");
		free(more);
		tub_law(&t, SCENE_BEGIN - 15 * 86400.0); /* too old to be used */
		tub_run(&t, 9 * 60 + 25);
		tub_law(&t, SCENE_BEGIN);
		tub_run(&t, 24 * 60);
		assert_true(t.dry > 0);
		assert_int_equal(tub_told(&t, "raised"), gather == 0);
		stage_end(&t.stage);
	}
}

/* It would be sure of it ten minutes before, at most: nobody can do anything with that. */
static void what_is_as_good_as_there_is_not_raised(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "", "");
	while (t.dry < 0)
		tub_run(&t, 10);
	const int last = (int)(t.dry / 10 * 10);

	stage_end(&t.stage);
	for (int sooner = 0; sooner <= 20; sooner += 20) {
		tub_begin(&t, "", "misting_due = \"1h\"");
		tub_law(&t, SCENE_BEGIN - 15 * 86400.0); /* too old to be used */
		tub_run(&t, last - 25 - sooner);
		tub_law(&t, SCENE_BEGIN);
		tub_run(&t, 60);
		assert_true(t.dry > 0);
		assert_int_equal(tub_told(&t, "raised"), sooner > 0);
		stage_end(&t.stage);
	}
}

/* ---- day after day ------------------------------------------------------------------ */

/* Misted too little every noon, it is too dry every morning, and told in time every day. */
static void every_day_at_its_hour(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "", "misting_due = \"1h\"");
	for (size_t day = 1; day <= 7; day++) {
		long noon = (long)(day - 1) * 1440;

		tub_law(&t, t.scene->now);
		tub_mist(&t);
		t.dry = -1;
		long at = tub_until_told(&t, day, 24 * 60);

		tub_run(&t, (int)(noon + 1440 - at - 1));
		print_message("day %zu: told after %ld min, dry after %ld\n", day, at - noon,
			      t.dry - noon);
		assert_true(t.dry > at + 20 && t.dry <= at + 75);
		assert_int_equal(tub_told(&t, "raised"), day);
	}
	stage_end(&t.stage);
}

/* ---- what is heard, and where ---------------------------------------------------------- */

/* It was told of the cool side; the next law is another place's. */
static void another_place_is_another_matter(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "", "misting_due = \"6h\"");
	tub_law(&t, SCENE_BEGIN);
	tub_until_told(&t, 1, 24 * 60);
	struct drying_record record = record_of("E1", SCENE_BEGIN);

	record.place = WARM_SIDE;
	flow_laws(t.stage.watch.flow, &record, 1);
	assert_int_equal(due_of(&t)->place, WARM_SIDE);
	tub_run(&t, 1);
	assert_int_equal(tub_told(&t, "cleared"), 1); /* of the cool side */
	assert_false(due_of(&t)->air.begun && due_of(&t)->air.since < t.scene->now - 60);
	stage_end(&t.stage);
}

/* Another probe may read some per cent otherwise: no misting, and no air to go on with. */
static void another_probe_begins_anew(void **state)
{
	(void)state;
	struct tub t;
	struct scene other;

	tub_begin(&t, "", "misting_due = \"6h\"");
	scene_begin(&other, 1, "", "misting_due = \"6h\"");
	struct live_due *room = t.stage.watch.flow->enclosures[1].due;

	tub_law(&t, SCENE_BEGIN);
	tub_run(&t, 60);
	assert_true(due_of(&t)->air.begun && room->air.begun);
	flow_reload(t.stage.watch.flow, other.conf);
	room = t.stage.watch.flow->enclosures[1].due;
	assert_true(due_of(&t)->air.begun && room->air.begun);
	other.conf->probes[1].name[0] = 'x'; /* the cool side's */
	other.conf->probes[2].name[0] = 'y'; /* the room's */
	flow_reload(t.stage.watch.flow, t.scene->conf);
	room = t.stage.watch.flow->enclosures[1].due;
	assert_false(due_of(&t)->air.begun || room->air.begun);
	assert_true(due_of(&t)->has_law);
	scene_end(&other);
	stage_end(&t.stage);
}

static void doubted_probes_are_not_believed(void **state)
{
	(void)state;

	/* The probe there and the room's: none, frozen, silence stands. */
	for (int i = 0; i < 5; i++) {
		struct tub t;

		tub_begin(&t, "", "misting_due = \"6h\"");
		tub_law(&t, SCENE_BEGIN);
		struct flow *flow = t.stage.watch.flow;

		for (int look = 0; look < 70; look++) {
			due_of(&t)->next = INFINITY; /* until it is so */
			tub_run(&t, 10);
			flow->probes[1].frozen = i == 1;
			flow->probes[2].frozen = i == 2;
			flow->enclosures[0].places[COOL_SIDE].silence.stands = i == 3;
			flow->enclosures[1].places[ROOM_AIR].silence.stands = i == 4;
			due_of(&t)->next = 0;
			due_tick(flow);
			flow->enclosures[0].places[COOL_SIDE].silence.stands = false;
			flow->enclosures[1].places[ROOM_AIR].silence.stands = false;
		}
		tub_run(&t, 1);
		assert_int_equal(tub_told(&t, "raised"), i == 0);
		stage_end(&t.stage);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(it_stands_behind_every_alert),
		cmocka_unit_test(many_are_no_flood),
		cmocka_unit_test(over_before_it_was_told_it_is_not_told),
		cmocka_unit_test(what_quiet_hours_would_hold_is_not_raised),
		cmocka_unit_test(what_is_as_good_as_there_is_not_raised),
		cmocka_unit_test(every_day_at_its_hour),
		cmocka_unit_test(another_place_is_another_matter),
		cmocka_unit_test(another_probe_begins_anew),
		cmocka_unit_test(doubted_probes_are_not_believed),
	};

	setenv("TZ", "UTC", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
