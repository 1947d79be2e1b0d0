/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The morning's answer in a sentence.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "conf/memory.h"
#include "report/morning.h"

enum { MOST = 14 };

/* 2026-01-05T08:00+01:00 */
static const double EIGHT = 1767596400;

struct fixture {
	struct conf conf;
	struct enclosure enclosures[MOST];
	char labels[MOST][NAME_SIZE];
	struct morning_line lines[MOST];
	struct morning morning;
};

/* So many enclosures "Tub 1", "Tub 2" ..., in their bands. */
static struct morning *room_of(struct fixture *f, size_t count)
{
	*f = (struct fixture){ .conf = { .enclosures = f->enclosures, .enclosure_count = count } };
	for (size_t i = 0; i < count; i++) {
		snprintf(f->labels[i], NAME_SIZE, "Tub %zu", i + 1);
		f->enclosures[i].name = f->enclosures[i].label = f->labels[i];
		f->lines[i] = (struct morning_line){ .enclosure = &f->enclosures[i],
						     .need = NEED_NOTHING, .watched = true,
						     .known = 1,
						     .heard = EIGHT };
	}
	f->morning = (struct morning){
		.base = { .conf = &f->conf, .window = { EIGHT - 86400, EIGHT } },
		.made = EIGHT + 60, .lines = f->lines, .count = count,
		.gathered = { .count = count, .newest = EIGHT },
	};
	return &f->morning;
}

static void needs(struct fixture *f, size_t i, char *brief)
{
	f->lines[i].need = NEED_LOOK;
	f->lines[i].brief = f->lines[i].complaint = brief;
}

static void says(const struct morning *morning, const char *headline, const char *others)
{
	char *text = morning_headline(morning);

	assert_string_equal(text, headline);
	free(text);
	text = morning_others(morning);
	assert_string_equal(text, others);
	free(text);
}

static void all_is_well(void **state)
{
	struct fixture *f = *state;
	struct morning *morning = room_of(f, 12);

	says(morning, "None of the twelve needs you.", "All were in their bands.");
	f->lines[4].known = 0.9;
	says(morning, "None of the twelve needs you.", "All were in their bands as far as is known.");
	says(room_of(f, 13), "None of the 13 needs you.", "All were in their bands.");
	morning->made = EIGHT + 7200;
	says(morning, "None of the 13 needed you.", "All were in their bands.");
	f->lines[0].need = NEED_UNTOLD;
	says(morning, "None of the 13 needed you.", "No band is set, so nothing is said of: Tub 1.");
	assert_near(morning_known(morning), 1, 0);
	f->lines[0].known = 0;
	assert_near(morning_known(morning), 12 / 13.0, 1e-12);
	f->lines[0].watched = false; /* no probe: nothing there could be known */
	assert_near(morning_known(morning), 1, 0);
}

static void some_need_you(void **state)
{
	struct fixture *f = *state;
	struct morning *morning = room_of(f, 12);

	needs(f, 0, (char[]){ "too dry for 6 h 10 min" });
	says(morning, "One of twelve needs you: Tub 1 too dry for 6 h 10 min.", "");
	needs(f, 1, (char[]){ "0.4 °C too cold since 04:20" });
	says(morning, "Two of twelve need you: Tub 1 too dry for 6 h 10 min, Tub 2 0.4 °C too "
		      "cold since 04:20.", "");
	needs(f, 2, (char[]){ "dangerously hot" });
	needs(f, 3, (char[]){ "too damp for 1 h" });
	f->lines[2].brief = NULL;
	says(morning, "Four of twelve need you: Tub 1 too dry for 6 h 10 min, Tub 2 0.4 °C too "
		      "cold since 04:20, Tub 3 and 1 more.", "");
	morning->made = EIGHT + 86400;
	f->enclosures[0].label = (char[]){ "ящик & <b>" };
	for (size_t i = 1; i < 4; i++)
		f->lines[i].need = NEED_NOTHING;
	says(morning, "One of twelve needed you: ящик & <b> too dry for 6 h 10 min.", "");
}

