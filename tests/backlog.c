/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The queues of minutes: what goes out, what comes back, what is dropped.
 */
#include "tests/cm.h"

#include "daemon/backlog.h"
#include "tests/small_conf.h"

enum { ROOM = 100000, RECORD = sizeof(struct minute_head) + 3 * sizeof(struct minute_cell) };

static struct conf *conf;
static struct backlog *b;
static unsigned char bytes[ROOM];
static uint32_t sections;

static int set_up(void **state)
{
	(void)state;
	conf = small_conf(NULL, 3, 10);
	b = backlog_new(conf, 20 * RECORD);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	backlog_free(b);
	small_conf_free(conf);
	return 0;
}

static void add(size_t enclosure, int64_t end)
{
	struct closed_minute minute = { .end = end, .count = 3 };

	minute.cells[2].value = (double)end;
	backlog_add(b, enclosure, &minute);
}

/* The section number `number` of the batch in bytes: its name, and the ends
 * of its minutes as the caller expects them. */
static void expect_section(size_t used, uint32_t number, const char *name, const int64_t *ends,
			   size_t count)
{
	struct section_head head;
	struct minute_head minute;
	size_t at = 0;

	for (uint32_t i = 0;; i++, at += sizeof head + head.size) {
		assert_true(at + sizeof head <= used);
		memcpy(&head, bytes + at, sizeof head);
		if (i == number)
			break;
	}
	assert_string_equal(head.name, name);
	assert_int_equal(head.minutes, count);
	at += sizeof head;
	for (size_t i = 0; i < count; i++) {
		memcpy(&minute, bytes + at, sizeof minute);
		assert_int_equal(minute.end, ends[i]);
		at += sizeof minute + minute.count * sizeof(struct minute_cell);
	}
}

#define expect(used, number, name, ...)                                      \
	expect_section(used, number, name, (const int64_t[]){ __VA_ARGS__ }, \
		       sizeof((const int64_t[]){ __VA_ARGS__ }) / sizeof(int64_t))

static size_t fill(double now)
{
	return backlog_fill(b, now, BACKLOG_ALL, bytes, sizeof bytes, &sections);
}

static void minutes_go_out_by_enclosure_and_in_order(void **state)
{
	(void)state;
	add(1, 60);
	add(0, 60);
	add(1, 120);
	assert_int_equal(backlog_bytes(b), 3 * RECORD);
	assert_int_equal(backlog_ready(b, 0, BACKLOG_ALL), 3 * RECORD);
	size_t used = fill(0);

	assert_int_equal(sections, 2);
	expect(used, 0, "E1", 60);
	expect(used, 1, "E2", 60, 120);
	backlog_settle(b);
	assert_int_equal(backlog_bytes(b), 0);
	assert_int_equal(fill(0), 0);
	assert_int_equal(sections, 0);
}

static void what_comes_while_a_batch_is_out_waits(void **state)
{
	(void)state;
	add(0, 60);
	fill(0);
	add(0, 120);
	backlog_settle(b);
	size_t used = fill(0);

	assert_int_equal(sections, 1);
	expect(used, 0, "E1", 120);
}

static void a_lost_batch_goes_out_again(void **state)
{
	(void)state;
	add(0, 60);
	fill(0);
	add(0, 120);
	assert_true(backlog_handed(b, "E1"));
	backlog_recall(b);
	assert_false(backlog_handed(b, "E1"));
	expect(fill(0), 0, "E1", 60, 120);
}

static void a_failed_section_is_held_and_others_go_on(void **state)
{
	(void)state;
	add(0, 60);
	add(1, 60);
	fill(10);
	backlog_hold(b, 0, 15);
	backlog_settle(b);
	assert_true(backlog_holding(b));
	assert_int_equal(backlog_bytes(b), RECORD);
	assert_int_equal(backlog_ready(b, 14.9, BACKLOG_ALL), 0);
	assert_near(backlog_held_until(b, 14.9), 15, 0);
	add(0, 120);
	add(1, 120);
	size_t used = fill(14.9);

	assert_int_equal(sections, 1);
	expect(used, 0, "E2", 120);
	backlog_settle(b);
	assert_true(backlog_holding(b));
	/* By itself, while the others gather. */
	add(1, 180);
	assert_int_equal(backlog_ready(b, 14.9, BACKLOG_HELD), 0);
	assert_int_equal(backlog_ready(b, 15, BACKLOG_HELD), 2 * RECORD);
	used = backlog_fill(b, 15, BACKLOG_HELD, bytes, sizeof bytes, &sections);
	assert_int_equal(sections, 1);
	expect(used, 0, "E1", 60, 120);
	backlog_recall(b);
	used = fill(15);
	assert_int_equal(sections, 2);
	expect(used, 0, "E1", 60, 120);
	backlog_settle(b);
	assert_false(backlog_holding(b));
	assert_true(backlog_held_until(b, 16) == INFINITY);
}

