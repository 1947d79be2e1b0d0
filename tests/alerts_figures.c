/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The figures about a window of the alert log, each with its exact value and
 * its boundary.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "report/alerts_figures.h"
#include "report/alerts_text.h"

/* A log under way: lines are printed into memory. */
struct log {
	char *text;
	size_t size;
	FILE *out;
};

static void log_begin(struct log *log)
{
	*log = (struct log){ 0 };
	log->out = open_memstream(&log->text, &log->size);
	assert_non_null(log->out);
}

/* more: further members, with a comma before each. */
static void line(struct log *log, double time, const char *event, const char *id, const char *more)
{
	fprintf(log->out, "{\"time\":%.3f,\"id\":\"%s\",\"event\":\"%s\"%s}\n", time, id, event, more);
}

static void log_read(struct log *log, struct window window, double now, struct alerts *alerts,
		     struct alert_figures *figures)
{
	fclose(log->out);

	FILE *in = fmemopen(log->text, log->size, "r");

	assert_non_null(in);
	alerts_read(in, window, alerts);
	fclose(in);
	free(log->text);
	assert_int_equal(alerts->torn, 0);
	figures_of(alerts, now, figures);
}

#define T3_DRY                                                                       \
	",\"enclosure\":\"T3\",\"place\":\"cool_side\",\"quantity\":\"humidity\","  \
	"\"condition\":\"below_band\",\"priority\":\"today\""
#define T3_PARCHED                                                                   \
	",\"enclosure\":\"T3\",\"place\":\"cool_side\",\"quantity\":\"humidity\","  \
	"\"condition\":\"below_limits\",\"priority\":\"today\""
#define T1_HOT                                                                       \
	",\"enclosure\":\"T1\",\"place\":\"warm_side\",\"quantity\":\"temperature\"," \
	"\"condition\":\"above_limits\",\"priority\":\"now\""
#define T2_SILENT                                                                    \
	",\"enclosure\":\"T2\",\"place\":\"hot_spot\",\"condition\":\"silent\","     \
	"\"priority\":\"upkeep\""
#define TOLD(id) ",\"message\":\"" id "\""

enum { D = 86400 };

/* Row by row what a keeper's two days may have been; the window is the second. */
static void golden_log(struct log *log)
{
	log_begin(log);
	line(log, 1000, "raised", "before", T2_SILENT TOLD("m0"));
	line(log, 2000, "cleared", "before", T2_SILENT TOLD("m0b")); /* over before the window */
	line(log, D - 3600, "raised", "a", T3_DRY TOLD("m1"));
	line(log, D - 3590, "delivered", "a", TOLD("m1") ",\"webhook\":\"phone\"");
	line(log, D + 600, "acknowledged", "a", T3_DRY ",\"by\":\"anna\",\"note\":\"misted\"");
	line(log, D + 1000, "raised", "b", T1_HOT TOLD("m2"));
	line(log, D + 1001, "raised", "c", T2_SILENT TOLD("m2"));
	line(log, D + 1030, "delivered", "b", TOLD("m2") ",\"webhook\":\"phone\"");
	line(log, D + 1090, "delivered", "b", TOLD("m2") ",\"webhook\":\"mail\"");
	line(log, D + 1120, "acknowledged", "b", T1_HOT ",\"by\":\"ben\"");
	line(log, D + 1500, "test", "t1", TOLD("m3"));
	line(log, D + 1501, "delivered", "t1", TOLD("m3") ",\"webhook\":\"phone\"");
	line(log, D + 2000, "worsened", "a", T3_PARCHED TOLD("m4")); /* no more acknowledged */
	line(log, D + 2400, "acknowledged", "a", T3_PARCHED);
	line(log, D + 3000, "cleared", "b", T1_HOT TOLD("m5"));
	line(log, D + 4000, "cleared", "a", T3_PARCHED TOLD("m6"));
	line(log, D + 5000, "shelved", "", ",\"enclosure\":\"T3\",\"until\":100000,\"by\":\"anna\"");
	line(log, D + 6000, "raised", "d", T1_HOT); /* told to nobody */
	line(log, D + 7000, "raised", "e", T1_HOT TOLD("m7"));
	line(log, D + 8000, "reminded", "c", T2_SILENT TOLD("m8"));
	line(log, D + 9000, "reminded", "ghost", T2_SILENT TOLD("m9")); /* never raised */
	line(log, D + 9001, "test", "ghost2", "");
	line(log, D + 9002, "unshelved", "", ",\"enclosure\":\"T9\"");
	line(log, 2 * D, "raised", "f", T3_DRY TOLD("m10")); /* behind the window */
	line(log, 2 * D + 5, "delivered", "e", TOLD("m7") ",\"webhook\":\"phone\"");
}

