/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files that are no configuration, and files made to break the reader: each
 * gives a short list of faults, and nothing crashes.
 */
#include "tests/cm.h"

#include <sys/stat.h>

#include "conf/configtext.h"
#include "tests/conftext.h"

static void no_file(void **state)
{
	char *path = must_print("%s/absent.conf", (char *)*state);
	struct faults faults = { 0 };

	assert_null(conf_load(path, &faults));
	assert_int_equal(faults.count, 1);
	assert_int_equal(faults.list[0].line, 0);
	assert_non_null(strstr(faults.list[0].text, "cannot be read: No such file"));
	faults_clear(&faults);
	assert_null(conf_load(*state, &faults));
	assert_int_equal(faults.count, 1);
	assert_non_null(strstr(faults.list[0].text, "is a folder"));
	faults_clear(&faults);
	free(path);
}

static void no_text(void **state)
{
	struct faults faults = { 0 };
	static const char nul[] = "units = \"C\"\n\0units = \"F\"\n";

	load_faulty(state, "", 1, "the file is empty");
	load_faulty(state, " \r\n\t\n", 1, "the file is empty");
	load_faulty(state, "\xef\xbb\xbfunits = \"C\"\n", 1, "byte order mark");
	load_faulty(state, "units = \"C\"\n# gr\xf6sser\n# gr\xf6sser\n", 2, "0xf6 is not UTF-8");
	load_faulty(state, "#\n#\n\x1b[31m\n", 3, "0x1b belongs to no text");
	assert_null(load_bytes(state, nul, sizeof nul - 1, &faults));
	assert_int_equal(faults.count, 1);
	assert_int_equal(faults.list[0].line, 2);
	faults_clear(&faults);
}

/* Only comments: nothing is configured, and nothing is wrong. */
static void nothing_said(void **state)
{
	struct conf *conf = load_good(state, "# one\n// two\n/* three */\n");

	assert_int_equal(conf->enclosure_count, 0);
	conf_free(conf);
}

static void lines_are_right_with_crlf_and_comments(void **state)
{
	load_faulty(state, "units = \"C\"\r\n/* a\r\n b */\r\n# c\r\nfoo = 1\r\n", 5, "foo is not known");
	load_faulty(state, "day {\n\n from /* \n */ =\n\n \"8\" }\n", 3, "from = \"8\" is no time");
}

/* The text repeated until the file has that many bytes. */
static struct faults load_repeated(void **state, const char *text, size_t size)
{
	size_t length = strlen(text);
	char *bytes = must_calloc(size + length, 1);
	struct faults faults = { 0 };

	for (size_t at = 0; at < size; at += length)
		memcpy(bytes + at, text, length);
	assert_null(load_bytes(state, bytes, size, &faults));
	free(bytes);
	assert_true(faults.count > 0);
	assert_true(faults.count <= FAULTS_MOST + 1);
	return faults;
}

static void a_mebibyte_of_it(void **state)
{
	static const char *const texts[] = {
		"{",
		"}",
		"{\n",
		"}\n",
		"\"\n",
		"\"",
		"a",
		"a ",
		"=",
		"a{",
		"bus",
		"bus \"a\" {\n",
		"enclosure \"a\" { warm_side { temperature { ",
		"enclosure \"a\" { warm_side { temperature { day = \"1..2 C\" } } }\n",
		"foo = 1\n",
		"include(\"warmside.conf\")\n",
		"/*",
		"\\",
		"'\\",
		"\xf0\x9f\x90\x8d",
	};

	for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
		struct faults faults = load_repeated(state, texts[i], CONFIG_BYTES);

		faults_clear(&faults);
	}
}

static void one_byte_too_many(void **state)
{
	struct faults faults = load_repeated(state, "#", CONFIG_BYTES + 1);

	assert_int_equal(faults.count, 1);
	assert_non_null(strstr(faults.list[0].text, "is longer than 1024 KiB"));
	faults_clear(&faults);
}

/* Bytes of a plain linear congruential generator: the same in every run. */
static void noise(void **state)
{
	unsigned seed = 1;
	unsigned char bytes[4096];

	for (int run = 0; run < 100; run++) {
		struct faults faults = { 0 };

		for (size_t i = 0; i < sizeof bytes; i++) {
			seed = seed * 1103515245u + 12345u;
			bytes[i] = (unsigned char)(seed >> 16);
			/* half of the runs without what ends the reading at once */
			if (run % 2 && bytes[i] < 0x20)
				bytes[i] = '\n';
		}
		assert_null(load_bytes(state, bytes, sizeof bytes, &faults));
		assert_true(faults.count > 0);
		faults_clear(&faults);
	}
}

