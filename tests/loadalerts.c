/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a good configuration says of alerts and their delivery, its defaults,
 * and the files that hold secrets.  Bad ones: loadfaulty.c.
 */
#include "tests/cm.h"

#include "tests/conftext.h"

#define SECRET "whsec_MDEyMzQ1Njc4OWFiY2RlZjAxMjM0NTY3"

static const char whole[] =
	"gather = \"2min\"\n"
	"test_every = \"0s\"\n"
	"misting_due = \"6h\"\n"
	"enclosure \"a\" { }\nenclosure \"b\" { misting_due = \"1h\" }\n"
	"enclosure \"c\" { misting_due = \"0s\" }\n"
	"quiet { from = \"22:00\" to = \"07:00\" }\n"
	"heartbeat { endpoint = \"https://beat.example/\" secret = \"" SECRET "\" every = \"1min\" }\n"
	"webhook \"phone\" { endpoint = \"https://hook.example/\" priority = \"today\"\n"
	"  escalate = \"30min\" body = \"text\" header = \"X-One: {title}\" header = \"X-Two:2\" }\n"
	"webhook \"aunt\" { endpoint = \"https://hook.example/\" priority = \"now\"\n"
	"  body = \"{\\\"a\\\": \\\"{text}\\\"}\" content_type = \"application/json\" }\n"
	"webhook \"log\" { endpoint = \"https://hook.example/\" body = \"{priority}: {id}\" }\n";

static void gathering_tests_and_quiet_hours(void **state)
{
	struct conf *conf = load_good(state, whole);

	assert_near(conf->gather, 120, 0);
	assert_near(conf->test_every, 0, 0);
	assert_near(conf->enclosures[0].misting_due, 6 * 3600, 0);
	assert_near(conf->enclosures[1].misting_due, 3600, 0);
	assert_near(conf->enclosures[2].misting_due, 0, 0);
	assert_true(conf->has_quiet);
	assert_int_equal(conf->quiet.from, 22 * 3600);
	assert_int_equal(conf->quiet.to, 7 * 3600);
	assert_near(conf->quiet.changeover, 0, 0);
	assert_string_equal(conf->heartbeat.endpoint, "https://beat.example/");
	assert_string_equal(conf->heartbeat.secret, SECRET);
	assert_near(conf->heartbeat.every, 60, 0);
	conf_free(conf);
}

static void webhooks_and_their_bodies(void **state)
{
	struct conf *conf = load_good(state, whole);
	const struct webhook *phone = &conf->webhooks[0], *aunt = &conf->webhooks[1];
	const struct webhook *log = &conf->webhooks[2];

	assert_int_equal(conf->webhook_count, 3);
	assert_int_equal(phone->priority, TODAY);
	assert_near(phone->escalate, 1800, 0);
	assert_int_equal(phone->body, BODY_TEXT);
	assert_null(phone->template);
	assert_null(phone->content_type);
	assert_int_equal(phone->header_count, 2);
	assert_string_equal(phone->headers[0], "X-One: {title}");
	assert_string_equal(phone->headers[1], "X-Two: 2");

	assert_int_equal(aunt->priority, NOW);
	assert_near(aunt->escalate, 0, 0);
	assert_int_equal(aunt->body, BODY_TEMPLATE);
	assert_string_equal(aunt->template, "{\"a\": \"{text}\"}");
	assert_string_equal(aunt->content_type, "application/json");
	assert_int_equal(aunt->header_count, 0);

	assert_int_equal(log->priority, UPKEEP);
	assert_int_equal(log->body, BODY_TEMPLATE);
	assert_string_equal(log->content_type, "text/plain; charset=utf-8");
	conf_free(conf);
}

