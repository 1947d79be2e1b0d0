/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a good configuration becomes: the whole grammar, the defaults, and
 * enclosures overriding their species key by key.  Bad ones: loadfaulty.c.
 */
#include "tests/cm.h"

#include "conf/measure.h"
#include "conf/remarks.h"
#include "tests/conftext.h"

/* A modbus bus with one probe that gives both quantities. */
#define PROBE_P                                                              \
	"bus \"b\" { port = \"/dev/b\" speaks = \"modbus\" }\n"              \
	"probe \"p\" { bus = \"b\" address = 1 temperature = \"input 1\" "   \
	"humidity = \"input 2\" }\n"

static const char whole[] =
	"units = \"F\"\n"
	"state = \"/var/lib/x\"\n"
	"day { from = \"07:30\" to = \"21:15\" changeover = \"1h 10min\" }\n"
	"archive { minutes = \"2d\" ten_minutes = \"30d\" hours = \"400d\" write_every = \"30min\" }\n"
	"bus \"rack\" { port = \"usb:1209:0001:A1\" speaks = \"modbus\" baud = 19200\n"
	"  parity = \"even\" stop_bits = 2 every = \"10s\" }\n"
	"bus \"board\" { port = \"/dev/board\" speaks = \"lines\" ask = \"?\\r\\n\"\n"
	"  line = \"{probe}: {temperature_f} # {}\" }\n"
	"probe \"t3c\" { bus = \"rack\" address = 13 temperature = \"input 1 / 10\"\n"
	"  humidity = \"holding 65535/100\" temperature_correction = \"-0.9 F\"\n"
	"  humidity_correction = \"35.1=32.8 73.0=75.3\" calibrated = \"2024-02-29\" }\n"
	"probe \"t3w\" { bus = \"board\" }\n"
	"probe \"attic\" { bus = \"board\" address = 7 }\n"
	"room { probe = \"attic\" temperature { limits = \"16..32 C\" } }\n"
	"species \"example snake\" { latin = \"Exemplum exempli\"\n"
	"  cool_side { humidity { day = \"45..60 %\" night = \"45..65 %\" limits = \"25..85 %\"\n"
	"    patience = \"6h\" limits_patience = \"1h\" deadband = \"2 %\" off_delay = \"10min\"\n"
	"    source = \"a book, 2001\" } } }\n"
	"enclosure \"T3\" { label = \"Größe 3\" species = \"example snake\" build = \"tub\"\n"
	"  warm_side { probe = \"t3w\" temperature { day = \"79..86 F\" } }\n"
	"  cool_side { probe = \"t3c\" } }\n"
	"webhook \"phone\" { endpoint = \"https://hook.example/a?b=c#d\" body = \"text\"\n"
	"  secret = \"whsec_MDEyMzQ1Njc4OWFiY2RlZjAxMjM0NTY3\" }\n";

static void top_day_and_archive(void **state)
{
	struct conf *conf = load_good(state, whole);

	assert_int_equal(conf->units, FAHRENHEIT);
	assert_string_equal(conf->state, "/var/lib/x");
	assert_int_equal(conf->day.from, 27000);
	assert_int_equal(conf->day.to, 76500);
	assert_near(conf->day.changeover, 4200, 0);
	assert_near(conf->archive.minutes, 2 * 86400, 0);
	assert_near(conf->archive.ten_minutes, 30 * 86400, 0);
	assert_near(conf->archive.hours, 400 * 86400.0, 0);
	assert_near(conf->archive.write_every, 1800, 0);
	conf_free(conf);
}

static void buses(void **state)
{
	struct conf *conf = load_good(state, whole);
	const struct bus *rack = &conf->buses[0], *board = &conf->buses[1];

	assert_int_equal(conf->bus_count, 2);
	assert_string_equal(rack->name, "rack");
	assert_string_equal(rack->port, "usb:1209:0001:A1");
	assert_int_equal(rack->speaks, SPEAKS_MODBUS);
	assert_int_equal(rack->baud, 19200);
	assert_int_equal(rack->parity, PARITY_EVEN);
	assert_int_equal(rack->stop_bits, 2);
	assert_near(rack->every, 10, 0);
	assert_null(rack->line);
	assert_int_equal(board->speaks, SPEAKS_LINES);
	assert_string_equal(board->line, "{probe}: {temperature_f} # {}");
	assert_string_equal(board->ask, "?\r\n");
	conf_free(conf);
}

