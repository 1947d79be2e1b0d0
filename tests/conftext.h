/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A configuration written as text in a test, loaded from a folder of its own.
 */
#ifndef WARMSIDE_TESTS_CONFTEXT_H
#define WARMSIDE_TESTS_CONFTEXT_H

#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/load.h"
#include "conf/memory.h"

/* A cmocka set-up: *state is the path of a new folder. */
static inline int folder_new(void **state)
{
	const char *parent = getenv("TMPDIR");
	char *folder = must_print("%s/warmside-test-XXXXXX", parent ? parent : "/tmp");

	*state = folder;
	return mkdtemp(folder) ? 0 : -1;
}

/* Its tear-down: the files this header writes, then the folder. */
static inline int folder_gone(void **state)
{
	static const char *const names[] = { "warmside.conf", "other.conf", "hook.url",
					      "hook.key",      "hook.head",  "hook.body",
					      "secrets_a.url" };
	int result;

	for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
		char *path = must_print("%s/%s", (char *)*state, names[i]);

		unlink(path);
		free(path);
	}
	result = rmdir(*state);
	free(*state);
	return result;
}

static inline void write_file(void **state, const char *name, const void *bytes, size_t size)
{
	char *path = must_print("%s/%s", (char *)*state, name);
	FILE *out = fopen(path, "wb");

	assert_non_null(out);
	assert_int_equal(fwrite(bytes, 1, size, out), size);
	assert_int_equal(fclose(out), 0);
	assert_int_equal(chmod(path, 0600), 0); /* secrets are for nobody else */
	free(path);
}

static inline struct conf *load_bytes(void **state, const void *bytes, size_t size,
				      struct faults *faults)
{
	char *path = must_print("%s/warmside.conf", (char *)*state);
	struct conf *conf;

	write_file(state, "warmside.conf", bytes, size);
	conf = conf_load(path, faults);
	free(path);
	return conf;
}

/* The model; any fault fails the test. */
static inline struct conf *load_good(void **state, const char *text)
{
	struct faults faults = { 0 };
	struct conf *conf = load_bytes(state, text, strlen(text), &faults);

	for (size_t i = 0; i < faults.count; i++)
		print_error("line %d: %s\n", faults.list[i].line, faults.list[i].text);
	assert_int_equal(faults.count, 0);
	assert_non_null(conf);
	faults_clear(&faults);
	return conf;
}

/* The text must give this one fault and no other. */
static inline void load_faulty(void **state, const char *text, int line, const char *words)
{
	struct faults faults = { 0 };

	assert_null(load_bytes(state, text, strlen(text), &faults));
	for (size_t i = 0; i < faults.count; i++)
		if (faults.count > 1 || faults.list[i].line != line ||
		    !strstr(faults.list[i].text, words))
			print_error("line %d: %s\n", faults.list[i].line, faults.list[i].text);
	assert_int_equal(faults.count, 1);
	assert_int_equal(faults.list[0].line, line);
	assert_non_null(strstr(faults.list[0].text, words));
	faults_clear(&faults);
}

#endif
