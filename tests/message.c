/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include <stdio.h>

#include <time.h>

#include "conf/advice.h"
#include "conf/memory.h"
#include "daemon/message.h"
#include "tests/world.h"

static struct alert_record dry(void)
{
	return (struct alert_record){
		.time = 1767606000, .id = "alert_1", .event = RAISED, .enclosure = "T3",
		.has_place = true, .place = COOL_SIDE, .has_quantity = true, .quantity = HUMIDITY,
		.has_condition = true, .condition = BELOW_BAND, .has_priority = true,
		.priority = TODAY, .has_value = true, .value = 38.2, .has_since = true,
		.since = 1767602400, .has_worst = true, .worst = 37.6,
	};
}

static struct message_context context_of(struct world *world)
{
	world_make(world);
	return (struct message_context){
		.conf = &world->conf, .enclosure = &world->enclosures[0], .has_band = true,
		.band = { 45, 60 },
	};
}

static size_t characters(const char *text)
{
	size_t count = 0;

	for (; *text; text++)
		count += ((unsigned char)*text & 0xc0) != 0x80;
	return count;
}

static void expect_title(const struct alert_record *record,
			 const struct message_context *context, const char *expected)
{
	char *title = message_title(record, context);

	assert_string_equal(title, expected);
	assert_true(characters(title) <= TITLE_CHARACTERS);
	free(title);
}

static void titles_are_sentences(void **state)
{
	(void)state;
	struct world world;
	struct message_context context = context_of(&world);
	struct alert_record record = dry();

	expect_title(&record, &context, "Third tub too dry, 38 %");
	record.event = CLEARED;
	record.until = 1767610200;
	record.value = 62; /* on the other side: that is no way back */
	expect_title(&record, &context, "Third tub no longer too dry, 62 %");
	record.value = 50;
	expect_title(&record, &context, "Third tub back in its band after 2 h 10 min");
	record = dry();
	record.quantity = TEMPERATURE;
	record.condition = ABOVE_LIMITS;
	record.value = 36.4;
	expect_title(&record, &context, "Third tub cool side dangerously hot, 36.4 °C");
	world.conf.units = FAHRENHEIT;
	expect_title(&record, &context, "Third tub cool side dangerously hot, 97.5 °F");
	record.condition = SILENT;
	record.has_quantity = false;
	expect_title(&record, &context, "Third tub cool side probe silent for 1 h");
}

static void a_long_label_gives_way(void **state)
{
	(void)state;
	struct world world;
	struct message_context context = context_of(&world);
	struct alert_record record = dry();
	char label[] = "Größtes Terrarium im Keller, rechts neben der alten Heizung";

	world.enclosures[0].label = label;
	char *title = message_title(&record, &context);

	assert_int_equal(characters(title), TITLE_CHARACTERS);
	assert_non_null(strstr(title, "… too dry, 38 %"));
	free(title);
}

static void text_says_what_where_since_when(void **state)
{
	(void)state;
	struct world world;
	struct message_context context = context_of(&world);
	struct alert_record record = dry();
	char *text = message_text(&record, &context);

	char *expected = must_print("Third tub (T3), example snake, cool side: humidity 38 %% now, "
				    "wanted 45..60 %%, limits 25..85 %%.\n"
				    "Since 2026-01-05 07:40, for 1 h; lowest 38 %%.\n%s\n",
				    advice_text(NULL, ADVICE_DRY));

	assert_string_equal(text, expected);
	free(expected);
	free(text);
}

static void the_bus_says_more_of_a_silent_probe(void **state)
{
	(void)state;
	struct world world;
	struct message_context context = context_of(&world);
	struct alert_record record = dry();

	record.condition = SILENT;
	record.has_quantity = false;
	snprintf(context.reason, sizeof context.reason, "no answer at address 13");
	char *text = message_text(&record, &context);

	assert_non_null(strstr(text, "no valid readings.\nOn its bus: no answer at address 13.\n"));
	free(text);
	snprintf(context.reason, sizeof context.reason, "is it powered?");
	text = message_text(&record, &context);
	assert_non_null(strstr(text, "On its bus: is it powered?\n"));
	free(text);
	record.event = CLEARED;
	text = message_text(&record, &context);
	assert_null(strstr(text, "On its bus"));
	free(text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(titles_are_sentences), cmocka_unit_test(a_long_label_gives_way),
		cmocka_unit_test(text_says_what_where_since_when),
		cmocka_unit_test(the_bus_says_more_of_a_silent_probe),
	};

	setenv("TZ", "UTC1", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