static void probes(void **state)
{
	struct conf *conf = load_good(state, whole);
	const struct probe *t3c = &conf->probes[0], *t3w = &conf->probes[1];
	const struct correction *humidity = &t3c->correction[HUMIDITY];

	assert_int_equal(conf->probe_count, 3);
	assert_int_equal(t3c->bus, 0);
	assert_int_equal(t3c->address, 13);
	assert_true(t3c->gives[TEMPERATURE] && t3c->gives[HUMIDITY]);
	assert_int_equal(t3c->registers[TEMPERATURE].function, 4);
	assert_int_equal(t3c->registers[TEMPERATURE].address, 1);
	assert_near(t3c->registers[TEMPERATURE].divisor, 10, 0);
	assert_int_equal(t3c->registers[HUMIDITY].function, 3);
	assert_int_equal(t3c->registers[HUMIDITY].address, 65535);
	assert_near(t3c->registers[HUMIDITY].divisor, 100, 0);
	/* -0.9 °F is a difference of -0.5 °C */
	assert_near(t3c->correction[TEMPERATURE].offset, -0.5, 1e-12);
	assert_near(t3c->correction[TEMPERATURE].slope, 1, 0);
	assert_near(humidity->offset + humidity->slope * 35.1, 32.8, 1e-9);
	assert_near(humidity->offset + humidity->slope * 73.0, 75.3, 1e-9);
	assert_int_equal(t3w->bus, 1);
	assert_string_equal(t3w->token, "t3w");
	assert_true(t3w->gives[TEMPERATURE]);
	assert_false(t3w->gives[HUMIDITY]);
	assert_false(t3w->registers[TEMPERATURE].present);
	assert_near(t3w->correction[HUMIDITY].slope, 1, 0);
	assert_true(t3c->has_calibrated && !t3w->has_calibrated);
	assert_near(t3c->calibration_due - t3c->calibrated, 366 * 86400.0, 0);
	assert_string_equal(conf->probes[2].token, "7");
	conf_free(conf);
}

/* The remark on that test in salts at that instant, or NULL; malloc'ed. */
static char *calibrated_remark(void **state, const char *day, const char *instant)
{
	char *text = must_print(PROBE_P "probe \"q\" { bus = \"b\" address = 2 humidity = \"input 2\"\n"
				"  calibrated = \"%s\" }\n", day);
	struct conf *conf = load_good(state, text);
	struct faults remarks = { 0 };
	char *found = NULL;
	double now;

	assert_true(parse_instant(instant, &now));
	conf_remarks(conf, now, &remarks);
	for (size_t i = 0; i < remarks.count; i++)
		if (strstr(remarks.list[i].text, "calibrated")) {
			assert_null(found);
			found = must_copy(remarks.list[i].text);
		}
	faults_clear(&remarks);
	conf_free(conf);
	free(text);
	return found;
}

/* A clock that is wrong must not keep the watch from beginning. */
static void a_test_to_come_is_noted(void **state)
{
	char *text = calibrated_remark(state, "2999-01-01", "2027-03-01T00:00:00Z");

	assert_string_equal(text, "probe \"q\": calibrated = \"2999-01-01\" is a day to come; write the "
				  "day on which it was last tested in salts, or is this computer's "
				  "clock wrong?");
	free(text);
	assert_null(calibrated_remark(state, "2027-06-01", "2027-06-01T12:00:00Z"));
	assert_null(calibrated_remark(state, "2026-06-01", "2027-03-01T00:00:00Z"));
	/* Before the time is known. */
	assert_null(calibrated_remark(state, "2026-06-01", "1970-01-01T00:10:00Z"));
	text = calibrated_remark(state, "2026-06-01", "2026-01-01T00:00:00Z");
	assert_non_null(text);
	free(text);
}