static void what_holds_when_nothing_is_said(void **state)
{
	struct conf *conf = load_good(state,
		"enclosure \"e\" { eggs { temperature { day = \"27..29 C\" } } }\n"
		"webhook \"h\" { endpoint = \"https://hook.example/\" }\n");
	const struct rule *rule = &conf->enclosures[0].places[EGGS].rules[TEMPERATURE];

	assert_near(conf->gather, 30, 0);
	assert_near(conf->test_every, 30 * 86400, 0);
	assert_near(conf->enclosures[0].misting_due, 0, 0);
	assert_false(conf->has_quiet);
	assert_null(conf->heartbeat.endpoint);
	assert_near(conf->heartbeat.every, 300, 0);
	assert_int_equal(conf->webhooks[0].priority, UPKEEP);
	assert_near(conf->webhooks[0].escalate, 0, 0);
	assert_int_equal(conf->webhooks[0].body, BODY_JSON);
	assert_int_equal(conf->webhooks[0].header_count, 0);
	assert_false(conf->enclosures[0].out_of_service);
	assert_false(conf->enclosures[0].gradient.present);
	assert_false(rule->has_daily);
	assert_near(rule->on_delay, 0, 0);
	conf_free(conf);
}

static void delays_allowances_and_service(void **state)
{
	struct conf *conf = load_good(state,
		"species \"s\" { cool_side { humidity { day = \"40..60 %\" daily = \"4h\"\n"
		"  on_delay = \"10min\" } } }\n"
		"enclosure \"a\" { species = \"s\" in_service = \"no\" }\n"
		"enclosure \"b\" { species = \"s\" in_service = yes\n"
		"  cool_side { humidity { on_delay = \"0s\" } } }\n"
		"enclosure \"c\" { species = \"s\" cool_side { humidity { daily = \"23h 59min\" } } }\n");

	for (int e = 0; e < 3; e++) {
		const struct rule *rule = &conf->enclosures[e].places[COOL_SIDE].rules[HUMIDITY];

		assert_true(rule->has_daily);
		assert_near(rule->daily, e == 2 ? 86340 : 4 * 3600, 0);
		assert_near(rule->on_delay, e == 1 ? 0 : 600, 0);
		assert_int_equal(conf->enclosures[e].out_of_service, e == 0);
	}
	conf_free(conf);
}

/* A species' gradient is taken over where both sides are measured. */
static void gradients(void **state)
{
	static const struct {
		const char *says;
		bool present;
		double least;
	} wanted[] = {
		{ "species = \"s\" warm_side { probe = \"p\" } cool_side { probe = \"q\" }", true, 4 },
		{ "species = \"s\" warm_side { probe = \"p\" }", false, 0 },
		{ "species = \"s\" cool_side { probe = \"q\" }", false, 0 },
		{ "species = \"s\" warm_side { probe = \"p\" } cool_side { probe = \"h\" }", false, 0 },
		{ "species = \"s\" gradient = \"9 F\" warm_side { probe = \"p\" }\n"
		  "cool_side { probe = \"q\" }", true, 5 },
		{ "gradient = \"0.1 C\" warm_side { probe = \"p\" } cool_side { probe = \"q\" }", true,
		  0.1 },
		{ "warm_side { probe = \"p\" } cool_side { probe = \"q\" }", false, 0 },
	};

	for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
		char *text = must_print(
			"bus \"t\" { port = \"/dev/t\" speaks = \"lines\" line = \"{probe} {temperature}\" }\n"
			"bus \"u\" { port = \"/dev/u\" speaks = \"lines\" line = \"{humidity}\" }\n"
			"probe \"p\" { bus = \"t\" }\nprobe \"q\" { bus = \"t\" }\n"
			"probe \"h\" { bus = \"u\" }\n"
			"species \"s\" { gradient = \"4 C\" }\nenclosure \"e\" { %s }\n",
			wanted[i].says);
		struct conf *conf = load_good(state, text);
		const struct gradient *gradient = &conf->enclosures[0].gradient;

		assert_true(conf->species[0].gradient.present);
		assert_int_equal(gradient->present, wanted[i].present);
		if (gradient->present)
			assert_near(gradient->least, wanted[i].least, 1e-12);
		conf_free(conf);
		free(text);
	}
}

