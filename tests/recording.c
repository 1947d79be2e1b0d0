/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include <stdio.h>
#include <unistd.h>

#include "daemon/recording.h"
#include "tests/world.h"

static char path[] = "recording-test.XXXXXX";

static struct recording *open_text(struct world *world, const char *text, char **fault)
{
	world_make(world);
	memcpy(path + sizeof path - 7, "XXXXXX", 6);
	int fd = mkstemp(path);

	assert_true(fd >= 0);
	assert_int_equal(write(fd, text, strlen(text)), (ssize_t)strlen(text));
	close(fd);
	*fault = NULL;
	struct recording *recording = recording_open(path, &world->conf, fault);

	unlink(path);
	return recording;
}

static void expect_rows_then_fault(const char *text, int rows, const char *words)
{
	struct world world;
	struct reading reading;
	char *fault;
	struct recording *recording = open_text(&world, text, &fault);

	if (recording) {
		while (rows-- > 0)
			assert_int_equal(recording_next(recording, &reading, &fault), ROW_READING);
		assert_int_equal(recording_next(recording, &reading, &fault), ROW_FAULT);
	} else {
		assert_int_equal(rows, 0);
	}
	assert_non_null(fault);
	if (!strstr(fault, words))
		fail_msg("\"%s\" does not say \"%s\"", fault, words);
	free(fault);
	recording_close(recording);
}

static void plain_rows(void **state)
{
	(void)state;
	struct world world;
	struct reading r;
	char *fault;
	struct recording *recording = open_text(
		&world,
		"time,probe,temperature,humidity\n"
		"1767225600,a,25.5,48\n"
		"2026-01-01T00:00:30.5Z,r,,51.25\r\n"
		"\n"
		"1767225660,stranger,1,1\n"
		"1767225660, \"a\" ,26.0,\n",
		&fault);

	assert_non_null(recording);
	assert_int_equal(recording_next(recording, &r, &fault), ROW_READING);
	assert_near(r.time, 1767225600, 0);
	assert_int_equal(r.probe, 0);
	assert_near(r.value[TEMPERATURE], 25.5, 0);
	assert_near(r.value[HUMIDITY], 48, 0);
	assert_int_equal(recording_next(recording, &r, &fault), ROW_READING);
	assert_near(r.time, 1767225630.5, 0);
	assert_int_equal(r.probe, 1);
	assert_false(r.has[TEMPERATURE]);
	assert_near(r.value[HUMIDITY], 51.25, 0);
	assert_int_equal(recording_next(recording, &r, &fault), ROW_UNKNOWN_PROBE);
	assert_int_equal(recording_next(recording, &r, &fault), ROW_READING);
	assert_true(r.has[TEMPERATURE]);
	assert_false(r.has[HUMIDITY]);
	assert_int_equal(recording_next(recording, &r, &fault), ROW_END);
	recording_close(recording);
}

static void fahrenheit_and_other_orders(void **state)
{
	(void)state;
	struct world world;
	struct reading r;
	char *fault;
	struct recording *recording = open_text(
		&world, "\xef\xbb\xbfprobe,humidity,temperature_f,time\na,40,77,1767225600\n", &fault);

	assert_non_null(recording);
	assert_int_equal(recording_next(recording, &r, &fault), ROW_READING);
	assert_near(r.value[TEMPERATURE], 25, 1e-12);
	assert_near(r.value[HUMIDITY], 40, 0);
	recording_close(recording);
}

static void faults_name_file_line_and_cure(void **state)
{
	(void)state;
	expect_rows_then_fault("", 0, ":1: the file is empty");
	expect_rows_then_fault("time,probe,wind\n", 0, ":1: \"wind\" is no column");
	expect_rows_then_fault("time,temperature\n", 0, "time, probe or both values are missing");
	expect_rows_then_fault("time,probe,temperature\n1767225600,a,1\nyesterday,a,1\n", 1,
			       ":3: this is no time");
	expect_rows_then_fault("time,probe,temperature\n1767225600,a,warm\n", 0,
			       ":2: this is no number; leave it empty for none: \"warm\"");
	expect_rows_then_fault("time,probe,temperature\n1767225600,a,nan\n", 0, "no number");
	expect_rows_then_fault("time,probe,temperature\n1767225600,a,1\n1767225599,a,1\n", 1,
			       ":3: this row is earlier than the one before");
	expect_rows_then_fault("time,probe,temperature\n60,a,25\n", 0, ":2: this time is of 1970");
	expect_rows_then_fault("time,probe,temperature\n1767225600,a\n", 0,
			       ":2: 2 fields where the header has 3");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(plain_rows),
		cmocka_unit_test(fahrenheit_and_other_orders),
		cmocka_unit_test(faults_name_file_line_and_cure),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