/* "0.4" would be drawn before the word it follows; the mark is not seen. */
static void labels_that_run_from_right_to_left(void **state)
{
	struct fixture *f = *state;
	struct morning *morning = room_of(f, 4);
	char brief[] = "0.4 °C too cold since 04:20";

	f->enclosures[0].label = (char[]){ "ثعبان" };
	f->enclosures[1].label = (char[]){ "נחש 2" };
	f->enclosures[2].label = (char[]){ "蛇 Φίδι" };
	for (size_t i = 0; i < 3; i++)
		needs(f, i, brief);
	says(morning, "Three of four need you: ثعبان\u200e 0.4 °C too cold since 04:20, "
		      "נחש 2\u200e 0.4 °C too cold since 04:20, 蛇 Φίδι 0.4 °C too cold since 04:20.",
	     "");
}

static void out_for_a_while(void **state)
{
	struct fixture *f = *state;
	struct morning *morning = room_of(f, 6);

	f->lines[0].need = NEED_STRAYED;
	f->lines[0].brief = (char[]){ "too dry for 10 min" };
	says(morning, "None of the six needs you.", "One was out of its band for a while: Tub 1.");
	for (size_t i = 0; i < 5; i++)
		f->lines[i].need = NEED_STRAYED;
	says(morning, "None of the six needs you.",
	     "Five were out of their bands for a while: Tub 1, Tub 2, Tub 3 and 2 more.");
	needs(f, 5, (char[]){ "too hot for 1 h" });
	says(morning, "One of six needs you: Tub 6 too hot for 1 h.",
	     "Five were out of their bands for a while: Tub 1, Tub 2, Tub 3 and 2 more.");
}

static void the_only_one(void **state)
{
	struct fixture *f = *state;
	struct morning *morning = room_of(f, 1);

	says(morning, "Tub 1 does not need you.", "It was in its bands.");
	needs(f, 0, (char[]){ "too hot for 1 h" });
	f->enclosures[0].label = (char[]){ "éclosoir" };
	says(morning, "éclosoir needs you: too hot for 1 h.", "");
	morning->made = EIGHT + 7200;
	says(morning, "éclosoir needed you: too hot for 1 h.", "");
	f->lines[0].need = NEED_STRAYED;
	says(morning, "éclosoir did not need you.",
	     "One was out of its band for a while: éclosoir.");
}

static void the_room_is_none_of_them(void **state)
{
	struct fixture *f = *state;
	struct morning *morning = room_of(f, 3);

	f->enclosures[2].is_room = true;
	says(morning, "None of the two needs you.", "All were in their bands.");
	needs(f, 2, (char[]){ "dangerously cold, 9.0 °C at 04:20" });
	says(morning, "None of the two needs you, but the room: dangerously cold, 9.0 °C at 04:20.",
	     "All were in their bands.");
	needs(f, 1, (char[]){ "too hot for 1 h" });
	says(morning, "One of two needs you: Tub 2 too hot for 1 h.",
	     "The room: dangerously cold, 9.0 °C at 04:20.");
	/* It may be sorted before the only one. */
	morning = room_of(f, 2);
	f->enclosures[0].is_room = true;
	says(morning, "Tub 2 does not need you.", "It was in its bands.");
	needs(f, 0, (char[]){ "too dry since 04:20" });
	says(morning, "Tub 2 does not need you, but the room: too dry since 04:20.",
	     "It was in its bands.");
	/* Nothing but the room. */
	morning = room_of(f, 1);
	f->enclosures[0].is_room = true;
	says(morning, "No enclosure is configured.", "");
	says(room_of(f, 0), "No enclosure is configured.", "");
}

static void silent(struct fixture *f, double heard, double newest)
{
	for (size_t i = 0; i < f->morning.count; i++) {
		f->lines[i].silent = true;
		f->lines[i].heard = i ? heard : 0;
		f->lines[i].need = NEED_LOOK;
	}
	f->morning.gathered.newest = newest;
}

