/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The humidity of a hot spot that has only a thermometer, through the whole
 * flow: its values, when it is unknown, and what a restart and a reload keep.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "conf/air.h"
#include "conf/words.h"
#include "daemon/flow_tell.h"
#include "daemon/nowfile.h"
#include "daemon/standing.h"
#include "tests/conftext.h"

static const double noon = 1767614400; /* 2026-01-05T12:00:00Z */

enum { HOT, COOL, WARM }; /* probes */

/* The thermometer is read every minute, the others every 10 s. */
#define HEAD                                                                              \
	"bus \"slow\" { port = \"/dev/none1\"  speaks = \"lines\"  line = \"{probe},{temperature}\"" \
	"  every = \"60s\" }\n"                                                             \
	"bus \"fast\" { port = \"/dev/none2\"  speaks = \"lines\""                            \
	"  line = \"{probe},{temperature},{humidity}\"  every = \"10s\" }\n"                \
	"probe \"hot\" { bus = \"slow\" }\n"                                                 \
	"probe \"cool\" { bus = \"fast\" }\n"                                                \
	"probe \"warm\" { bus = \"fast\" }\n"
#define SPOT "hot_spot { probe = \"hot\""
#define BAND "humidity { day = \"20..40 %\"  patience = \"30min\" } }\n"
#define BANDED HEAD "enclosure \"E1\" {\n" SPOT BAND "cool_side { probe = \"cool\" }\n}\n"
#define BARE HEAD "enclosure \"E1\" {\n" SPOT "}\ncool_side { probe = \"cool\" }\n}\n"

struct rig {
	void **folder;
	struct conf *conf;
	struct flow *flow;
	double now, when[16];
	size_t cell;            /* of the computed humidity in a minute */
	double known, sum, below; /* s, % s, and s, of it that were archived */
	size_t cells;           /* in the last minute */
	char events[16][80];
	size_t count;
};

static void take_minute(void *context, size_t enclosure, const struct closed_minute *minute)
{
	struct rig *rig = context;
	const struct minute_cell *cell = &minute->cells[rig->cell];

	(void)enclosure;
	rig->cells = minute->count;
	rig->known += cell->ok * 60;
	rig->sum += cell->value * cell->ok * 60;
	rig->below += cell->low * 60;
}

static void take_event(void *context, struct alert_record *record,
		       const struct message_context *message)
{
	struct rig *rig = context;

	assert_true(rig->count < 16);
	if (record->computed) {
		char *title = message_title(record, message);
		char *text = message_text(record, message);

		assert_non_null(strstr(text, "hot spot: humidity"));
		assert_non_null(strstr(text, ", computed from the air of the cool side"));
		snprintf(rig->events[rig->count], sizeof *rig->events, "%s", title);
		free(title);
		free(text);
	} else {
		snprintf(rig->events[rig->count], sizeof *rig->events, "%s %s %s %s",
			 event_word(record->event),
			 record->has_place ? place_word(record->place) : "-",
			 condition_word(record->condition), priority_word(record->priority));
	}
	rig->when[rig->count++] = record->time;
}

static void begin(struct rig *rig)
{
	const struct flow_sink sink = { .context = rig, .minute = take_minute, .event = take_event };

	rig->flow = flow_new(rig->conf, &sink, rig->now);
}

static struct rig *rig_new(void **state, const char *text)
{
	struct rig *rig = must_calloc(1, sizeof *rig);

	rig->folder = state;
	rig->conf = load_good(state, text);
	rig->now = noon;
	rig->cell = 1;
	begin(rig);
	return rig;
}

static void rig_free(struct rig *rig)
{
	flow_free(rig->flow);
	conf_free(rig->conf);
	free(rig);
}

static void reload(struct rig *rig, const char *text)
{
	struct conf *conf = load_good(rig->folder, text), *old = rig->conf;

	flow_reload(rig->flow, conf);
	rig->conf = conf;
	conf_free(old);
}

static void read_probe(struct rig *rig, size_t probe, double celsius, double humidity)
{
	const struct reading reading = { .probe = probe, .time = rig->now,
					 .has = { true, probe != HOT },
					 .value = { celsius, humidity } };

	flow_reading(rig->flow, &reading);
}

/* What the air is like; a probe that is mute gives nothing. */
struct air {
	double hot, cool, humidity;
	bool mute[3];
};