static void species_enclosure_room(void **state)
{
	struct conf *conf = load_good(state, whole);
	const struct rule *rule = &conf->species[0].rules[COOL_SIDE][HUMIDITY];
	const struct enclosure *t3 = &conf->enclosures[0], *room = &conf->enclosures[1];

	assert_string_equal(conf->species[0].latin, "Exemplum exempli");
	assert_true(rule->has_band && rule->has_limits);
	assert_near(rule->night.high, 65, 0);
	assert_near(rule->limits.low, 25, 0);
	assert_near(rule->patience, 21600, 0);
	assert_near(rule->limits_patience, 3600, 0);
	assert_near(rule->deadband, 2, 0);
	assert_near(rule->off_delay, 600, 0);
	assert_string_equal(rule->source, "a book, 2001");
	assert_false(conf->species[0].rules[EGGS][TEMPERATURE].has_band);

	assert_int_equal(conf->enclosure_count, 2);
	assert_string_equal(t3->label, "Größe 3");
	assert_ptr_equal(t3->species, &conf->species[0]);
	assert_true(t3->has_build);
	assert_int_equal(t3->build, TUB);
	assert_false(t3->is_room);
	assert_true(t3->places[WARM_SIDE].watched);
	assert_int_equal(t3->places[WARM_SIDE].probe, 1);
	assert_near(t3->places[WARM_SIDE].rules[TEMPERATURE].day.low, 235.0 / 9, 1e-12);
	assert_false(t3->places[HOT_SPOT].watched);
	assert_near(t3->places[COOL_SIDE].rules[HUMIDITY].day.low, 45, 0);

	assert_string_equal(room->name, "room");
	assert_string_equal(room->label, "room");
	assert_true(room->is_room);
	assert_int_equal(room->places[ROOM_AIR].probe, 2);
	assert_true(room->places[ROOM_AIR].rules[TEMPERATURE].has_limits);
	assert_false(room->places[ROOM_AIR].rules[TEMPERATURE].has_band);
	conf_free(conf);
}

static void webhooks(void **state)
{
	struct conf *conf = load_good(state, whole);

	assert_int_equal(conf->webhook_count, 1);
	assert_string_equal(conf->webhooks[0].endpoint, "https://hook.example/a?b=c#d");
	assert_string_equal(conf->webhooks[0].secret, "whsec_MDEyMzQ1Njc4OWFiY2RlZjAxMjM0NTY3");
	assert_int_equal(conf->webhooks[0].body, BODY_TEXT);
	conf_free(conf);

	write_file(state, "hook.url", "http://hook.example/from-file\r\nsecond line\n", 44);
	conf = load_good(state, "webhook \"h\" { endpoint = \"@hook.url\" }\n");
	assert_string_equal(conf->webhooks[0].endpoint, "http://hook.example/from-file");
	assert_null(conf->webhooks[0].secret);
	assert_int_equal(conf->webhooks[0].body, BODY_JSON);
	conf_free(conf);
}

static void defaults(void **state)
{
	struct conf *conf = load_good(state, PROBE_P
		"enclosure \"e\" { warm_side { probe = \"p\" temperature { day = \"20..30 C\" }\n"
		"  humidity { day = \"40..60 %\" } } }\nroom { }\n");
	const struct rule *rules = conf->enclosures[0].places[WARM_SIDE].rules;

	assert_int_equal(conf->units, CELSIUS);
	assert_null(conf->state);
	assert_int_equal(conf->day.from, 8 * 3600);
	assert_int_equal(conf->day.to, 20 * 3600);
	assert_near(conf->day.changeover, 5400, 0);
	assert_near(conf->archive.minutes, 10 * 86400, 0);
	assert_near(conf->archive.ten_minutes, 90 * 86400, 0);
	assert_near(conf->archive.hours, 1095 * 86400.0, 0);
	assert_near(conf->archive.write_every, 600, 0);
	assert_int_equal(conf->buses[0].baud, 9600);
	assert_int_equal(conf->buses[0].parity, PARITY_NONE);
	assert_int_equal(conf->buses[0].stop_bits, 1);
	assert_near(conf->buses[0].every, 60, 0);
	assert_near(conf->probes[0].registers[HUMIDITY].divisor, 1, 0);
	assert_string_equal(conf->enclosures[0].label, "e");
	assert_null(conf->enclosures[0].species);
	assert_false(conf->enclosures[0].has_build);
	assert_near(rules[TEMPERATURE].night.low, 20, 0);
	assert_near(rules[TEMPERATURE].patience, 3600, 0);
	assert_near(rules[TEMPERATURE].deadband, 0.5, 0);
	assert_near(rules[TEMPERATURE].off_delay, 300, 0);
	assert_false(rules[TEMPERATURE].has_limits);
	assert_null(rules[TEMPERATURE].source);
	assert_near(rules[HUMIDITY].patience, 12 * 3600, 0);
	assert_near(rules[HUMIDITY].limits_patience, 7200, 0);
	assert_near(rules[HUMIDITY].deadband, 3, 0);
	assert_false(conf->enclosures[1].places[ROOM_AIR].watched);
	conf_free(conf);
}

