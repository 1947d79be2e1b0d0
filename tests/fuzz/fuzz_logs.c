/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Any text as the line of a log (alerts.jsonl, bands.jsonl, dryings.jsonl), and all of
 * it as the file.
 */
#include "tests/fuzz/fuzz.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/logtail.h"
#include "conf/memory.h"
#include "report/alerts.h"
#include "report/dryings.h"
#include "report/ribbon.h"

static const struct window window = { 1767225600, 1767312000 };

/* A record that was read is written and read as the same line. */
static bool is_alert(const char *line)
{
	struct alert_record record, back;

	if (!alert_from_line(line, &record))
		return false;
	fuzz_holds(fuzz_is_instant(record.time));
	fuzz_holds(!record.has_since || fuzz_is_instant(record.since));
	fuzz_holds(!record.has_until || fuzz_is_instant(record.until));
	char *text = alert_to_line(&record);

	fuzz_holds(text && alert_from_line(text, &back));
	char *again = alert_to_line(&back);

	fuzz_holds(strcmp(text, again) == 0 && back.event == record.event &&
		   strcmp(back.note, record.note) == 0);
	char *phrase = alert_phrase(&record), *author = alert_author(&record);

	fuzz_holds(!record.has_condition || phrase[0]);
	free(author);
	free(phrase);
	free(again);
	free(text);
	return true;
}

static bool is_band(const char *line)
{
	struct band_record record, back;

	if (!band_from_line(line, &record))
		return false;
	fuzz_holds(fuzz_is_instant(record.time));
	if (record.has_band)
		fuzz_holds(record.day.low <= record.day.high && record.night.low <= record.night.high);
	if (record.has_limits)
		fuzz_holds(record.limits.low <= record.limits.high);
	char *text = band_to_line(&record);

	fuzz_holds(text && band_from_line(text, &back) && band_same(&record, &back));
	free(text);
	return true;
}

static bool is_drying(const char *line)
{
	struct drying_record record, back;

	if (!drying_from_line(line, &record))
		return false;
	fuzz_holds(record.from < record.to && record.known >= 0);
	for (size_t i = 0; i < record.count; i++)
		fuzz_holds(record.list[i].at >= record.from && record.list[i].at < record.to);
	char *text = drying_to_line(&record);

	fuzz_holds(text && drying_from_line(text, &back) && back.count == record.count &&
		   back.has_law == record.has_law);
	free(back.list);
	free(record.list);
	free(text);
	return true;
}

/* Goes over the lines with a zero behind each; how many are records of each kind. */
struct counts {
	size_t alerts, bands, dryings, lines;
};

static struct counts count_lines(char *text)
{
	struct counts counts = { 0 };
	char *rest = text, *line;

	while ((line = strsep(&rest, "\n"))) {
		counts.lines += rest || *line;
		counts.alerts += is_alert(line);
		counts.bands += is_band(line);
		counts.dryings += is_drying(line);
	}
	return counts;
}

static void look_at_alerts(FILE *file, const struct counts *counts)
{
	struct alerts alerts;

	alerts_read(file, window, &alerts);
	fuzz_holds(alerts.history.count <= counts->alerts);
	fuzz_holds(alerts.torn <= counts->lines);
	for (size_t i = 0; i < alerts.lives.count; i++) {
		const struct alert_life *life = &alerts.lives.list[i];

		fuzz_holds(!life->over || isfinite(life->end));
		fuzz_holds(isfinite(alert_stood(life, window.to)));
	}
	for (size_t i = 0; i < alerts.history.count; i++)
		fuzz_holds(alerts.history.list[i].time >= window.from &&
			   alerts.history.list[i].time < window.to);
	alerts_clear(&alerts);
}

static void look_at_dryings(FILE *file, const struct counts *counts)
{
	struct drying_log log;

	rewind(file);
	drying_log_read(file, &log);
	fuzz_holds(log.count == counts->dryings);
	drying_log_drop_late(&log, "T3", window.to);
	fuzz_holds(log.count + log.late == counts->dryings);
	drying_log_last(&log, "T3", COOL_SIDE, window.to);
	drying_log_clear(&log);
}

/* The band at any instant, by whatever the log says. */
static void look_at_bands(const struct counts *counts)
{
	static const struct conf *conf;
	struct band_list bands;

	if (!conf)
		conf = fuzz_conf("bus \"b\" { port = \"/dev/null\"  speaks = \"lines\"\n"
				 "  line = \"{probe} {temperature} {humidity}\" }\n"
				 "probe \"p\" { bus = \"b\" }\n"
				 "enclosure \"T3\" { cool_side { probe = \"p\"\n"
				 "  humidity { day = \"45..60 %\" } } }\n");
	bands_load(fuzz_folder(), &bands);
	fuzz_holds(bands.count <= counts->bands);
	for (int quantity = 0; quantity < QUANTITIES; quantity++) {
		const struct series series = { .place = COOL_SIDE, .quantity = (enum quantity)quantity };
		struct ribbon ribbon;

		ribbon_make(&bands, conf, &conf->enclosures[0], series, window.to, &ribbon);
		for (double at = window.from; at < window.to; at += 4000.5) {
			struct in_force now = ribbon_at(&ribbon, at);

			fuzz_holds(now.from <= at && at < now.until);
			fuzz_holds(!now.has_band || now.band.low <= now.band.high);
		}
		ribbon_clear(&ribbon);
	}
	bands_clear(&bands);
}

/* What is added to a log comes out of its tail. */
static void look_at_tail(const struct fuzz_bytes *in)
{
	char *path = fuzz_file("tail.jsonl", "", 0);
	struct logtail tail;
	struct alert_record record;

	fuzz_holds(logtail_begin(&tail, path));
	free(fuzz_file("tail.jsonl", in->at, in->left));
	while (logtail_next(&tail, &record))
		fuzz_holds(isfinite(record.time));
	logtail_end(&tail);
	free(path);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct fuzz_bytes in = { data, size }, all = in;
	char *path = fuzz_file(BANDS_FILE, data, size);
	char *text = fuzz_part(&in);
	bool plain = !in.left && strlen(text) == size;
	struct counts counts = count_lines(text);
	FILE *file = fopen(path, "re");

	fuzz_holds(file);
	/* Of other texts the lines have not been counted. */
	if (plain) {
		look_at_alerts(file, &counts);
		look_at_dryings(file, &counts);
		look_at_bands(&counts);
	}
	look_at_tail(&all);
	fclose(file);
	free(text);
	free(path);
	return 0;
}