static void run(struct rig *rig, const struct air *air, int seconds)
{
	for (double end = rig->now + seconds; rig->now < end; rig->now++) {
		int second = (int)(rig->now - noon);

		if (second % 10 == 3 && !air->mute[COOL])
			read_probe(rig, COOL, air->cool, air->humidity);
		if (second % 60 == 0 && !air->mute[HOT])
			read_probe(rig, HOT, air->hot, 0);
		flow_tick(rig->flow, rig->now);
	}
}

static const struct live_series *computed(const struct rig *rig)
{
	return &rig->flow->enclosures[0].series[rig->cell];
}

/* reference: 20 °C 60 % heated to 30 °C is 60 e_s(20) / e_s(30) = 33.05 % by
 * IAPWS-95 (see tests/air.c). */
static void the_same_vapour_at_another_temperature(void **state)
{
	struct rig *rig = rig_new(state, BANDED);
	const struct air air = { 30, 20, 60, { false } };

	run(rig, &air, 60);
	assert_false(computed(rig)->judged.has_last); /* the thermometer spoke first */
	run(rig, &air, 600);
	assert_int_equal(rig->cells, 4);
	assert_near(computed(rig)->judged.last.value, 33.05, 0.01);
	assert_near(computed(rig)->judged.last.time, noon + 600, 0);
	assert_near(rig->sum / rig->known, 33.05, 0.01);
	assert_near(rig->known, 540, 1e-6);
	assert_near(rig->below, 0, 0);
	assert_string_equal(flow_state(rig->flow, computed(rig)), "in band");
	rig_free(rig);
}

/* A line of readings is a line of computed ones; both sides of the formula move. */
static void it_follows_both_probes(void **state)
{
	struct rig *rig = rig_new(state, BANDED);
	struct air air = { 30, 20, 60, { false } };

	for (int minute = 0; minute < 120; minute++) {
		air.hot = 30 + minute / 10.0;
		air.cool = 20 + minute / 60.0;
		air.humidity = 60 - minute / 6.0;
		run(rig, &air, 60);
		if (minute > 0)
			assert_near(computed(rig)->judged.last.value,
				    air_humidity_elsewhere(air.cool - 1 / 60.0,
							   air.humidity + 1 / 6.0, air.hot), 1e-9);
	}
	rig_free(rig);
}

static void what_is_more_than_saturated_settles(void **state)
{
	struct rig *rig = rig_new(state, BANDED);
	const struct air air = { 12, 24, 90, { false } };
	const struct passed hot = { .count = 1, .samples = { { noon + 170, 101 } } };

	run(rig, &air, 180);
	assert_near(computed(rig)->judged.last.value, 100, 0);
	assert_int_equal(flow_compute(rig->flow, computed(rig), &hot).count, 0); /* no air */
	rig_free(rig);
}

/* It is told like a measured one, and says that it is none. */
static void it_is_judged(void **state)
{
	struct rig *rig = rig_new(state, BANDED);
	struct air air = { 30, 20, 60, { false } };

	run(rig, &air, 600);
	air.hot = 39.9;
	run(rig, &air, 3600);
	assert_int_equal(rig->count, 1);
	assert_string_equal(rig->events[0], "E1 hot spot too dry, 19 % (computed)");
	assert_true(rig->below > 3400);
	air.hot = 30;
	run(rig, &air, 900);
	assert_int_equal(rig->count, 2);
	assert_non_null(strstr(rig->events[1], "E1 hot spot back in its band after "));
	rig_free(rig);
}

/* The source falls silent: its own place is told so, the hot spot is unknown, neither
 * good nor bad, and its thermometer goes on. */
static void a_silent_source(void **state)
{
	struct rig *rig = rig_new(state, BANDED);
	struct air air = { 39.5, 20, 60, { false } };

	run(rig, &air, 1200);
	double known = rig->known;

	air.mute[COOL] = true;
	run(rig, &air, 7200);
	/* A minute at most is begun that the last of its readings still reach. */
	assert_in_range((unsigned long)(rig->known - known), 0, 120);
	assert_int_equal(rig->count, 1);
	assert_string_equal(rig->events[0], "raised cool_side silent upkeep");
	assert_string_equal(flow_state(rig->flow, computed(rig)), "silent");
	assert_null(flow_state(rig->flow, &rig->flow->enclosures[0].series[0])); /* no band */
	known = rig->known;
	air.mute[COOL] = false;
	run(rig, &air, 1800);
	assert_string_equal(rig->events[1], "cleared cool_side silent upkeep");
	assert_near(rig->known - known, 1740, 61);
	rig_free(rig);
}