/* A queue that alone fills every batch must not starve the others. */
static void each_queue_gets_its_turn(void **state)
{
	(void)state;
	size_t most = sizeof(struct section_head) + 2 * RECORD;

	for (int64_t i = 1; i <= 6; i++)
		add(0, 60 * i);
	add(1, 60);
	add(2, 60);
	size_t used = backlog_fill(b, 0, BACKLOG_ALL, bytes, most, &sections);

	assert_int_equal(sections, 1);
	expect(used, 0, "E1", 60, 120);
	backlog_settle(b);
	used = backlog_fill(b, 0, BACKLOG_ALL, bytes, most, &sections);
	expect(used, 0, "E2", 60);
	backlog_settle(b);
	used = backlog_fill(b, 0, BACKLOG_ALL, bytes, most, &sections);
	expect(used, 0, "E3", 60);
	backlog_settle(b);
	used = backlog_fill(b, 0, BACKLOG_ALL, bytes, most, &sections);
	expect(used, 0, "E1", 180, 240);
}

static void the_oldest_minute_is_dropped_when_full(void **state)
{
	(void)state;
	for (int64_t i = 1; i <= 10; i++) {
		add(0, 60 * i);
		add(1, 60 * i + 30);
	}
	assert_int_equal(backlog_dropped(b), 0);
	add(1, 5000);
	add(1, 5060);
	add(1, 5120);
	assert_int_equal(backlog_dropped(b), 3);
	assert_int_equal(backlog_bytes(b), 20 * RECORD);
	size_t used = fill(0);

	expect(used, 0, "E1", 180, 240, 300, 360, 420, 480, 540, 600);
	expect(used, 1, "E2", 150, 210, 270, 330, 390, 450, 510, 570, 630, 5000, 5060, 5120);
}

/* What is with the archivist may come back, so it is not dropped. */
static void what_is_out_is_not_dropped(void **state)
{
	(void)state;
	for (int64_t i = 1; i <= 15; i++)
		add(0, 60 * i);
	fill(0);
	for (int64_t i = 16; i <= 22; i++)
		add(0, 60 * i);
	assert_int_equal(backlog_dropped(b), 2);
	backlog_settle(b);
	expect(fill(0), 0, "E1", 1080, 1140, 1200, 1260, 1320);
}

static void a_reload_keeps_queues_by_name(void **state)
{
	(void)state;
	struct enclosure first = conf->enclosures[0];

	add(0, 60);
	add(1, 120);
	fill(0);
	add(2, 180);
	/* E1 is gone, E2 has lost its cool side, E3 is first. */
	conf->enclosures[0] = conf->enclosures[2];
	conf->enclosures[1].places[COOL_SIDE].watched = false;
	conf->enclosure_count = 2;
	backlog_reload(b, conf);
	assert_int_equal(backlog_index(b, "E3", 99), 0);
	assert_int_equal(backlog_index(b, "E1", 99), 99);
	struct closed_minute minute = { .end = 240, .count = 1 };

	backlog_add(b, 1, &minute);
	backlog_hold(b, 0, 5);
	backlog_settle(b);
	size_t used = fill(5);

	assert_int_equal(sections, 3);
	expect(used, 0, "E3", 180);
	expect(used, 1, "E2", 240);
	expect(used, 2, "E1", 60);
	backlog_settle(b);
	assert_int_equal(backlog_bytes(b), 0);
	conf->enclosures[2] = conf->enclosures[0];
	conf->enclosures[0] = first;
	conf->enclosure_count = 3;
}

static void a_record_says_its_series(void **state)
{
	(void)state;
	struct minute_head head;
	struct series series[MAX_SERIES];

	add(0, 60);
	fill(0);
	memcpy(&head, bytes + sizeof(struct section_head), sizeof head);
	assert_int_equal(head.count, 3);
	assert_int_equal(series_in(head.series, series), 3);
	assert_int_equal(series[0].place, WARM_SIDE);
	assert_int_equal(series[1].place, COOL_SIDE);
	assert_int_equal(series[1].quantity, TEMPERATURE);
	assert_int_equal(series[2].quantity, HUMIDITY);
}

#define each(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		each(minutes_go_out_by_enclosure_and_in_order),
		each(what_comes_while_a_batch_is_out_waits),
		each(a_lost_batch_goes_out_again),
		each(a_failed_section_is_held_and_others_go_on),
		each(each_queue_gets_its_turn),
		each(the_oldest_minute_is_dropped_when_full),
		each(what_is_out_is_not_dropped),
		each(a_reload_keeps_queues_by_name),
		each(a_record_says_its_series),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
