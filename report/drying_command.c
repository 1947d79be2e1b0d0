/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside drying: how fast each enclosure dries after it was misted.
 */
#include "report/drying_view.h"

#include <stdlib.h>
#include <unistd.h>

#include "conf/memory.h"
#include "report/picture.h"

/* Of many enclosures' rows only one's are in memory at a time. */
static void add_entry(struct drying_view *view, struct drying_base *base,
		      struct drying_log *log, const struct enclosure *enclosure)
{
	struct drying_entry *entry = &view->list[view->count++];

	*entry = (struct drying_entry){ .enclosure = enclosure };
	entry->has_place = dryings_make(base, enclosure, log, &view->gathered, &entry->dryings);
	if (!entry->has_place)
		return;
	drying_summary_of(&entry->dryings, &entry->summary);
	if (!view->only)
		dryings_forget_rows(&entry->dryings);
}

static void view_make(const struct request *request, const struct enclosure *only,
		      struct drying_view *out)
{
	const struct conf *conf = request->conf;
	struct drying_base base;
	struct drying_log log;
	struct band_list bands;

	*out = (struct drying_view){ .request = request, .only = only };
	out->list = must_calloc(conf->enclosure_count, sizeof *out->list);
	bands_load(conf->state, &bands);
	drying_log_load(conf->state, &log);
	drying_base_begin(&base, conf, request->window, &bands);
	for (size_t i = 0; i < conf->enclosure_count; i++)
		if (only ? only == &conf->enclosures[i] : !conf->enclosures[i].is_room)
			add_entry(out, &base, &log, &conf->enclosures[i]);
	drying_base_end(&base);
	drying_log_complain(&log);
	drying_log_clear(&log);
	bands_clear(&bands);
}

static void view_clear(struct drying_view *view)
{
	for (size_t i = 0; i < view->count; i++)
		if (view->list[i].has_place)
			dryings_clear(&view->list[i].dryings);
	free(view->list);
}

static int draw(const struct drying_view *view)
{
	const struct request *request = view->request;
	char *trouble = NULL;
	size_t size = 0;
	unsigned char *bytes = drying_paint(view, picture_is_svg(request), &size, &trouble);

	return picture_write(request, bytes, size, trouble);
}

static bool draws(const struct request *request)
{
	return request->output || request->format == FORMAT_PNG || request->format == FORMAT_SVG;
}

/* Whether what was asked for goes together; says it when not. */
static bool suits(const struct request *request, const struct enclosure **only)
{
	*only = NULL;
	if (request->word_count) {
		*only = enclosure_named(request->conf, request->words[0]);
		if (!*only)
			return false;
	}
	if (*only && (*only)->is_room) {
		fputs("warmside: the room is what enclosures dry towards; name an enclosure\n", stderr);
		return false;
	}
	if (!draws(request)) {
		if (!request->width)
			return true;
		fputs("warmside: --size belongs to a picture; name its file with -o\n", stderr);
		return false;
	}
	if (!*only) {
		fputs("warmside: a picture is of one enclosure; name it, as in warmside drying T3 "
		      "-o t3.png\n", stderr);
		return false;
	}
	if (request->format != FORMAT_UNSAID && request->format != FORMAT_PNG &&
	    request->format != FORMAT_SVG) {
		fputs("warmside: with -o drying draws, as png or svg\n", stderr);
		return false;
	}
	return picture_has_place(request);
}

static void print(const struct drying_view *view)
{
	if (view->request->format == FORMAT_JSON)
		drying_json(view);
	else if (view->request->format == FORMAT_CSV)
		drying_csv(view);
	else
		drying_text(view);
}

int drying_command(const struct request *request)
{
	const struct enclosure *only;
	struct drying_view view;
	int result;

	if (request->save)
		return drying_save(request);
	if (!suits(request, &only))
		return USAGE;
	view_make(request, only, &view);
	result = gathered_result(&view.gathered);
	if (!draws(request))
		print(&view);
	else if (draw(&view) != DONE)
		result = FAILED;
	view_clear(&view);
	return result;
}