static void golden_log_exact_values(void **state)
{
	(void)state;
	const double now = 2 * D + 40000;
	struct log log;
	struct alerts alerts;
	struct alert_figures f;

	golden_log(&log);
	log_read(&log, (struct window){ D, 2 * D }, now, &alerts, &f);
	assert_int_equal(f.events[RAISED], 4);
	assert_int_equal(f.events[WORSENED], 1);
	assert_int_equal(f.events[REMINDED], 2);
	assert_int_equal(f.events[CLEARED], 2);
	assert_int_equal(f.events[ACKNOWLEDGED], 3);
	assert_int_equal(f.events[TESTED], 2);
	assert_int_equal(f.untold, 1);
	assert_int_equal(f.priorities[NOW], 3);
	assert_int_equal(f.priorities[TODAY], 0);
	assert_int_equal(f.priorities[UPKEEP], 1);

	/* a, b, c, d and e stood in the window; f began behind it */
	assert_int_equal(alerts.lives.count, 5);
	assert_string_equal(f.longest->last.id, "c");
	assert_near(alert_stood(f.longest, now), now - (D + 1001), 0);
	assert_int_equal(f.stale, 3); /* c, d, e */

	/* 4200 (a), 120 (b), 400 (a again, from worsened) */
	assert_int_equal(f.waits, 3);
	assert_near(f.median_wait, 400, 0);
	assert_near(f.longest_wait, 4200, 0);

	assert_int_equal(f.frequent_count, 2);
	assert_int_equal(f.frequent[0].count, 3);
	assert_string_equal(f.frequent[0].what->enclosure, "T1");
	assert_int_equal(f.frequent[1].count, 1);
	assert_string_equal(f.frequent[1].what->enclosure, "T2");

	assert_int_equal(f.burst, 2);
	assert_near(f.burst_from, D + 1000, 0);
	assert_int_equal(f.burst_messages, 1);

	/* now, by time: d, e; today: f; upkeep: c.  No ghost. */
	assert_int_equal(alerts.standing.count, 4);
	assert_string_equal(alerts.standing.list[0].last.id, "d");
	assert_string_equal(alerts.standing.list[1].last.id, "e");
	assert_string_equal(alerts.standing.list[2].last.id, "f");
	assert_string_equal(alerts.standing.list[3].last.id, "c");
	assert_int_equal(alerts.shelved.count, 1);
	assert_near(alerts.shelved.list[0].until, 100000, 0);
	alerts_clear(&alerts);
}

/* A message may tell several, and several webhooks may take it; when it was
 * before or behind the window does not matter to whom it told. */
static void who_took_a_message_and_when(void **state)
{
	(void)state;
	struct log log;
	struct alerts alerts;
	struct alert_figures f;
	const struct delivery *found;
	size_t count;

	golden_log(&log);
	log_read(&log, (struct window){ D, 2 * D }, 3 * D, &alerts, &f);
	found = alerts_deliveries(&alerts, "m2", &count);
	assert_int_equal(count, 2);
	assert_string_equal(found[0].webhook, "phone");
	assert_near(found[0].time, D + 1030, 0);
	assert_string_equal(found[1].webhook, "mail");
	found = alerts_deliveries(&alerts, "m7", &count);
	assert_int_equal(count, 1);
	assert_near(found[0].time, 2 * D + 5, 0);
	assert_true(found[0].known);
	alerts_clear(&alerts);
	/* Told before the window, taken in it. */
	golden_log(&log);
	log_read(&log, (struct window){ D - 3595, D }, 3 * D, &alerts, &f);
	found = alerts_deliveries(&alerts, "m1", &count);
	assert_int_equal(count, 1);
	assert_false(found[0].known);
	assert_null(alerts_deliveries(&alerts, "m5", &count));
	assert_null(alerts_deliveries(&alerts, "", &count));
	assert_int_equal(count, 0);
	alerts_clear(&alerts);
}

static void acknowledged_by_whom(void **state)
{
	(void)state;
	struct log log;
	struct alerts alerts;
	struct alert_figures f;
	char *author;

	log_begin(&log);
	line(&log, 100, "raised", "a", T3_DRY);
	line(&log, 110, "acknowledged", "a", T3_DRY ",\"by\":\"anna\",\"note\":\"misted\"");
	line(&log, 120, "acknowledged", "a", T3_DRY ",\"by\":\"ben\""); /* it was already */
	line(&log, 130, "raised", "b", T1_HOT);
	line(&log, 140, "acknowledged", "b", T1_HOT);
	line(&log, 150, "reminded", "b", T1_HOT);
	line(&log, 160, "acknowledged", "nobody", T1_HOT);
	log_read(&log, (struct window){ 0, 1000 }, 1000, &alerts, &f);
	assert_int_equal(alerts.standing.count, 2);
	assert_false(alerts.standing.list[0].acknowledged); /* b: it was told again */
	assert_true(alerts.standing.list[1].acknowledged);
	author = alert_author(&alerts.standing.list[1].ack);
	assert_string_equal(author, "anna: misted");
	free(author);
	assert_int_equal(f.waits, 2);
	assert_near(f.median_wait, 10, 0);
	assert_near(f.longest_wait, 10, 0);
	alerts_clear(&alerts);
}

