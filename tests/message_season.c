/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Messages in a season name it, and in a winter rest advise what does not hurt.
 */
#include "tests/cm.h"

#include <time.h>

#include "conf/season.h"
#include "daemon/flow_tell.h"
#include "daemon/message.h"
#include "tests/conftext.h"

static const char text[] =
	"bus \"b\" { port = \"/dev/b\" speaks = \"modbus\" }\n"
	"probe \"p\" { bus = \"b\" address = 1 temperature = \"input 1\" humidity = \"input 2\" }\n"
	"probe \"q\" { bus = \"b\" address = 2 temperature = \"input 1\" humidity = \"input 2\" }\n"
	"species \"snake\" {\n"
	"  cool_side { temperature { day = \"24..28 C\" limits = \"10..34 C\" }\n"
	"    humidity { day = \"40..60 %\" limits = \"20..90 %\" } }\n"
	"  season \"brumation\" { advice { too_hot = \"Ask at the surgery.\" }\n"
	"    cool_side { temperature { day = \"8..13 C\" limits = \"4..18 C\" } } } }\n"
	"enclosure \"T3\" { label = \"Third tub\" species = \"snake\" cool_side { probe = \"p\" }\n"
	"  season \"brumation\" { from = \"11-15\" to = \"02-15\" ramp = \"15d\" } }\n"
	"enclosure \"T4\" { species = \"snake\" cool_side { probe = \"q\" } }\n";

/* 10:00 UTC */
static double at(int year, int month, int day)
{
	return civil_day(year, month, day) * 86400.0 + 36000;
}

static struct alert_record cold(double time, enum condition condition, double value)
{
	return (struct alert_record){
		.time = time, .id = "alert_1", .event = RAISED, .enclosure = "T3",
		.has_place = true, .place = COOL_SIDE, .has_quantity = true,
		.quantity = TEMPERATURE, .has_condition = true, .condition = condition,
		.has_priority = true, .priority = NOW, .has_value = true, .value = value,
		.has_since = true, .since = time - 3600, .has_worst = true, .worst = value,
	};
}

static void expect(const struct conf *conf, const struct alert_record *record, bool has_band,
		   struct range band, const char *expected)
{
	const struct message_context context = { .conf = conf, .enclosure = &conf->enclosures[0],
						 .has_band = has_band, .band = band };
	char *message = message_text(record, &context);

	assert_string_equal(message, expected);
	free(message);
}

static void a_rest_is_named_and_not_warmed_up(void **state)
{
	struct conf *conf = load_good(state, text);
	struct alert_record record = cold(at(2026, 1, 10), BELOW_LIMITS, 3.5);

	expect(conf, &record, true, (struct range){ 8, 13 },
	       "Third tub (T3), snake, cool side: temperature 3.5 °C now, wanted 8..13 °C in its "
	       "brumation, limits 4..18 °C.\n"
	       "Since 2026-01-10 09:00, for 1 h; lowest 3.5 °C.\n"
	       "It rests: see first to the place or refrigerator it is in, its door, and frost from "
	       "outside. Let it grow warmer slowly, by moving it and not by a lamp or a heat mat; ask "
	       "a veterinarian when it was below its limits. (common practice)\n");
	record.has_since = false;
	expect(conf, &record, false, (struct range){ 0 },
	       "Third tub (T3), snake, cool side: temperature 3.5 °C now, limits 4..18 °C in its "
	       "brumation.\n"
	       "It rests: see first to the place or refrigerator it is in, its door, and frost from "
	       "outside. Let it grow warmer slowly, by moving it and not by a lamp or a heat mat; ask "
	       "a veterinarian when it was below its limits. (common practice)\n");
	record.condition = ABOVE_BAND;
	record.value = 15;
	expect(conf, &record, true, (struct range){ 8, 13 },
	       "Third tub (T3), snake, cool side: temperature 15.0 °C now, wanted 8..13 °C in its "
	       "brumation, limits 4..18 °C.\n"
	       "Ask at the surgery.\n");
	conf_free(conf);
}