/* Each key by itself: what the enclosure says, and all else from the species. */
static void overrides_key_by_key(void **state)
{
	static const char format[] =
		"species \"s\" { cool_side { humidity { day = \"45..60 %%\" night = \"50..65 %%\"\n"
		"  limits = \"25..85 %%\" patience = \"6h\" limits_patience = \"1h\"\n"
		"  daily = \"4h\" on_delay = \"1min\"\n"
		"  deadband = \"2 %%\" off_delay = \"10min\" source = \"theirs\" } } }\n"
		"enclosure \"e\" { species = \"s\" cool_side { humidity { %s } } }\n";
	static const char *const own[] = {
		"", "day = \"46..61 %\"", "night = \"51..66 %\"", "limits = \"26..86 %\"",
		"patience = \"7h\"", "limits_patience = \"2h\"", "deadband = \"1 %\"",
		"off_delay = \"0s\"", "source = \"mine\"", "daily = \"5h\"", "on_delay = \"2min\"",
	};

	for (int key = 0; key < 11; key++) {
		char *text = must_print(format, own[key]);
		struct conf *conf = load_good(state, text);
		const struct rule *rule = &conf->enclosures[0].places[COOL_SIDE].rules[HUMIDITY];

		assert_near(rule->day.low, key == 1 ? 46 : 45, 0);
		assert_near(rule->day.high, key == 1 ? 61 : 60, 0);
		assert_near(rule->night.low, key == 2 ? 51 : 50, 0);
		assert_near(rule->limits.high, key == 3 ? 86 : 85, 0);
		assert_near(rule->patience, key == 4 ? 25200 : 21600, 0);
		assert_near(rule->limits_patience, key == 5 ? 7200 : 3600, 0);
		assert_near(rule->deadband, key == 6 ? 1 : 2, 0);
		assert_near(rule->off_delay, key == 7 ? 0 : 600, 0);
		assert_string_equal(rule->source, key == 8 ? "mine" : "theirs");
		assert_near(rule->daily, key == 9 ? 18000 : 14400, 0);
		assert_near(rule->on_delay, key == 10 ? 120 : 60, 0);
		conf_free(conf);
		free(text);
	}
}

static void night_follows_day_unless_it_is_given(void **state)
{
	struct conf *conf = load_good(state,
		"species \"s\" { eggs { temperature { day = \"20..30 C\" } }\n"
		"  hot_spot { temperature { night = \"21..29 C\" } } }\n"
		"enclosure \"a\" { species = \"s\" eggs { temperature { day = \"22..28 C\" } }\n"
		"  hot_spot { temperature { day = \"30..35 C\" } } }\n");
	const struct place_conf *places = conf->enclosures[0].places;

	assert_near(places[EGGS].rules[TEMPERATURE].night.low, 22, 0);
	assert_near(places[HOT_SPOT].rules[TEMPERATURE].night.low, 21, 0);
	assert_near(places[HOT_SPOT].rules[TEMPERATURE].day.low, 30, 0);
	assert_false(conf->species[0].rules[HOT_SPOT][TEMPERATURE].has_band);
	conf_free(conf);
}

static void usual_deadband_is_at_most_half_the_narrower_band(void **state)
{
	struct conf *conf = load_good(state,
		"enclosure \"a\" { eggs { temperature { day = \"29..30 C\" night = \"28..28.5 C\" }\n"
		"  humidity { day = \"70..74 %\" } } }\n");
	const struct rule *rules = conf->enclosures[0].places[EGGS].rules;

	assert_near(rules[TEMPERATURE].deadband, 0.25, 1e-12);
	assert_near(rules[HUMIDITY].deadband, 2, 1e-12);
	conf_free(conf);
}