static void nobody_is_watching(void **state)
{
	struct fixture *f = *state;
	struct morning *morning = room_of(f, 3);

	silent(f, EIGHT - 18000, EIGHT - 18000);
	says(morning, "Nobody is watching: nothing is recorded since 03:00.", "");
	f->lines[0].unsafe = true; /* and that is not over because nobody sees it */
	says(morning, "Nobody is watching: nothing is recorded since 03:00. In danger before that: "
		      "Tub 1.", "");
	f->lines[0].unsafe = false;
	const struct alert_life grave = {
		.last = { .enclosure = "Tub 2", .has_place = true, .place = WARM_SIDE,
			  .has_quantity = true, .quantity = TEMPERATURE, .has_condition = true,
			  .condition = ABOVE_LIMITS, .has_priority = true, .priority = NOW },
		.raised = EIGHT - 600,
	};
	const struct alert_life *standing = &grave;

	morning->standing = &standing;
	morning->standing_count = 1;
	says(morning, "Nobody is watching: nothing is recorded since 03:00. An alert stands: Tub 2, "
		      "warm side temperature above its limits, raised 07:50.", "");
	morning->standing_count = 0;
	f->lines[1].silent = false; /* somebody is */
	says(morning, "Three of three need you: Tub 1, Tub 2, Tub 3.", "");
	/* A hole that reached over the end of a window of the past. */
	silent(f, EIGHT - 18000, EIGHT + 86400);
	morning->made = EIGHT + 2 * 86400;
	says(morning, "Nobody was watching: nothing was recorded after 03:00.", "");
}

static void nothing_recorded(void **state)
{
	struct fixture *f = *state;
	struct morning *morning = room_of(f, 3);

	silent(f, 0, 0);
	says(morning, "Nothing has been recorded yet.", "");
	silent(f, 0, EIGHT - 2 * 86400);
	says(morning, "Nothing was recorded in this time; the newest record is of 2026-01-03 08:00.",
	     "");
	/* The window lies before the archive. */
	silent(f, 0, EIGHT + 86400);
	says(morning, "Nothing was recorded in this time.", "");
	silent(f, 0, 0);
	morning->gathered.unreadable = 3;
	says(morning, "No record can be read.", "");
}

static void an_alert_that_stands(void **state)
{
	struct fixture *f = *state;
	struct morning *morning = room_of(f, 3);
	struct alert_life life = {
		.last = { .enclosure = "Tub 2", .has_place = true, .place = COOL_SIDE,
			  .has_quantity = true, .quantity = HUMIDITY, .has_condition = true,
			  .condition = BELOW_BAND },
		.raised = EIGHT - 3600,
	};
	char *text;

	f->enclosures[1].label = (char[]){ "Upper & <lower>" };
	text = morning_standing(morning, &life);
	assert_string_equal(text, "Upper & <lower>, cool side humidity below its band since 07:00");
	free(text);
	life.last.has_since = true;
	life.last.since = EIGHT - 10 * 3600;
	life.acknowledged = true;
	life.ack = (struct alert_record){ .time = EIGHT - 60, .by = "anna", .note = "misted it" };
	text = morning_standing(morning, &life);
	assert_string_equal(text, "Upper & <lower>, cool side humidity below its band since "
				  "2026-01-04 22:00; acknowledged 07:59, anna: misted it");
	free(text);
	life = (struct alert_life){ .last = { .has_condition = true, .condition = DISK },
				    .raised = EIGHT - 3600 };
	text = morning_standing(morning, &life);
	assert_string_equal(text, "Warmside, the disk takes nothing since 07:00");
	free(text);
	memcpy(life.last.enclosure, "room", sizeof "room");
	text = morning_standing(morning, &life);
	assert_string_equal(text, "Room, the disk takes nothing since 07:00");
	free(text);
}