static void advice(void **state)
{
	struct conf *conf = load_good(state,
		"species \"s\" { advice { too_cold = \"a\" too_hot = \"b\" too_dry = \"c\"\n"
		"  too_damp = \"d\" no_gradient = \"e\" silent = \"f\" frozen = \"Größe\" } }\n"
		"species \"t\" { advice { too_dry = \"c\" }\n"
		"  season \"rest\" { advice { too_hot = \"h\" too_cold = \"x\" } } }\n"
		"enclosure \"E\" { species = \"t\" season \"rest\" { until = \"2026-02-01\"\n"
		"  advice { too_cold = \"y\" } } }\n");
	static const char *const texts[ADVICES] = {
		[ADVICE_COLD] = "a",	 [ADVICE_HOT] = "b",	[ADVICE_DRY] = "c",
		[ADVICE_DAMP] = "d",	 [ADVICE_GRADIENT] = "e", [ADVICE_SILENT] = "f",
		[ADVICE_FROZEN] = "Größe",
	};

	for (int i = 0; i < ADVICES; i++) {
		assert_string_equal(conf->species[0].advice[i], texts[i]);
		if (i != ADVICE_DRY)
			assert_null(conf->species[1].advice[i]);
	}
	assert_string_equal(conf->species[1].advice[ADVICE_DRY], "c");
	/* A season's, the enclosure's own over its species'. */
	assert_string_equal(conf->species[1].seasons[0].advice[ADVICE_COLD], "x");
	assert_string_equal(conf->enclosures[0].seasons[0].advice[ADVICE_COLD], "y");
	assert_string_equal(conf->enclosures[0].seasons[0].advice[ADVICE_HOT], "h");
	assert_null(conf->enclosures[0].seasons[0].advice[ADVICE_DRY]);
	conf_free(conf);
}

static void a_file_each(void **state)
{
	static const char body[] = "<p>\n{title}\n</p>\n";
	struct conf *conf;

	write_file(state, "hook.url", "https://hook.example/a\n", 23);
	write_file(state, "hook.key", SECRET "\n", sizeof SECRET);
	write_file(state, "hook.head", "X-Token:abc\r\nmore\n", 18);
	write_file(state, "hook.body", body, sizeof body - 1);
	conf = load_good(state,
		"webhook \"h\" { endpoint = \"@hook.url\" secret = \"@hook.key\" body = \"@hook.body\"\n"
		"  content_type = \"text/html\" header = \"@hook.head\" header = \"X-Id: {id}\" }\n"
		"heartbeat { endpoint = \"@hook.url\" secret = \"@hook.key\" }\n");
	assert_string_equal(conf->webhooks[0].endpoint, "https://hook.example/a");
	assert_string_equal(conf->webhooks[0].secret, SECRET);
	assert_string_equal(conf->webhooks[0].template, body);
	assert_string_equal(conf->webhooks[0].headers[0], "X-Token: abc");
	assert_string_equal(conf->webhooks[0].headers[1], "X-Id: {id}");
	assert_string_equal(conf->heartbeat.endpoint, "https://hook.example/a");
	assert_string_equal(conf->heartbeat.secret, SECRET);
	conf_free(conf);
}

static void set_mode(void **state, const char *name, mode_t mode)
{
	char *path = must_print("%s/%s", (char *)*state, name);

	assert_int_equal(chmod(path, mode), 0);
	free(path);
}

/* A group may read a secret; others may not touch it in any way.  A template
 * is no secret. */
static void who_may_read_a_secret(void **state)
{
	static const char text[] = "webhook \"h\" { endpoint = \"@hook.url\" body = \"@hook.body\" }\n";

	write_file(state, "hook.url", "https://hook.example/a\n", 23);
	write_file(state, "hook.body", "{title}", 7);
	set_mode(state, "hook.body", 0644);
	set_mode(state, "hook.url", 0640);
	conf_free(load_good(state, text));
	for (mode_t others = 1; others < 8; others++) {
		set_mode(state, "hook.url", 0600 | others);
		load_faulty(state, text, 1, "close it with chmod 600");
	}
}