/* What the season does not move is not the season's, but the animal rests all the same. */
static void a_resting_animal_is_not_misted(void **state)
{
	struct conf *conf = load_good(state, text);
	struct alert_record record = cold(at(2026, 1, 10), BELOW_BAND, 35);

	record.quantity = HUMIDITY;
	record.has_since = false;
	expect(conf, &record, true, (struct range){ 40, 60 },
	       "Third tub (T3), snake, cool side: humidity 35 % now, wanted 40..60 %, limits "
	       "20..90 %.\n"
	       "It rests: see first to its bowl of water, and to a fan or draught that dries it. "
	       "Moisten no more than one corner of the substrate, a little and with water as cold as "
	       "the place, and never the animal: cold and wet together make it ill. (common "
	       "practice)\n");
	record.condition = ABOVE_BAND;
	record.value = 80;
	expect(conf, &record, true, (struct range){ 40, 60 },
	       "Third tub (T3), snake, cool side: humidity 80 % now, wanted 40..60 %, limits "
	       "20..90 %.\n"
	       "It rests, and cold and wet together make it ill: see first for spilt or condensed "
	       "water, and whether air gets in. Put dry substrate as cold as the place for what is "
	       "wet, use no heat to dry it, and disturb it little. (common practice)\n");
	record.condition = MISTING_DUE;
	record.until = record.time + 3 * 3600;
	expect(conf, &record, true, (struct range){ 40, 60 },
	       "Third tub (T3), snake, cool side: humidity 80 % now, wanted 40..60 %, limits "
	       "20..90 %.\n"
	       "If nobody mists, it will be below 0 % about 2026-01-10 13:00: so it has dried after "
	       "earlier mistings. This is told once.\n"
	       "It rests: see first to its bowl of water, and to a fan or draught that dries it. "
	       "Moisten no more than one corner of the substrate, a little and with water as cold as "
	       "the place, and never the animal: cold and wet together make it ill. (common "
	       "practice)\n");
	conf_free(conf);
}

/* 26 °C wanted in the middle, 10.5 in the rest: a third of the way on the 20th of November is
 * more than 5, a fifteenth on the 16th is not; and on the 15th nothing is moved yet. */
static void a_ramp_is_a_rest_from_5_degrees_on(void **state)
{
	struct conf *conf = load_good(state, text);
	struct alert_record record = cold(at(2025, 11, 20), BELOW_BAND, 15);
	char *message;

	struct message_context context = { .conf = conf, .enclosure = &conf->enclosures[0],
					   .has_band = true, .band = { 18, 23 } };

	message = message_text(&record, &context);
	assert_non_null(strstr(message, "wanted 18..23 °C in its brumation, limits"));
	assert_non_null(strstr(message, "\nIt rests: "));
	free(message);
	record.time = at(2025, 11, 16);
	message = message_text(&record, &context);
	assert_non_null(strstr(message, " in its brumation, limits"));
	assert_non_null(strstr(message, "whether the heater has power"));
	free(message);
	record.time = at(2025, 11, 15);
	message = message_text(&record, &context);
	assert_null(strstr(message, "brumation"));
	assert_non_null(strstr(message, "whether the heater has power"));
	free(message);
	conf_free(conf);
}

static void a_cold_room_spares_who_rests(void **state)
{
	struct conf *conf = load_good(state, text);
	struct alert_record record = cold(at(2026, 1, 10), BELOW_BAND, 6);
	char list[] = "T3 6.0 °C, T4 20.0 °C";
	struct room_view view = { .quantity = TEMPERATURE, .side = BELOW, .out = 2, .able = 2,
				  .since = record.since, .list = list };
	struct message_context context = { .conf = conf, .enclosure = &conf->enclosures[0],
					   .room = &view, .told = RAISED };
	static const char spared[] = "\nWhoever rests in the cold is neither warmed up quickly nor "
				     "misted: Third tub.\n";
	char *message = message_text(&record, &context);

	assert_string_equal(message + strlen(message) - strlen(spared), spared);
	free(message);
	view.side = ABOVE;
	message = message_text(&record, &context);
	assert_null(strstr(message, "Whoever rests"));
	free(message);
	view.side = BELOW;
	record.time = at(2026, 5, 10);
	message = message_text(&record, &context);
	assert_null(strstr(message, "Whoever rests"));
	free(message);
	conf_free(conf);
}

#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, folder_new, folder_gone)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_FOLDER(a_rest_is_named_and_not_warmed_up),
		IN_FOLDER(a_resting_animal_is_not_misted),
		IN_FOLDER(a_ramp_is_a_rest_from_5_degrees_on),
		IN_FOLDER(a_cold_room_spares_who_rests),
	};

	setenv("TZ", "UTC0", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