/* ---- boundaries ---------------------------------------------------------------- */

/* count alerts, evenly over so many seconds. */
static size_t burst_of(size_t count, double span, struct window window)
{
	struct log log;
	struct alerts alerts;
	struct alert_figures f;

	log_begin(&log);
	line(&log, 10000 - 4000, "raised", "early", T2_SILENT);
	for (size_t i = 0; i < count; i++) {
		char id[20];

		snprintf(id, sizeof id, "i%zu", i);
		line(&log, 10000 + span * (double)i / (double)(count - 1), "raised", id, T1_HOT);
		line(&log, 10000 + span * (double)i / (double)(count - 1), "test", "t", "");
	}
	log_read(&log, window, 1e6, &alerts, &f);
	alerts_clear(&alerts);
	return f.burst;
}

static void a_flood_is_more_than_ten_in_ten_minutes(void **state)
{
	(void)state;
	const struct window all = { 0, 1e6 };

	assert_int_equal(burst_of(10, 600, all), FLOOD_RAISES);     /* no flood */
	assert_int_equal(burst_of(11, 600, all), FLOOD_RAISES + 1); /* one */
	assert_int_equal(burst_of(11, 600.01, all), FLOOD_RAISES);  /* too slow for one */
	assert_int_equal(burst_of(30, 1e-3, all), 30);
	/* Across the window's edge: those before it do not count. */
	assert_int_equal(burst_of(11, 600, (struct window){ 10001, 1e6 }), 10);
	assert_int_equal(burst_of(11, 600, (struct window){ 0, 10600 }), 10);
	assert_int_equal(burst_of(11, 600, (struct window){ 10000, 10600.001 }), 11);
}

static void assert_stale(double raised, double cleared, struct window window, double now,
			 size_t wanted)
{
	struct log log;
	struct alerts alerts;
	struct alert_figures f;

	log_begin(&log);
	line(&log, raised, "raised", "a", T3_DRY);
	if (cleared > 0)
		line(&log, cleared, "cleared", "a", T3_DRY);
	log_read(&log, window, now, &alerts, &f);
	assert_int_equal(f.stale, wanted);
	alerts_clear(&alerts);
}

static void stale_is_more_than_a_day(void **state)
{
	(void)state;
	const struct window all = { 0, 1e7 };
	const double from = 1000000;

	/* Still standing: to now. */
	assert_stale(from, 0, all, from + D + 1, 1);
	assert_stale(from, 0, all, from + D, 0);
	assert_stale(from, 0, all, from + D - 60, 0);
	/* Over: to its end, however long ago that is. */
	assert_stale(from, from + D + 1, all, 9e6, 1);
	assert_stale(from, from + D - 60, all, 9e6, 0);
	/* Across an edge of the window it counts in full; outside not at all. */
	assert_stale(from, from + D + 1, (struct window){ from + D, 9e6 }, 9e6, 1);
	assert_stale(from, from + D + 1, (struct window){ 0, from + 1 }, 9e6, 1);
	assert_stale(from, 0, (struct window){ from + 2 * D, from + 3 * D }, from + 3 * D, 1);
	assert_stale(from, from + D + 1, (struct window){ from + D + 1, 9e6 }, 9e6, 0);
	assert_stale(from, from + D + 1, (struct window){ 0, from }, 9e6, 0);
}

static void median_of_an_even_number(void **state)
{
	(void)state;
	struct log log;
	struct alerts alerts;
	struct alert_figures f;
	static const double waits[] = { 40, 10, 30, 25 };

	log_begin(&log);
	for (size_t i = 0; i < 4; i++) {
		char id[20];

		snprintf(id, sizeof id, "i%zu", i);
		line(&log, 1000 * (double)i, "raised", id, T1_HOT);
		line(&log, 1000 * (double)i + waits[i], "acknowledged", id, T1_HOT);
	}
	log_read(&log, (struct window){ 0, 1e6 }, 1e6, &alerts, &f);
	assert_near(f.median_wait, 27.5, 0);
	assert_near(f.longest_wait, 40, 0);
	alerts_clear(&alerts);
}

