/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The tables the shipped species are held against; see species_check.h.
 */
#include "tests/species_check.h"

#include "tests/cm.h"

#include <stdio.h>

#include "conf/measure.h"
#include "conf/memory.h"

size_t split_tabs(char *line, char *fields[], size_t most)
{
	size_t count = 0;

	line[strcspn(line, "\r\n")] = '\0';
	for (char *field; (field = strsep(&line, "\t"));)
		if (count++ < most)
			fields[count - 1] = field;
	return count;
}

const char *critical_word(int field)
{
	static const char *const words[CRITICALS] = { "critical_max", "critical_min", "care_limit" };

	return words[field];
}

static void add_document(struct published *out, char *fields[], size_t count)
{
	assert_int_equal(count, 3);
	assert_true(strchr("ABC", *fields[2]) && strlen(fields[2]) == 1);
	out->documents = must_resize(out->documents, out->document_count + 1,
				     sizeof *out->documents);
	out->documents[out->document_count++] = (struct document){
		must_copy(fields[0]), must_copy(fields[1]), must_copy(fields[2])
	};
}

static void add_critical(struct published *out, char *fields[], size_t count)
{
	struct critical critical = { 0 };
	int field = 0;

	assert_int_equal(count, 6);
	while (field < CRITICALS && strcmp(critical_word(field), fields[2]) != 0)
		field++;
	assert_true(field < CRITICALS);
	critical.field = field;
	critical.has_low = *fields[3];
	assert_true(!critical.has_low || parse_number(fields[3], &critical.low));
	assert_true(parse_number(fields[4], &critical.high));
	assert_true(*fields[5]);
	critical.name = must_copy(fields[0]);
	critical.animal = must_copy(fields[1]);
	out->criticals = must_resize(out->criticals, out->critical_count + 1,
				     sizeof *out->criticals);
	out->criticals[out->critical_count++] = critical;
}

/* "": none. */
static bool take_number(const char *text, double *number)
{
	assert_true(!*text || parse_number(text, number));
	return *text;
}

static void add_figure(struct published *out, char *fields[], size_t count)
{
	struct figure figure = { 0 };

	assert_int_equal(count, 7);
	figure.has_low = take_number(fields[2], &figure.low);
	figure.has_high = take_number(fields[3], &figure.high);
	assert_true(figure.has_low || figure.has_high);
	figure.seen = strcmp(fields[6], "seen") == 0;
	assert_true(figure.seen || strcmp(fields[6], "memory") == 0);
	assert_int_equal(figure.seen, strcmp(fields[4], "memory") != 0);
	figure.name = must_copy(fields[0]);
	figure.field = must_copy(fields[1]);
	figure.title = must_copy(fields[4]);
	figure.weight = must_copy(fields[5]);
	out->figures = must_resize(out->figures, out->figure_count + 1, sizeof *out->figures);
	out->figures[out->figure_count++] = figure;
}

static void read_table(const char *folder, const char *name, struct published *out,
		       void (*add)(struct published *, char *[], size_t))
{
	char *path = must_print("%s/%s", folder, name);
	FILE *file = fopen(path, "r");
	char *line = NULL;
	size_t size = 0;

	if (!file)
		fail_msg("%s cannot be read", path);
	while (getline(&line, &size, file) > 0) {
		char *fields[7] = { NULL };

		if (*line != '#')
			add(out, fields, split_tabs(line, fields, 7));
	}
	free(line);
	fclose(file);
	free(path);
}

static void published_read(const char *folder, struct published *out)
{
	*out = (struct published){ 0 };
	read_table(folder, "species_documents.tsv", out, add_document);
	read_table(folder, "species_critical.tsv", out, add_critical);
	read_table(folder, "species_figures.tsv", out, add_figure);
}

void published_clear(struct published *published)
{
	for (size_t i = 0; i < published->document_count; i++) {
		free(published->documents[i].title);
		free(published->documents[i].year);
		free(published->documents[i].weight);
	}
	for (size_t i = 0; i < published->critical_count; i++) {
		free(published->criticals[i].name);
		free(published->criticals[i].animal);
	}
	for (size_t i = 0; i < published->figure_count; i++) {
		free(published->figures[i].name);
		free(published->figures[i].field);
		free(published->figures[i].title);
		free(published->figures[i].weight);
	}
	free(published->documents);
	free(published->criticals);
	free(published->figures);
}

static char *path_in_tree(const char *name)
{
	const char *top = getenv("top_srcdir");

	return must_print("%s/%s", top ? top : ".", name);
}

char *shipped_species(void)
{
	char *path = path_in_tree("conf/species.conf");
	FILE *file = fopen(path, "r");
	char *text = must_calloc(1, 1 << 20);

	assert_non_null(file);
	assert_in_range(fread(text, 1, (1 << 20) - 1, file), 1000, (1 << 20) - 2);
	fclose(file);
	free(path);
	return text;
}

struct published published_shipped(void)
{
	struct published published;
	char *folder = path_in_tree("tests/reference");

	published_read(folder, &published);
	free(folder);
	return published;
}
