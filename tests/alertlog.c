/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include "conf/alertlog.h"

static void both_directions(void **state)
{
	(void)state;
	const struct alert_record r = {
		.time = 1767606000, .id = "alert-1", .message = "msg-1", .event = RAISED,
		.enclosure = "T3", .has_place = true, .place = COOL_SIDE,
		.has_quantity = true, .quantity = HUMIDITY,
		.has_condition = true, .condition = BELOW_BAND,
		.has_priority = true, .priority = TODAY,
		.has_value = true, .value = 38.2, .has_since = true, .since = 1767602400,
	};
	char *line = alert_to_line(&r);
	struct alert_record back;

	assert_non_null(strstr(line, "\"time\":1767606000,"));
	assert_non_null(strstr(line, "\"condition\":\"below_band\""));
	assert_non_null(strstr(line, "\"worst\":null"));
	assert_true(alert_from_line(line, &back));
	assert_memory_equal(&back, &r, sizeof r);
	free(line);
}

static void assert_both_ways(const struct alert_record *record)
{
	char *line = alert_to_line(record);
	struct alert_record back;

	assert_true(alert_from_line(line, &back));
	assert_memory_equal(&back, record, sizeof back);
	free(line);
}

static void set_text(char *field, const char *text)
{
	memcpy(field, text, strlen(text) + 1);
}

/* Zeroed as a whole first: records are compared byte by byte. */
static void what_only_some_events_have(void **state)
{
	(void)state;
	struct alert_record r;

	memset(&r, 0, sizeof r);
	r.time = 1767606000;
	r.event = SHELVED;
	set_text(r.enclosure, "T3");
	r.has_until = true;
	r.until = 1767606000 + 7200;
	set_text(r.by, "the keeper");
	set_text(r.note, "cleaning, \"all\" of it: Größe");
	assert_both_ways(&r);
	r.until += 0.5;
	assert_both_ways(&r);
	memset(r.by, 'b', BY_SIZE - 1);
	memset(r.note, 'n', NOTE_SIZE - 1);
	assert_both_ways(&r);

	memset(&r, 0, sizeof r);
	r.event = RAISED;
	r.has_place = r.has_quantity = r.computed = true;
	r.quantity = HUMIDITY;
	assert_both_ways(&r);

	memset(&r, 0, sizeof r);
	r.event = DELIVERED;
	set_text(r.id, "alert-1");
	set_text(r.message, "msg-1");
	memset(r.webhook, 'w', NAME_SIZE - 1);
	assert_both_ways(&r);
}

/* Neither null nor an empty text stands in a line whose event has none. */
static void what_is_not_there_is_left_out(void **state)
{
	(void)state;
	static const char *const keys[] = { "until", "webhook", "by", "note" };
	const struct alert_record r = { .time = 1, .id = "a", .event = RAISED };
	json_t *object = alert_to_json(&r);
	struct alert_record back;

	for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
		assert_null(json_object_get(object, keys[i]));
		json_object_set_new(object, keys[i], json_null());
		assert_true(alert_from_json(object, &back));
		json_object_set_new(object, keys[i], json_true());
		assert_false(alert_from_json(object, &back));
		json_object_del(object, keys[i]);
	}
	assert_true(alert_from_json(object, &back));
	assert_false(back.has_until);
	json_decref(object);
}

static void each_word_of_it(void **state)
{
	(void)state;

	for (int event = 0; event < EVENTS; event++)
		for (int condition = 0; condition < CONDITIONS; condition++)
			for (int priority = 0; priority < PRIORITIES; priority++) {
				struct alert_record r;

				memset(&r, 0, sizeof r);
				r.event = (enum event)event;
				r.has_condition = r.has_priority = true;
				r.condition = (enum condition)condition;
				r.priority = (enum priority)priority;
				assert_both_ways(&r);
			}
	assert_string_equal(condition_word(DISK), "disk");
	assert_string_equal(condition_word(UNTESTED), "untested");
	assert_string_equal(condition_word(UNCALIBRATED), "uncalibrated");
}

/* More than fits is refused, not cut: half a name may be another's. */
static void texts_that_are_too_long(void **state)
{
	(void)state;
	static const struct {
		const char *key;
		int size;
	} fields[] = { { "webhook", NAME_SIZE }, { "by", BY_SIZE }, { "note", NOTE_SIZE } };
	struct alert_record out;

	for (size_t i = 0; i < sizeof fields / sizeof *fields; i++)
		for (int more = -1; more < 1; more++) {
			json_t *object = json_pack("{s:i,s:s,s:o}", "time", 1, "event", "raised",
						   fields[i].key, json_null());
			char text[NOTE_SIZE + 1] = "";

			memset(text, 'a', (size_t)(fields[i].size + more));
			json_object_set_new(object, fields[i].key, json_string(text));
			assert_int_equal(alert_from_json(object, &out), more < 0);
			json_decref(object);
		}
}

static void torn_and_foreign_lines_are_refused(void **state)
{
	(void)state;
	struct alert_record out;
	const char *bad[] = {
		"", "{", "[]", "{}", "{\"time\":1,\"event\":\"exploded\"}",
		"{\"time\":\"x\",\"event\":\"raised\"}",
		"{\"time\":1,\"event\":\"raised\",\"place\":\"attic\"}",
		"{\"time\":1,\"event\":\"raised\",\"value\":\"wet\"}",
		"{\"time\":1767606000,\"id\":\"a\",\"event\":\"rais",
		/* Times no clock shows: too large for a date. */
		"{\"time\":1e300,\"event\":\"raised\"}", "{\"time\":-1,\"event\":\"raised\"}",
		"{\"time\":1,\"event\":\"raised\",\"since\":1.1e12}",
		"{\"time\":1,\"event\":\"shelved\",\"until\":1e18}",
	};

	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_false(alert_from_line(bad[i], &out));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(both_directions),
		cmocka_unit_test(what_only_some_events_have),
		cmocka_unit_test(what_is_not_there_is_left_out),
		cmocka_unit_test(each_word_of_it),
		cmocka_unit_test(texts_that_are_too_long),
		cmocka_unit_test(torn_and_foreign_lines_are_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
