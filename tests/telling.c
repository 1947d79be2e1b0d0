/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From events to messages: what is gathered, held, left out and kept over a
 * sudden end, with a real alert log and a real outbox.
 */
#include "tests/cm.h"

#include <dirent.h>
#include <ftw.h>
#include <stdio.h>

#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/flow_tell.h"
#include "daemon/tell.h"
#include "tests/world.h"

static const double noon = 1767614400; /* 2026-01-05T12:00:00Z */

static const char folder_template[] = "/tmp/warmside-telling-XXXXXX";

struct rig {
	struct world world;
	struct webhook webhooks[3];
	char folder[sizeof folder_template];
	struct postbox *postbox;
	struct teller teller;
};

static void open_teller(struct rig *rig)
{
	assert_true(teller_open(&rig->teller, &rig->world.conf, true));
	rig->postbox = postbox_new(&rig->world.conf, rig->teller.outbox);
	rig->teller.postbox = rig->postbox; /* never stepped: nothing leaves the outbox */
}

static void close_teller(struct rig *rig)
{
	postbox_free(rig->postbox);
	teller_close(&rig->teller);
}

static int set_up(void **state)
{
	struct rig *rig = must_calloc(1, sizeof *rig);

	world_make(&rig->world);
	memcpy(rig->folder, folder_template, sizeof rig->folder);
	assert_non_null(mkdtemp(rig->folder));
	rig->world.conf.state = rig->folder;
	rig->world.conf.gather = 30;
	for (int i = 0; i < 3; i++)
		rig->webhooks[i] = rig->world.webhook;
	rig->webhooks[1].name = (char *)"partner";
	rig->webhooks[2].name = (char *)"now only";
	rig->webhooks[2].priority = NOW;
	rig->world.conf.webhooks = rig->webhooks;
	open_teller(rig);
	*state = rig;
	return 0;
}

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *walk)
{
	(void)about;
	(void)kind;
	(void)walk;
	return remove(path);
}