static void the_five_most_frequent(void **state)
{
	(void)state;
	struct log log;
	struct alerts alerts;
	struct alert_figures f;
	/* E0 once, E1 twice, ... E6 seven times; E7 seven times too, but later. */
	static const size_t times[] = { 1, 2, 3, 4, 5, 6, 7, 7 };
	static const char *const wanted[] = { "E6", "E7", "E5", "E4", "E3" };

	log_begin(&log);
	for (size_t e = 0; e < sizeof times / sizeof *times; e++)
		for (size_t i = 0; i < times[e]; i++) {
			char more[200], id[60];

			snprintf(id, sizeof id, "i%zu.%zu", e, i);
			snprintf(more, sizeof more, ",\"enclosure\":\"E%zu\",\"condition\":\"silent\"",
				 e);
			line(&log, 100 * (double)e + (double)i, "raised", id, more);
			line(&log, 100 * (double)e + (double)i + 0.5, "cleared", id, more);
		}
	log_read(&log, (struct window){ 0, 1e6 }, 1e6, &alerts, &f);
	assert_int_equal(f.events[RAISED], 35);
	assert_int_equal(f.frequent_count, FREQUENT_MOST);
	for (size_t i = 0; i < FREQUENT_MOST; i++)
		assert_string_equal(f.frequent[i].what->enclosure, wanted[i]);
	assert_int_equal(f.frequent[4].count, 4);

	json_t *json = figures_json(&alerts, &f, 1e6);

	assert_near(json_real_value(json_object_get(
			    json_array_get(json_object_get(json, "frequent"), 0), "share")),
		    0.2, 1e-6);
	json_decref(json);
	alerts_clear(&alerts);
}

static void an_empty_log_has_no_figures(void **state)
{
	(void)state;
	struct log log;
	struct alerts alerts;
	struct alert_figures f;

	log_begin(&log);
	fputs("{\"time\":5,\"id\":\"t\",\"event\":\"test\"}\n", log.out);
	log_read(&log, (struct window){ 0, 10 }, 10, &alerts, &f);
	assert_int_equal(f.events[RAISED] + f.frequent_count + f.burst + f.waits + f.stale, 0);
	assert_int_equal(alerts.standing.count + alerts.lives.count, 0);
	assert_null(f.longest);

	json_t *json = figures_json(&alerts, &f, 10);

	assert_true(json_is_null(json_object_get(json, "longest")));
	assert_int_equal(json_integer_value(json_object_get(json, "tests")), 1);
	json_decref(json);
	alerts_clear(&alerts);
}

static void each_condition_has_its_phrase(void **state)
{
	(void)state;
	static const struct {
		struct alert_record record;
		const char *phrase;
	} wanted[] = {
		{ { .condition = RUNAWAY, .has_place = true, .place = WARM_SIDE,
		    .has_quantity = true, .quantity = TEMPERATURE },
		  "warm side temperature heading for its limit" },
		{ { .condition = NO_GRADIENT, .has_quantity = true, .quantity = TEMPERATURE },
		  "too little difference between warm and cool side" },
		{ { .condition = FROZEN, .has_place = true, .place = HUMID_HIDE },
		  "humid hide probe frozen" },
		{ { .condition = SILENT, .has_place = true, .place = HUMID_HIDE,
		    .has_quantity = true, .quantity = HUMIDITY },
		  "humid hide humidity silent" },
		{ { .condition = DISK }, "the disk takes nothing" },
		{ { .condition = UNTESTED }, "no test alert for long" },
		{ { .condition = UNCALIBRATED }, "probes to be tested in salts" },
		{ { .condition = MISTING_DUE, .has_place = true, .place = COOL_SIDE,
		    .has_quantity = true, .quantity = HUMIDITY, .time = 1767606000,
		    .has_until = true, .until = 1767634800 },
		  "misting due: too dry about 17:40" },
		{ { .condition = MISTING_DUE, .has_place = true, .place = COOL_SIDE,
		    .has_quantity = true, .quantity = HUMIDITY, .event = CLEARED,
		    .has_until = true, .until = 1767634800 },
		  "misting due" },
		{ { .condition = DELIVERY, .webhook = "phone" },
		  "webhook \"phone\" takes no messages" },
		{ { .condition = DELIVERY }, "a webhook takes no messages" },
	};

	for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
		struct alert_record record = wanted[i].record;
		char *phrase;

		record.has_condition = true;
		phrase = alert_phrase(&record);
		assert_string_equal(phrase, wanted[i].phrase);
		free(phrase);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(golden_log_exact_values),
		cmocka_unit_test(who_took_a_message_and_when),
		cmocka_unit_test(acknowledged_by_whom),
		cmocka_unit_test(a_flood_is_more_than_ten_in_ten_minutes),
		cmocka_unit_test(stale_is_more_than_a_day),
		cmocka_unit_test(median_of_an_even_number),
		cmocka_unit_test(the_five_most_frequent),
		cmocka_unit_test(an_empty_log_has_no_figures),
		cmocka_unit_test(each_condition_has_its_phrase),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