/* The probe gives no humidity: the band is there, and nothing judges it. */
static void a_rule_without_its_quantity_is_no_fault(void **state)
{
	struct conf *conf = load_good(state,
		"bus \"b\" { port = \"/dev/b\" speaks = \"lines\" line = \"{temperature}\" }\n"
		"probe \"p\" { bus = \"b\" }\n"
		"enclosure \"e\" { eggs { probe = \"p\" humidity { day = \"70..90 %\" } } }\n");

	assert_true(conf->enclosures[0].places[EGGS].rules[HUMIDITY].has_band);
	assert_false(conf->probes[0].gives[HUMIDITY]);
	conf_free(conf);
}

/* Blanks, comments and quotes in all the ways libConfuse takes them. */
static void ways_of_writing(void **state)
{
	struct conf *conf = load_good(state,
		"units = C\r\n"
		"room\n{\n}\n"
		"state\n=\n'/a // b \\x' // a comment\n"
		"enclosure \"e\" /* here { too */\n{ label = \"$HOME ${HOME} \\\"#\\\" /* no */\" # }\n"
		"build=glass/* at once */species=s}\n"
		"species s { latin = \"\\xc3\\xa9\" }### \"\n"
		"bus b { port=/dev/b speaks=modbus baud=1200// fast\n}\n"
		"/**/day{from=7:00 to=19:00}");

	assert_string_equal(conf->state, "/a // b \\x");
	assert_string_equal(conf->enclosures[0].label, "$HOME ${HOME} \"#\" /* no */");
	assert_int_equal(conf->enclosures[0].build, GLASS);
	assert_string_equal(conf->species[0].latin, "é");
	assert_int_equal(conf->buses[0].baud, 1200);
	assert_int_equal(conf->day.from, 7 * 3600);
	assert_true(conf->enclosures[1].is_room);
	conf_free(conf);
}

static void include_and_state_are_beside_the_file(void **state)
{
	static const char other[] = "species \"s\" { }\n";
	char *expected = must_print("%s/state", (char *)*state);
	struct conf *conf;

	write_file(state, "other.conf", other, strlen(other));
	conf = load_good(state, "include(\"other.conf\")\nstate = \"state\"\n"
				"enclosure \"e\" { species = \"s\" }\n");
	assert_string_equal(conf->state, expected);
	assert_ptr_equal(conf->enclosures[0].species, &conf->species[0]);
	conf_free(conf);
	free(expected);
}

/* The configuration that is installed must load as it is. */
static void the_shipped_one(void **state)
{
	(void)state;
	const char *source = getenv("srcdir");
	char *path = must_print("%s/conf/warmside.conf", source ? source : ".");
	struct faults faults = { 0 };
	struct conf *conf = conf_load(path, &faults);

	for (size_t i = 0; i < faults.count; i++)
		print_error("%s:%d: %s\n", faults.list[i].file, faults.list[i].line,
			    faults.list[i].text);
	assert_non_null(conf);
	assert_int_equal(faults.count, 0);
	assert_true(conf->species_count >= 8);
	assert_true(conf->enclosures[conf->enclosure_count - 1].is_room);
	for (size_t i = 0; i < conf->species_count; i++)
		for (int place = 0; place < PLACES; place++)
			for (int q = 0; q < QUANTITIES; q++) {
				const struct rule *rule = &conf->species[i].rules[place][q];

				assert_int_equal(rule->source != NULL,
						 rule->has_band || rule->has_limits);
			}
	conf_free(conf);
	free(path);
}

#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, folder_new, folder_gone)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_FOLDER(top_day_and_archive),
		IN_FOLDER(buses),
		IN_FOLDER(probes),
		IN_FOLDER(a_test_to_come_is_noted),
		IN_FOLDER(species_enclosure_room),
		IN_FOLDER(webhooks),
		IN_FOLDER(defaults),
		IN_FOLDER(overrides_key_by_key),
		IN_FOLDER(night_follows_day_unless_it_is_given),
		IN_FOLDER(usual_deadband_is_at_most_half_the_narrower_band),
		IN_FOLDER(a_rule_without_its_quantity_is_no_fault),
		IN_FOLDER(ways_of_writing),
		IN_FOLDER(include_and_state_are_beside_the_file),
		cmocka_unit_test(the_shipped_one),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
