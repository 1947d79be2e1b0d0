/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Records of all enclosures; see gather.h.
 */
#include "report/gather.h"

#include <stdlib.h>
#include <string.h>

#include "conf/closest.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"

static const double STALE = 600; /* s: records older than this are spoken of */

static void note(struct gathered *gathered, const struct enclosure *enclosure,
		 const struct record *record)
{
	if (record->row_size > gathered->row_size)
		gathered->row_size = record->row_size;
	gathered->shared_out |= record->shared_out;
	if (record->newest > gathered->newest)
		gathered->newest = record->newest;
	if (!record->trouble)
		return;
	fprintf(stderr, "warmside: %s: %s\n", enclosure->name, record->trouble);
	*(record->missing ? &gathered->missing : &gathered->unreadable) += 1;
}

void gather(const struct request *request, gather_visit *visit, void *context,
	    struct gathered *out)
{
	const struct conf *conf = request->conf;

	*out = (struct gathered){ .count = conf->enclosure_count };
	for (size_t i = 0; i < out->count; i++) {
		struct record record;

		record_read(conf, &conf->enclosures[i], request->window, &record);
		note(out, &conf->enclosures[i], &record);
		visit(context, &conf->enclosures[i], &record);
		record_clear(&record);
	}
}

int gathered_result(const struct gathered *gathered)
{
	bool nothing = gathered->count > 0 && gathered->missing == gathered->count;

	return gathered->unreadable || nothing ? FAILED : DONE;
}

void say_window(const struct request *request, FILE *file)
{
	char from[MEASURE_TEXT], to[MEASURE_TEXT], span[MEASURE_TEXT];

	fprintf(file, "%s to %s (%s)\n\n", show_instant_local(request->window.from, from),
		show_instant_local(request->window.to, to),
		show_duration(request->window.to - request->window.from, span));
}

static const char *row_phrase(int row_size)
{
	return row_size == ROW_MINUTE ? "minute" : row_size == ROW_HOUR ? "hour" : "ten-minute";
}

void say_rows(const struct request *request, const struct gathered *gathered, FILE *file)
{
	if (gathered->row_size)
		fprintf(file, "\nFrom %s rows; lowest and highest are of minute means.\n",
			row_phrase(gathered->row_size));
	if (gathered->shared_out)
		fputs("The window cuts a row at its edge: that row's time is shared out in "
		      "proportion.\n", file);
	if (gathered->newest > 0 && gathered->newest < request->window.to - STALE) {
		char at[MEASURE_TEXT];

		fprintf(file, "The newest record is from %s; all after it is unknown.\n",
			show_instant_local(gathered->newest, at));
	}
}

const struct enclosure *enclosure_named(const struct conf *conf, const char *name)
{
	const struct enclosure *enclosure = find_enclosure(conf, name);
	struct closest closest = closest_begin(name);

	if (enclosure)
		return enclosure;
	fprintf(stderr, "warmside: no enclosure is named %s; ", name);
	for (size_t i = 0; i < conf->enclosure_count; i++)
		closest_try(&closest, conf->enclosures[i].name);
	if (closest.best) {
		fprintf(stderr, "did you mean %s?\n", closest.best);
		return NULL;
	}
	fprintf(stderr, "there %s", conf->enclosure_count == 1 ? "is" : "are");
	for (size_t i = 0; i < conf->enclosure_count; i++)
		fprintf(stderr, "%s %s", i ? "," : "", conf->enclosures[i].name);
	fputc('\n', stderr);
	return NULL;
}

char *enclosure_title(const struct enclosure *enclosure)
{
	if (strcmp(enclosure->name, enclosure->label) == 0)
		return must_copy(enclosure->name);
	return must_print("%s · %s", enclosure->name, enclosure->label);
}

char *series_phrase(struct series series)
{
	return must_print("%s %s", place_phrase(series.place), quantity_word(series.quantity));
}

char *degree_hours_text(double degree_hours, enum quantity quantity, enum units units)
{
	if (quantity == HUMIDITY)
		return must_print("%.1f %% h", degree_hours);
	if (units == FAHRENHEIT)
		return must_print("%.1f °F h", degree_hours * 9 / 5);
	return must_print("%.1f °C h", degree_hours);
}