/* One mistake hides what stands behind it: that is not told of as missing. */
static void what_is_lost_is_not_called_missing(void **state)
{
	load_faulty(state, "include(\"other.conf\")\nenclosure \"e\" { species = \"s\" }\n", 1,
		    "cannot be read");
	load_faulty(state, "room { probe = \"p\" }\n/* probe \"p\" {\n", 2, "has no end");
	load_faulty(state, "bus \"b\" {\n speaks = \"modbus\"\n", 1, "bus is not closed");
	load_faulty(state, "bus \"b\" {\n port = \"/dev/b speaks = \"modbus\"\n}\n", 2,
		    "a quote is missing");
}

/* What is read here is the first line of any file: not of one that never ends. */
static void a_secret_from_an_endless_file(void **state)
{
	load_faulty(state, "webhook \"h\" { endpoint = \"@/dev/zero\" }\n", 1, "is longer than 64 KiB");
	load_faulty(state, "webhook \"h\" { endpoint = \"@/dev/null\" }\n", 1, "is empty");
	load_faulty(state, "include(\"/dev/zero\")\n", 1, "is longer than 1024 KiB");
}

static void files_nobody_can_read(void **state)
{
	char *path = must_print("%s/hook.url", (char *)*state);

	if (geteuid() == 0) {
		free(path);
		skip(); /* root reads everything */
	}
	write_file(state, "hook.url", "http://hook.example/\n", 21);
	assert_int_equal(chmod(path, 0), 0);
	load_faulty(state, "webhook \"h\" { endpoint = \"@hook.url\" }\n", 1, "Permission denied");
	free(path);
}

#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, folder_new, folder_gone)

/* Whoever only reports needs no secret, readable or not. */
static void a_report_reads_no_secret(void **state)
{
	char *path = must_print("%s/warmside.conf", (char *)*state);
	const char text[] = "webhook \"h\" { endpoint = \"@/nowhere/at/all\" }\n"
			    "heartbeat { endpoint = \"@/nowhere/either\" }\n";
	struct faults faults = { 0 };

	write_file(state, "warmside.conf", text, sizeof text - 1);
	assert_null(conf_load(path, &faults));
	assert_int_equal(faults.count, 2);
	faults_clear(&faults);
	struct conf *conf = conf_load_without_webhooks(path, &faults);

	assert_non_null(conf);
	assert_int_equal(conf->webhook_count, 0);
	assert_null(conf->heartbeat.endpoint);
	conf_free(conf);

	size_t count;
	char **names = conf_webhook_names(path, &count);

	assert_int_equal(count, 1);
	assert_string_equal(names[0], "h");
	free(names[0]);
	free(names);
	free(path);
}

/* As many as the daemon is made for, each with two probes. */
static void a_thousand_enclosures(void **state)
{
	enum { MANY = 1000, A_BUS = 100, ENTRY = 400 };
	char *text = must_calloc(MANY, ENTRY), *at = text;

	for (int i = 0; i < MANY; i++) {
		if (i % A_BUS == 0)
			at += snprintf(at, ENTRY, "bus \"b%d\" { port = \"/dev/b%d\" speaks = \"modbus\" }\n",
				       i / A_BUS, i / A_BUS);
		for (int side = 0; side < 2; side++)
			at += snprintf(at, ENTRY,
				       "probe \"%c%d\" { bus = \"b%d\" address = %d temperature = "
				       "\"input 1\" humidity = \"input 2\" }\n",
				       "wc"[side], i, i / A_BUS, 1 + i % A_BUS * 2 + side);
		at += snprintf(at, ENTRY,
			       "enclosure \"E%d\" { build = \"tub\" warm_side { probe = \"w%d\" } "
			       "cool_side { probe = \"c%d\" } }\n", i, i, i);
	}
	struct conf *conf = load_good(state, text);

	assert_int_equal(conf->enclosure_count, MANY);
	assert_int_equal(conf->enclosures[MANY - 1].places[COOL_SIDE].probe, 2 * MANY - 1);
	conf_free(conf);
	free(text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_FOLDER(no_file),
		IN_FOLDER(no_text),
		IN_FOLDER(nothing_said),
		IN_FOLDER(lines_are_right_with_crlf_and_comments),
		IN_FOLDER(a_mebibyte_of_it),
		IN_FOLDER(a_thousand_enclosures),
		IN_FOLDER(one_byte_too_many),
		IN_FOLDER(noise),
		IN_FOLDER(what_is_lost_is_not_called_missing),
		IN_FOLDER(a_secret_from_an_endless_file),
		IN_FOLDER(a_report_reads_no_secret),
		IN_FOLDER(files_nobody_can_read),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