static void a_silent_thermometer(void **state)
{
	struct rig *rig = rig_new(state, BANDED);
	struct air air = { 30, 20, 60, { false } };

	run(rig, &air, 600);
	air.mute[HOT] = true;
	run(rig, &air, 1200);
	assert_int_equal(rig->count, 1);
	assert_string_equal(rig->events[0], "raised hot_spot silent upkeep");
	air.mute[COOL] = true;
	run(rig, &air, 900);
	assert_int_equal(rig->count, 3);
	assert_string_equal(rig->events[1], "worsened hot_spot silent now");
	assert_string_equal(rig->events[2], "raised cool_side silent now");
	rig_free(rig);
}

/* A source slower than the thermometer is held for three times its interval. */
static void a_slow_source(void **state)
{
	static const char text[] =
		"bus \"slow\" { port = \"/dev/none1\"  speaks = \"lines\""
		"  line = \"{probe},{temperature},{humidity}\"  every = \"5min\" }\n"
		"bus \"fast\" { port = \"/dev/none2\"  speaks = \"lines\""
		"  line = \"{probe},{temperature}\"  every = \"10s\" }\n"
		"probe \"hot\" { bus = \"fast\" }\nprobe \"cool\" { bus = \"slow\" }\n"
		"enclosure \"E1\" {\n" SPOT BAND "cool_side { probe = \"cool\" }\n}\n";
	struct rig *rig = rig_new(state, text);

	for (; rig->now <= noon + 1800; rig->now += 10) {
		if (rig->now == noon)
			read_probe(rig, COOL, 20, 60);
		read_probe(rig, HOT, 30, 0);
		flow_tick(rig->flow, rig->now);
	}
	assert_near(computed(rig)->judged.last.time, noon + 900, 0);
	assert_near(rig->known, 900, 1e-6);
	rig_free(rig);
}

/* While it is open whether a jump of the source is one, nothing is computed from a
 * temperature of before and a humidity of after. */
static void a_jump_of_the_source(void **state)
{
	struct rig *rig = rig_new(state, BANDED);
	const struct air air = { 30, 20, 60, { false } };

	run(rig, &air, 600); /* ends before the thermometer's turn */
	read_probe(rig, COOL, 34, 27);
	read_probe(rig, HOT, 30, 0);
	assert_near(computed(rig)->judged.last.time, noon + 540, 0);
	rig->now += 10;
	read_probe(rig, COOL, 34, 27);
	rig->now += 10;
	read_probe(rig, HOT, 30, 0);
	assert_near(computed(rig)->judged.last.value, air_humidity_elsewhere(34, 27, 30), 1e-9);
	rig_free(rig);
}

/* Of a source that answers badly, and wild things, no alert is made at once. */
static void a_doubted_source(void **state)
{
	struct rig *rig = rig_new(state, HEAD "enclosure \"E1\" {\n" SPOT
				  "humidity { day = \"20..40 %\"  patience = \"0s\" } }\n"
				  "cool_side { probe = \"cool\" }\n}\n");
	struct air air = { 30, 20, 60, { false } };
	struct live_probe *source = &rig->flow->probes[COOL];

	run(rig, &air, 600);
	source->coverage[HUMIDITY].share = 0.3;
	source->gates[HUMIDITY].doubt = 2 * DOUBTFUL;
	run(rig, &air, 60);
	air.hot = 39.9;
	run(rig, &air, 240);
	assert_int_equal(rig->count, 1);
	assert_string_equal(rig->events[0], "raised cool_side silent upkeep");
	run(rig, &air, 120);
	assert_int_equal(rig->count, 2);
	assert_string_equal(rig->events[1], "E1 hot spot too dry, 19 % (computed)");
	rig_free(rig);
}

