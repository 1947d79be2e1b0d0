/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside graph: one enclosure as PNG or SVG.
 */
#include "report/request.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"
#include "conf/words.h"
#include "report/alerts.h"
#include "report/gather.h"
#include "report/graph.h"
#include "report/ribbon.h"
#include "report/rows.h"

/* The places named behind the enclosure; all when none is. */
static bool read_places(const struct request *request, bool wanted[PLACES])
{
	for (int place = 0; place < PLACES; place++)
		wanted[place] = request->word_count == 1;
	for (size_t i = 1; i < request->word_count; i++) {
		enum place place;

		if (!place_from_word(request->words[i], &place)) {
			fprintf(stderr, "warmside: no place is named %s; there are",
				request->words[i]);
			for (int p = 0; p < PLACES; p++)
				fprintf(stderr, "%s %s", p ? "," : "", place_word((enum place)p));
			fputc('\n', stderr);
			return false;
		}
		wanted[place] = true;
	}
	return true;
}

/* What --format says, else the file's ending, else PNG. */
static bool wants_svg(const struct request *request)
{
	const char *ending = request->output ? strrchr(request->output, '.') : NULL;

	if (request->format != FORMAT_UNSAID)
		return request->format == FORMAT_SVG;
	return ending && strcmp(ending, ".svg") == 0;
}

static int write_out(const char *path, const unsigned char *bytes, size_t size)
{
	FILE *file = path ? fopen(path, "wbe") : stdout;

	if (file && fwrite(bytes, 1, size, file) == size && (file == stdout || fclose(file) == 0))
		return DONE;
	fprintf(stderr, "warmside: %s cannot be written: %s\n", path ? path : "standard output",
		strerror(errno));
	return FAILED;
}

/* Plans, draws and writes what has been read. */
static int draw(const struct request *request, const struct graph_input *input)
{
	struct graph graph;
	char *trouble = NULL;
	unsigned char *bytes = NULL;
	size_t size;
	int result = FAILED;

	if (graph_plan(input, &graph, &trouble)) {
		bytes = graph_paint(&graph, wants_svg(request), &size, &trouble);
		graph_clear(&graph);
	}
	if (bytes)
		result = write_out(request->output, bytes, size);
	else
		fprintf(stderr, "warmside: %s\n", trouble);
	free(bytes);
	free(trouble);
	return result;
}

static int read_and_draw(const struct request *request, struct graph_input *input)
{
	struct ribbon ribbons[MAX_SERIES];
	struct record record;
	struct alerts alerts;
	int result = FAILED;

	record_read(request->conf, input->enclosure, input->window, &record);
	if (record.trouble) {
		fprintf(stderr, "warmside: %s: %s\n", input->enclosure->name, record.trouble);
	} else if (alerts_load(request->conf->state, input->window, &alerts)) {
		for (size_t i = 0; i < record.count; i++)
			ribbon_load(request->conf, input->enclosure, record.series[i].series,
				    &ribbons[i]);
		input->record = &record;
		input->ribbons = ribbons;
		input->alerts = &alerts.history;
		result = draw(request, input);
		for (size_t i = 0; i < record.count; i++)
			ribbon_clear(&ribbons[i]);
		alerts_clear(&alerts);
	}
	record_clear(&record);
	return result;
}

int graph_command(const struct request *request)
{
	struct graph_input input = {
		.conf = request->conf,
		.enclosure = enclosure_named(request->conf, request->words[0]),
		.window = request->window,
		.width = request->width,
		.height = request->height,
		.scale = { [TEMPERATURE] = request->scale[TEMPERATURE],
			   [HUMIDITY] = request->scale[HUMIDITY] },
	};

	if (!input.enclosure || !read_places(request, input.wanted))
		return USAGE;
	if (!request->output && isatty(STDOUT_FILENO)) {
		fputs("warmside: a picture is no text for a terminal; name a file with -o\n", stderr);
		return USAGE;
	}
	return read_and_draw(request, &input);
}
