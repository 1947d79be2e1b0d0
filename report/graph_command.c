/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside graph: one enclosure as PNG or SVG.
 */
#include "report/request.h"

#include <stdlib.h>

#include "conf/memory.h"
#include "conf/words.h"
#include "report/gather.h"
#include "report/graph.h"
#include "report/picture.h"

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

/* Plans, draws and writes what has been read. */
static int draw(const struct request *request, const struct graph_input *input)
{
	struct graph graph;
	char *trouble = NULL;
	unsigned char *bytes = NULL;
	size_t size = 0;

	if (graph_plan(input, &graph, &trouble)) {
		bytes = graph_paint(&graph, picture_is_svg(request), &size, &trouble);
		graph_clear(&graph);
	}
	return picture_write(request, bytes, size, trouble);
}

static int read_and_draw(const struct request *request, const struct enclosure *enclosure,
			 struct graph_input input)
{
	struct account account;
	struct alerts alerts;
	struct band_list bands;
	struct account_base base = { request->conf, request->window, request->window.to, &bands,
				     &alerts };
	bool whole = alerts_load(request->conf->state, request->window, &alerts);
	int result = FAILED;

	bands_load(request->conf->state, &bands);
	account_make(&base, enclosure, false, &account);
	input.account = &account;
	input.alerts = &alerts.history;
	if (account.record.trouble)
		fprintf(stderr, "warmside: %s: %s\n", enclosure->name, account.record.trouble);
	else
		result = draw(request, &input);
	account_clear(&account);
	bands_clear(&bands);
	alerts_clear(&alerts);
	return whole ? result : FAILED; /* what could be read is drawn all the same */
}

int graph_command(const struct request *request)
{
	const struct enclosure *enclosure = enclosure_named(request->conf, request->words[0]);
	struct graph_input input = {
		.units = request->conf->units,
		.width = request->width,
		.height = request->height,
		.scale = { [TEMPERATURE] = request->scale[TEMPERATURE],
			   [HUMIDITY] = request->scale[HUMIDITY] },
	};

	if (!enclosure || !read_places(request, input.wanted))
		return USAGE;
	if (!picture_has_place(request))
		return USAGE;
	return read_and_draw(request, enclosure, input);
}