static void templates_have_an_end(void **state)
{
	enum { MOST = 16 * 1024 };
	static const char text[] =
		"webhook \"h\" { endpoint = \"https://hook.example/\" body = \"@hook.body\" }\n";
	char *body = must_calloc(MOST + 2, 1);
	struct conf *conf;

	memset(body, 'a', MOST + 1);
	memcpy(body, "{id}", 4);
	write_file(state, "hook.body", body, MOST);
	conf = load_good(state, text);
	assert_int_equal(strlen(conf->webhooks[0].template), MOST);
	conf_free(conf);
	write_file(state, "hook.body", body, MOST + 1);
	load_faulty(state, text, 1, "is longer than 16 KiB");
	body[10] = '\0';
	write_file(state, "hook.body", body, 100);
	load_faulty(state, text, 1, "must be UTF-8 text");
	free(body);
}

/* Beside the configuration first, then among the service's credentials. */
static void credentials_of_the_service(void **state)
{
	void *credentials;
	struct conf *conf;

	assert_int_equal(folder_new(&credentials), 0);
	write_file(&credentials, "hook.url", "https://hook.example/credential\n", 32);
	assert_int_equal(setenv("CREDENTIALS_DIRECTORY", credentials, 1), 0);
	conf = load_good(state, "webhook \"h\" { endpoint = \"@hook.url\" }\n");
	assert_string_equal(conf->webhooks[0].endpoint, "https://hook.example/credential");
	conf_free(conf);
	load_faulty(state, "webhook \"h\" { endpoint = \"@hook.key\" }\n", 1,
		    "No such file or directory, and no credential has that name");
	load_faulty(state, "webhook \"h\" { endpoint = \"@./hook.url\" }\n", 1,
		    "cannot be read: No such file");
	set_mode(&credentials, "hook.url", 0644);
	load_faulty(state, "webhook \"h\" { endpoint = \"@hook.url\" }\n", 1, "close it with chmod");
	write_file(state, "hook.url", "https://hook.example/beside\n", 28);
	conf = load_good(state, "webhook \"h\" { endpoint = \"@hook.url\" }\n");
	assert_string_equal(conf->webhooks[0].endpoint, "https://hook.example/beside");
	conf_free(conf);
	/* systemd.exec(5): one of a folder "has the ID suffixed with _FILENAME". */
	write_file(&credentials, "secrets_a.url", "https://hook.example/of-folder\n", 31);
	conf = load_good(state, "webhook \"h\" { endpoint = \"@secrets/a.url\" }\n");
	assert_string_equal(conf->webhooks[0].endpoint, "https://hook.example/of-folder");
	conf_free(conf);
	load_faulty(state, "webhook \"h\" { endpoint = \"@../a.url\" }\n", 1,
		    "cannot be read: No such file");
	assert_int_equal(unsetenv("CREDENTIALS_DIRECTORY"), 0);
	assert_int_equal(folder_gone(&credentials), 0);
}

/* What cannot be seen is not called the last one. */
static void escalating_to_a_webhook_in_a_lost_file(void **state)
{
	static const char hook[] =
		"webhook \"h\" { endpoint = \"https://hook.example/\" escalate = \"1min\" }\n";
	char *text = must_print("%sinclude(\"other.conf\")\n", hook);

	load_faulty(state, hook, 1, "this is the last one");
	load_faulty(state, text, 2, "cannot be read");
	write_file(state, "other.conf", hook, sizeof hook - 1);
	free(text);
	text = must_print("include(\"other.conf\")\n"
			  "webhook \"i\" { endpoint = \"https://hook.example/\" }\n");
	conf_free(load_good(state, text));
	free(text);
}

#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, folder_new, folder_gone)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_FOLDER(gathering_tests_and_quiet_hours),
		IN_FOLDER(webhooks_and_their_bodies),
		IN_FOLDER(what_holds_when_nothing_is_said),
		IN_FOLDER(delays_allowances_and_service),
		IN_FOLDER(gradients),
		IN_FOLDER(advice),
		IN_FOLDER(a_file_each),
		IN_FOLDER(who_may_read_a_secret),
		IN_FOLDER(templates_have_an_end),
		IN_FOLDER(credentials_of_the_service),
		IN_FOLDER(escalating_to_a_webhook_in_a_lost_file),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