static int tear_down(void **state)
{
	struct rig *rig = *state;

	close_teller(rig);
	nftw(rig->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
	free(rig);
	return 0;
}

static struct alert_record record_at(double time, const char *id, enum event event,
				     enum priority priority)
{
	struct alert_record record = {
		.time = time, .event = event, .enclosure = "T3",
		.has_place = true, .place = COOL_SIDE, .has_quantity = true,
		.quantity = priority == NOW ? TEMPERATURE : HUMIDITY, .has_condition = true,
		.condition = priority == NOW ? ABOVE_LIMITS : BELOW_BAND, .has_priority = true,
		.priority = priority, .has_value = true, .value = priority == NOW ? 37 : 38,
		.has_since = true, .since = time - 3600, .has_until = event == CLEARED,
		.until = time,
	};

	strncpy(record.id, id, sizeof record.id - 1);
	return record;
}

static struct message_context context_of_rig(struct rig *rig, enum event told,
					     enum priority gravest)
{
	return (struct message_context){
		.conf = &rig->world.conf, .enclosure = &rig->world.enclosures[0], .told = told,
		.gravest = gravest, .beyond = -1,
	};
}

/* The message id it was given. */
static char *take(struct rig *rig, double time, const char *id, enum event event,
		  enum priority priority)
{
	struct alert_record record = record_at(time, id, event, priority);
	struct message_context context = context_of_rig(rig, event, priority);

	teller_take(&rig->teller, &record, &context);
	teller_log(&rig->teller);
	return must_copy(record.message);
}

static void take_any(struct rig *rig, double time, const char *id, enum event event,
		     enum priority priority)
{
	free(take(rig, time, id, event, priority));
}

/* The titles of what is in the outbox for a webhook, a line each. */
static void expect_outbox(struct rig *rig, const char *webhook, const char *titles)
{
	size_t count, length;
	char **names = outbox_list(rig->teller.outbox, &count);
	char *found = must_copy("");

	for (size_t i = 0; i < count; i++) {
		const char *whose = outbox_webhook(names[i], &length);
		struct outgoing outgoing;

		if (strlen(webhook) != length || strncmp(whose, webhook, length) != 0)
			continue;
		assert_true(outbox_read(rig->teller.outbox, names[i], &outgoing));
		char *longer = must_print("%s%s\n", found, outgoing.title);

		free(found);
		found = longer;
		outgoing_clear(&outgoing);
	}
	outbox_list_free(names, count);
	assert_string_equal(found, titles);
	free(found);
}

static void what_is_raised_together_is_one_message(void **state)
{
	struct rig *rig = *state;
	char *first = take(rig, noon, "a1", RAISED, TODAY);
	char *second = take(rig, noon + 10, "a2", RAISED, NOW);

	assert_string_equal(first, second);
	assert_false(teller_send(&rig->teller, noon + 29));
	expect_outbox(rig, "phone", "");
	assert_true(teller_send(&rig->teller, noon + 30));
	/* The worst first. */
	expect_outbox(rig, "phone",
		      "Third tub cool side dangerously hot, 37.0 °C; 1 more\n");
	free(first);
	free(second);
}

static void what_is_over_within_it_is_told_as_over(void **state)
{
	struct rig *rig = *state;

	take_any(rig, noon, "a1", RAISED, TODAY);
	take_any(rig, noon + 5, "a1", CLEARED, TODAY);
	teller_send(&rig->teller, noon + 30);
	expect_outbox(rig, "phone", "Third tub back within its limits after 1 h\n");
}

static void filters_and_held_back_webhooks(void **state)
{
	struct rig *rig = *state;

	rig->world.conf.webhook_count = 3;
	rig->webhooks[0].escalate = 1200;
	take_any(rig, noon, "a1", RAISED, TODAY);
	teller_send(&rig->teller, noon + 30);
	expect_outbox(rig, "phone", "Third tub too dry, 38 %\n");
	expect_outbox(rig, "partner", ""); /* held back */
	expect_outbox(rig, "now only", "");

	struct alert_record record = record_at(noon + 100, "a2", REMINDED, NOW);
	struct message_context context = context_of_rig(rig, REMINDED, NOW);

	context.reach = 1200; /* passed on, and only to whom it had not been told */
	context.beyond = 0;
	context.unanswered = true;
	teller_take(&rig->teller, &record, &context);
	teller_send(&rig->teller, noon + 130);
	expect_outbox(rig, "phone", "Third tub too dry, 38 %\n");
	expect_outbox(rig, "partner", "Third tub cool side still dangerously hot, 37.0 °C\n");
	expect_outbox(rig, "now only", "");
	take_any(rig, noon + 200, "a3", RAISED, NOW);
	teller_send(&rig->teller, noon + 230);
	expect_outbox(rig, "now only", "Third tub cool side dangerously hot, 37.0 °C\n");
}

static void nobody_to_tell_is_no_message(void **state)
{
	struct rig *rig = *state;

	rig->webhooks[0].priority = NOW;
	char *id = take(rig, noon, "a1", RAISED, TODAY);

	assert_string_equal(id, "");
	assert_false(rig->teller.gathering.open);
	free(id);
}

static void trouble_with_a_webhook_is_told_by_the_others(void **state)
{
	struct rig *rig = *state;
	struct alert_record record = { .time = noon, .id = "a1", .event = RAISED,
				       .has_condition = true, .condition = DELIVERY,
				       .has_priority = true, .priority = UPKEEP,
				       .webhook = "phone" };
	struct message_context context = { .conf = &rig->world.conf, .told = RAISED,
					   .beyond = -1 };

	rig->world.conf.webhook_count = 2;
	teller_take(&rig->teller, &record, &context);
	teller_send(&rig->teller, noon + 30);
	expect_outbox(rig, "phone", "");
	expect_outbox(rig, "partner", "Warmside: webhook phone does not take its messages\n");
}

static void quiet_hours_hold_what_can_wait(void **state)
{
	struct rig *rig = *state;
	const double ten = noon + 10 * 3600, seven = noon + 19 * 3600; /* 22:00, 07:00 */

	rig->world.conf.has_quiet = true;
	rig->world.conf.quiet = (struct day){ 22 * 3600, 7 * 3600, 0 };
	take_any(rig, ten - 31, "a0", RAISED, TODAY); /* goes a second before they begin */
	assert_true(teller_send(&rig->teller, ten - 1));
	take_any(rig, ten + 60, "a1", RAISED, TODAY);
	take_any(rig, ten + 90, "a2", RAISED, UPKEEP);
	assert_false(teller_send(&rig->teller, seven - 1));
	assert_true(teller_send(&rig->teller, seven));
	expect_outbox(rig, "phone", "Third tub too dry, 38 %\nThird tub too dry, 38 %; 1 more\n");
}

static void now_breaks_quiet_hours_and_takes_all_with_it(void **state)
{
	struct rig *rig = *state;
	const double ten = noon + 10 * 3600;

	rig->world.conf.has_quiet = true;
	rig->world.conf.quiet = (struct day){ 22 * 3600, 7 * 3600, 0 };
	char *first = take(rig, ten + 60, "a1", RAISED, TODAY);
	char *second = take(rig, ten + 3600, "a2", RAISED, NOW);

	assert_string_equal(first, second);
	assert_true(teller_send(&rig->teller, ten + 3630));
	expect_outbox(rig, "phone",
		      "Third tub cool side dangerously hot, 37.0 °C; 1 more\n");
	free(first);
	free(second);
}

/* Ten in ten minutes are none, eleven are; then what can wait waits longer. */
static void a_flood_is_recognised(void **state)
{
	struct rig *rig = *state;
	double t = noon;

	for (int i = 0; i < 10; i++, t += 60) {
		char id[8];

		snprintf(id, sizeof id, "a%d", i);
		take_any(rig, t, id, RAISED, TODAY);
		assert_true(teller_send(&rig->teller, t + 30));
	}
	take_any(rig, t, "a10", RAISED, TODAY); /* the eleventh, 10 min after the first */
	assert_false(teller_send(&rig->teller, t + 299));
	take_any(rig, t + 20, "b1", RAISED, NOW); /* what cannot wait takes it along */
	assert_true(teller_send(&rig->teller, t + 50));
	expect_outbox(rig, "phone",
		      "Third tub too dry, 38 %\nThird tub too dry, 38 %\nThird tub too dry, 38 %\n"
		      "Third tub too dry, 38 %\nThird tub too dry, 38 %\nThird tub too dry, 38 %\n"
		      "Third tub too dry, 38 %\nThird tub too dry, 38 %\nThird tub too dry, 38 %\n"
		      "Third tub too dry, 38 %\n"
		      "11 alerts in 10 min: Third tub cool side dangerously hot, 3…\n");
}

static void ten_in_ten_minutes_are_no_flood(void **state)
{
	struct rig *rig = *state;

	for (int i = 0; i < 11; i++) {
		char id[8];

		snprintf(id, sizeof id, "a%d", i);
		/* the first is a second more than ten minutes before the last */
		take_any(rig, noon + (i == 10 ? 601 : i * 20), id, RAISED, TODAY);
	}
	assert_true(teller_send(&rig->teller, noon + 631));
	expect_outbox(rig, "phone", "Third tub too dry, 38 %; 10 more\n");
}

static void a_test_goes_to_everybody_at_once(void **state)
{
	struct rig *rig = *state;
	struct alert_record record = { .time = noon, .id = "alert_test", .event = TESTED,
				       .by = "Ada" };
	const struct message_context context = { .conf = &rig->world.conf, .told = TESTED };

	rig->world.conf.webhook_count = 3;
	rig->webhooks[0].escalate = 1200;
	rig->world.conf.has_quiet = true;
	rig->world.conf.quiet = (struct day){ 0, 86399, 0 };
	teller_take(&rig->teller, &record, &context);
	assert_true(teller_send(&rig->teller, noon));
	for (int i = 0; i < 3; i++)
		expect_outbox(rig, rig->webhooks[i].name,
			      "Test alert from Warmside: nothing is wrong\n");
}

/* ---- a sudden end ----------------------------------------------------------- */

static size_t log_lines(const struct rig *rig, const char *words)
{
	char *path = must_print("%s/alerts.jsonl", rig->folder);
	size_t size, count = 0;
	char *text = file_read(path, 1 << 20, &size);

	for (const char *at = text; (at = strstr(at, words)); at++)
		count++;
	free(text);
	free(path);
	return count;
}

/* What standing.json would hold now. */
static json_t *kept(const struct rig *rig)
{
	json_t *whole = json_object();

	teller_keep(&rig->teller, whole);
	return whole;
}

static void restart(struct rig *rig, json_t *whole)
{
	close_teller(rig);
	open_teller(rig);
	teller_restore(&rig->teller, whole);
	json_decref(whole);
}

static void an_end_before_the_log(void **state)
{
	struct rig *rig = *state;
	struct alert_record record = record_at(noon, "a1", RAISED, TODAY);
	struct message_context context = context_of_rig(rig, RAISED, TODAY);

	teller_take(&rig->teller, &record, &context);
	restart(rig, kept(rig)); /* never logged, never sent */
	assert_int_equal(log_lines(rig, "\"raised\""), 1);
	teller_send(&rig->teller, noon + 30);
	expect_outbox(rig, "phone", "Third tub too dry, 38 %\n");
}

static void an_end_after_the_log(void **state)
{
	struct rig *rig = *state;
	struct alert_record record = record_at(noon, "a1", RAISED, TODAY);
	struct message_context context = context_of_rig(rig, RAISED, TODAY);

	teller_take(&rig->teller, &record, &context);
	json_t *whole = kept(rig);

	teller_log(&rig->teller);
	restart(rig, whole); /* logged; what was kept does not know it */
	assert_int_equal(log_lines(rig, "\"raised\""), 1);
	assert_string_equal(rig->teller.gathering.id, record.message);
}

static void an_end_after_the_outbox_tells_twice_under_one_id(void **state)
{
	struct rig *rig = *state;
	char *id = take(rig, noon, "a1", RAISED, TODAY);
	json_t *whole = kept(rig);

	teller_send(&rig->teller, noon + 30);
	restart(rig, whole);
	teller_send(&rig->teller, noon + 31);
	expect_outbox(rig, "phone", "Third tub too dry, 38 %\nThird tub too dry, 38 %\n");

	size_t count;
	char **names = outbox_list(rig->teller.outbox, &count);

	for (size_t i = 0; i < count; i++)
		assert_non_null(strstr(names[i], id));
	outbox_list_free(names, count);
	free(id);
}

#define test(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		test(what_is_raised_together_is_one_message),
		test(what_is_over_within_it_is_told_as_over),
		test(filters_and_held_back_webhooks),
		test(nobody_to_tell_is_no_message),
		test(trouble_with_a_webhook_is_told_by_the_others),
		test(quiet_hours_hold_what_can_wait),
		test(now_breaks_quiet_hours_and_takes_all_with_it),
		test(a_flood_is_recognised),
		test(ten_in_ten_minutes_are_no_flood),
		test(a_test_goes_to_everybody_at_once),
		test(an_end_before_the_log),
		test(an_end_after_the_log),
		test(an_end_after_the_outbox_tells_twice_under_one_id),
	};

	setenv("TZ", "UTC0", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
