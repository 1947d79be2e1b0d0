/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every faulty configuration in tests/faulty must give exactly the faults
 * its .expected file lists, all in one run: "file:line: words of the text".
 * What opens doors (HIDDEN in the files) may stand in none of them.
 *
 * They are loaded from a copy: who may read a file matters, and a source
 * tree does not say it.  Only parts/open.* are for everybody there.
 */
#include "tests/cm.h"

#include <glob.h>
#include <stdbool.h>
#include <stdio.h>
#include <unistd.h>

#include "conf/load.h"
#include "conf/memory.h"

static char *folder; /* the copy of tests/faulty */

struct expected {
	char file[100], text[200];
	int line;
	bool met;
};

static size_t read_expected(const char *path, struct expected *list, size_t most)
{
	FILE *in = fopen(path, "r");
	char line[400];
	size_t count = 0;

	if (!in)
		fail_msg("%s cannot be opened", path);
	while (fgets(line, sizeof line, in)) {
		assert_true(count < most);
		line[strcspn(line, "\n")] = '\0';
		if (sscanf(line, "%99[^:]:%d: %199[^\n]", list[count].file, &list[count].line,
			   list[count].text) != 3)
			fail_msg("%s: not understood: %s", path, line);
		list[count++].met = false;
	}
	fclose(in);
	return count;
}

/* The name as the .expected files write it. */
static const char *short_name(const char *file)
{
	size_t length = strlen(folder);

	return strncmp(file, folder, length) == 0 && file[length] == '/' ? file + length + 1 : file;
}

static bool meet(struct expected *list, size_t count, const struct fault *fault)
{
	for (size_t i = 0; i < count; i++)
		if (!list[i].met && list[i].line == fault->line &&
		    strcmp(list[i].file, short_name(fault->file)) == 0 &&
		    strstr(fault->text, list[i].text)) {
			list[i].met = true;
			return true;
		}
	return false;
}

static void gives_exactly_its_faults(void **state)
{
	const char *path = *state;
	char *expected_path = must_print("%.*s.expected", (int)(strlen(path) - 5), path);
	struct expected list[100];
	size_t count = read_expected(expected_path, list, 100);
	struct faults faults = { 0 };
	int wrong = 0;

	assert_null(conf_load(path, &faults));
	for (size_t i = 0; i < faults.count; i++) {
		const struct fault *fault = &faults.list[i];

		if (!meet(list, count, fault)) {
			print_error("not expected: %s:%d: %s\n", short_name(fault->file),
				    fault->line, fault->text);
			wrong++;
		}
		assert_null(strstr(fault->text, "HIDDEN"));
	}
	for (size_t i = 0; i < count; i++)
		if (!list[i].met) {
			print_error("missing: %s:%d: %s\n", list[i].file, list[i].line,
				    list[i].text);
			wrong++;
		}
	assert_int_equal(wrong, 0);
	faults_clear(&faults);
	free(expected_path);
}

static int run(char *command)
{
	int result = system(command);

	free(command);
	return result;
}

/* A folder of its own with what is in the source tree's tests/faulty. */
static char *copy_faulty(void)
{
	const char *source = getenv("srcdir"), *parent = getenv("TMPDIR");
	char *copy = must_print("%s/warmside-faulty-XXXXXX", parent ? parent : "/tmp");

	if (mkdtemp(copy) &&
	    run(must_print("cp -R '%s/tests/faulty/.' '%s' && chmod -R u+rwX,go= '%s' && "
			   "chmod 644 '%s'/parts/open.*",
			   source ? source : ".", copy, copy, copy)) == 0)
		return copy;
	fprintf(stderr, "the faulty configurations cannot be copied\n");
	exit(1);
}

int main(void)
{
	struct CMUnitTest tests[40];
	char *pattern;
	glob_t found;
	int result;

	folder = copy_faulty();
	pattern = must_print("%s/*.conf", folder);
	if (glob(pattern, 0, NULL, &found) != 0 || found.gl_pathc < 10 || found.gl_pathc > 40) {
		fprintf(stderr, "the faulty configurations are not in %s\n", folder);
		return 1;
	}
	for (size_t i = 0; i < found.gl_pathc; i++)
		tests[i] = (struct CMUnitTest){ .name = found.gl_pathv[i],
						.test_func = gives_exactly_its_faults,
						.initial_state = found.gl_pathv[i] };
	result = _cmocka_run_group_tests("faulty", tests, found.gl_pathc, NULL, NULL);
	globfree(&found);
	free(pattern);
	if (run(must_print("rm -r '%s'", folder)) != 0)
		result = 1;
	free(folder);
	return result;
}