/* What is not called a need must not be lost either. */
static void beside_the_needs(void **state)
{
	struct fixture *f = *state;
	struct morning *morning = room_of(f, 8);
	struct alert_life later = {
		.last = { .enclosure = "Tub 7", .has_place = true, .place = WARM_SIDE,
			  .has_quantity = true, .quantity = TEMPERATURE, .has_condition = true,
			  .condition = ABOVE_LIMITS },
		.raised = EIGHT + 600,
	};

	f->lines[0].need = NEED_OUT;
	says(morning, "None of the eight needs you.",
	     "One is out of its band, within what is tolerated: Tub 1.");
	f->lines[1].need = f->lines[2].need = NEED_STRAYED;
	f->lines[2].endangered = true; /* days ago */
	f->lines[3].need = NEED_ASIDE;
	f->lines[3].shelved = true;
	f->lines[3].brief = (char[]){ "dangerously hot" };
	says(morning, "None of the eight needs you.",
	     "In danger earlier in this time: Tub 3. Shelved, not counted: Tub 4 dangerously hot. "
	     "One is out of its band, within what is tolerated: Tub 1. One was out of its band "
	     "for a while: Tub 2.");
	/* A long window, which ended a while ago: something has happened since. */
	morning->base.window.from -= 86400;
	morning->base.until = EIGHT;
	morning->made = EIGHT + 3600;
	morning->alerts.standing = (struct alert_lives){ &later, 1 };
	for (size_t i = 1; i < 4; i++)
		f->lines[i] = f->lines[7];
	says(morning, "None of the eight needed you at the end.",
	     "An alert raised since then stands: Tub 7, warm side temperature above its limits, "
	     "raised 08:10. One was out of its band at the end, within what is tolerated: Tub 1.");
}

static void an_alert_nobody_was_told_of(void **state)
{
	struct fixture *f = *state;
	struct morning *morning = room_of(f, 2);
	struct delivery delivery = { .message = "m1", .webhook = "phone" };
	struct alert_life life = {
		.last = { .time = EIGHT - 60, .enclosure = "Tub 2", .has_condition = true,
			  .condition = FROZEN },
		.raised = EIGHT - 60,
	};
	char *text = morning_standing(morning, &life);

	assert_non_null(strstr(text, "; no message told of it"));
	free(text);
	memcpy(life.last.message, "m1", sizeof "m1");
	text = morning_standing(morning, &life);
	assert_non_null(strstr(text, "; its message is not delivered"));
	free(text);
	morning->alerts.deliveries = &delivery;
	morning->alerts.delivery_count = 1;
	text = morning_standing(morning, &life);
	assert_null(strchr(text, ';'));
	free(text);
}

/* Worst first: by need, then urgency, danger, then how far and long; the room behind its equals. */
static void the_order(void **state)
{
	struct fixture *f = *state;
	struct morning *morning = room_of(f, 7);
	static const size_t order[] = { 6, 4, 3, 5, 2, 0, 1 };

	for (size_t i = 0; i < 7; i++)
		f->lines[i].order = i;
	f->lines[2].need = NEED_STRAYED;
	for (size_t i = 3; i < 7; i++)
		f->lines[i].need = NEED_LOOK;
	f->lines[4].unsafe = true;
	f->lines[3].weight = 2;
	f->lines[6].weight = 1;
	f->lines[6].urgent = true;
	f->enclosures[5].is_room = true;
	f->lines[5].unsafe = true;
	morning_sort(morning);
	for (size_t i = 0; i < 7; i++)
		assert_int_equal(f->lines[i].order, order[i]);
}

static int begin(void **state)
{
	*state = must_calloc(1, sizeof(struct fixture));
	return 0;
}

static int end(void **state)
{
	free(*state);
	return 0;
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define WITH_ROOM(test) cmocka_unit_test_setup_teardown(test, begin, end)
		WITH_ROOM(all_is_well),
		WITH_ROOM(some_need_you),
		WITH_ROOM(labels_that_run_from_right_to_left),
		WITH_ROOM(out_for_a_while),
		WITH_ROOM(the_only_one),
		WITH_ROOM(the_room_is_none_of_them),
		WITH_ROOM(nobody_is_watching),
		WITH_ROOM(nothing_recorded),
		WITH_ROOM(an_alert_that_stands),
		WITH_ROOM(an_alert_nobody_was_told_of),
		WITH_ROOM(beside_the_needs),
		WITH_ROOM(the_order),
	};

	setenv("TZ", "Europe/Berlin", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