/* Without a band it is shown and nothing else. */
static void shown_where_it_is_not_wanted(void **state)
{
	struct rig *rig = rig_new(state, BARE);
	const struct air air = { 30, 20, 60, { false } };
	const struct now_extra extra = { 0 };

	run(rig, &air, 600);
	assert_int_equal(rig->cells, 3);
	assert_int_equal(rig->count, 0);

	char *text = now_text(rig->flow, &extra);
	json_t *now = json_loads(text, 0, NULL);
	json_t *places = json_object_get(
		json_array_get(json_object_get(now, "enclosures"), 0), "places");
	json_t *last = json_array_get(places, 3);

	assert_int_equal(json_array_size(places), 4);
	assert_true(json_is_true(json_object_get(last, "computed")));
	assert_string_equal(json_string_value(json_object_get(last, "place")), "hot_spot");
	assert_string_equal(json_string_value(json_object_get(last, "quantity")), "humidity");
	assert_near(json_number_value(json_object_get(last, "value")), 33.05, 0.01);
	assert_null(json_object_get(json_array_get(places, 2), "computed"));
	json_decref(now);
	free(text);
	rig_free(rig);
}

static void a_restart_keeps_its_alert(void **state)
{
	struct rig *rig = rig_new(state, BANDED);
	const struct air air = { 39.5, 20, 60, { false } };

	run(rig, &air, 20 * 60);
	json_t *kept = standing_json(rig->flow);

	flow_free(rig->flow);
	begin(rig);
	assert_true(standing_restore(rig->flow, kept));
	json_decref(kept);
	run(rig, &air, 20 * 60);
	assert_int_equal(rig->count, 1);
	/* Its patience went on: the first value came a minute after noon. */
	assert_near(rig->when[0], noon + 60 + 30 * 60, 61);
	rig_free(rig);
}

static void a_band_comes_and_goes_by_a_reload(void **state)
{
	struct rig *rig = rig_new(state, BARE);
	const struct air air = { 39.5, 20, 60, { false } };

	run(rig, &air, 600);
	reload(rig, BANDED);
	assert_near(computed(rig)->judged.last.value, 19.5, 0.5); /* known at once */
	rig->known = rig->sum = 0;
	run(rig, &air, 3600);
	assert_int_equal(rig->cells, 4);
	assert_near(rig->sum / rig->known, air_humidity_elsewhere(20, 60, 39.5), 1e-6);
	assert_int_equal(rig->count, 1);
	reload(rig, BARE);
	assert_true(rig->flow->enclosures[0].series[3].judged.has_last);
	assert_int_equal(rig->count, 2); /* logged as over, be it heard again or not */
	run(rig, &air, 600);
	assert_int_equal(rig->cells, 3);
	rig_free(rig);
}

static void another_source_by_a_reload(void **state)
{
	struct rig *rig = rig_new(state, BANDED);
	const struct air air = { 30, 20, 60, { false } };

	run(rig, &air, 600);
	reload(rig, HEAD "enclosure \"E1\" {\n" SPOT BAND "warm_side { probe = \"warm\" }\n}\n");
	run(rig, &air, 600); /* the cool side's probe sits nowhere now */
	assert_near(computed(rig)->judged.last.time, noon + 540, 0);
	read_probe(rig, WARM, 25, 50);
	read_probe(rig, HOT, 30, 0);
	assert_near(computed(rig)->judged.last.value, air_humidity_elsewhere(25, 50, 30), 1e-9);
	rig_free(rig);
}

static void a_clock_put_right(void **state)
{
	struct rig *rig = rig_new(state, BARE);
	const struct air air = { 30, 20, 60, { false } };

	rig->cell = 3;
	run(rig, &air, 600);
	flow_shift(rig->flow, 86400);
	rig->now += 86400;
	assert_null(flow_state(rig->flow, computed(rig))); /* nor is it silent */
	run(rig, &air, 600);
	assert_near(computed(rig)->judged.last.time, rig->now - 60, 0);
	assert_null(flow_state(rig->flow, computed(rig)));
	rig_free(rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_same_vapour_at_another_temperature),
		cmocka_unit_test(it_follows_both_probes),
		cmocka_unit_test(what_is_more_than_saturated_settles),
		cmocka_unit_test(it_is_judged),
		cmocka_unit_test(a_silent_source),
		cmocka_unit_test(a_silent_thermometer),
		cmocka_unit_test(a_slow_source),
		cmocka_unit_test(a_jump_of_the_source),
		cmocka_unit_test(a_doubted_source),
		cmocka_unit_test(shown_where_it_is_not_wanted),
		cmocka_unit_test(a_restart_keeps_its_alert),
		cmocka_unit_test(a_band_comes_and_goes_by_a_reload),
		cmocka_unit_test(another_source_by_a_reload),
		cmocka_unit_test(a_clock_put_right),
	};

	setenv("TZ", "UTC", 1);
	return cmocka_run_group_tests(tests, folder_new, folder_gone);
}
