/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Any bytes as the head of a round-robin file, with rows behind it, as the report and the
 * archivist meet it; and any bytes as the copy of a head beside it.  What either takes
 * for good is given to librrd, in this very process: it must live.
 *
 * Input: two bytes, how many rows follow (in units of 64 bytes); two, how long the
 * copy is; the copy; the head.
 */
#include "tests/fuzz/fuzz.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/archive.h"
#include "daemon/batch.h"
#include "report/fetch.h"
#include "report/rows.h"

enum { ROWS_MOST = 1 << 16, UNIT = 64 };

static const char text_of_conf[] =
	"state = \"%s\"\n"
	"bus \"b\" { port = \"/dev/null\"  speaks = \"lines\"\n"
	"  line = \"{probe} {humidity}\" }\n"
	"probe \"c\" { bus = \"b\" }\n"
	"enclosure \"E1\" { cool_side { probe = \"c\"\n"
	"    humidity { day = \"45..60 %%\"  limits = \"25..85 %%\" } } }\n";

/* The report: the head, its rows of each size, and all of it as an enclosure's record. */
static void report(const char *path)
{
	struct shape shape;
	char *trouble = NULL;
	bool missing;

	if (!fetch_shape(path, &shape, &trouble, &missing)) {
		fuzz_holds(trouble && !missing);
		free(trouble);
		return;
	}
	fuzz_holds(shape.newest > 0 && shape.names_count > 0);
	for (int size = 0; size < ROW_SIZES; size++) {
		double step = row_sizes[size], to = floor(shape.newest / step) * step;
		double *values = NULL;

		if (!shape.rows[size] || to < 10 * step)
			continue;
		struct block block = { .function = "AVERAGE", .row_size = row_sizes[size],
				       .from = to - 4 * step, .to = to };
		enum fetched fetched = fetch_block(path, &shape, block, &values, &trouble);

		fuzz_holds((fetched == FETCH_FAILED) == (trouble != NULL));
		if (fetched == FETCHED)
			fetch_free(values);
		free(trouble);
		trouble = NULL;
	}
	shape_clear(&shape);
}

static void read_record(const struct conf *conf)
{
	static const struct window windows[] = { { 1767225600, 1767229200 }, { 1, 4e9 } };

	for (size_t w = 0; w < sizeof windows / sizeof *windows; w++) {
		struct record record;

		record_read(conf, &conf->enclosures[0], windows[w], &record);
		for (size_t s = 0; s < record.count; s++)
			for (size_t i = 0; i < record.series[s].count; i++) {
				const struct row *row = &record.series[s].list[i];

				fuzz_holds(row->from < row->to && row->ok >= 0 &&
					   row->ok <= row->to - row->from + 1e-6 &&
					   row->low >= 0 && row->high >= 0 && row->out >= 0);
				fuzz_holds(!row->has_value || isfinite(row->value));
			}
		record_clear(&record);
	}
}

/* A minute behind the last update; what is said to be written is. */
static void write_on(const char *path, int64_t last)
{
	static const uint64_t rows[ROW_SIZES] = { 60, 20, 10 };
	const struct minute_cell cell = { .value = 50, .ok = 1 };
	const struct archive_minute minute = { .end = (last / ARCHIVE_STEP + 1) * ARCHIVE_STEP,
					       .series = series_bit((struct series){ COOL_SIDE, HUMIDITY, false }),
					       .cells = &cell };
	char why[ARCHIVE_TEXT] = "";
	struct archive_head head;

	if (archive_update(path, rows, &minute, 1, why) != ARCHIVE_WRITTEN) {
		fuzz_holds(why[0]);
		return;
	}
	fuzz_holds(archive_head_read(path, &head, why) == HEAD_GOOD);
	fuzz_holds(head.last >= minute.end);
	archive_head_free(&head);
}

/* The archivist: undoes, looks, and writes a minute behind the last one. */
static void archivist(const char *path)
{
	char why[ARCHIVE_TEXT] = "";
	struct archive_head head;
	enum head_state state;

	archive_head_restore(path, why);
	state = archive_head_read(path, &head, why);
	fuzz_holds(state == HEAD_GOOD || (state == HEAD_DAMAGED && why[0]));
	if (state != HEAD_GOOD)
		return;
	fuzz_holds(head.ds_count > 0 && head.last > 0);
	for (size_t i = 0; i < head.ds_count; i++)
		fuzz_holds(strlen(archive_head_ds(&head, i)) < DS_NAME);
	fuzz_holds(archive_head_save(path, &head, why));
	fuzz_holds(archive_head_restore(path, why)); /* at once: nothing has changed */
	write_on(path, head.last);
	archive_head_free(&head);
}

static void write_files(struct fuzz_bytes in, const char *path)
{
	size_t rows = (size_t)(fuzz_byte(&in) << 8 | fuzz_byte(&in)) * UNIT % ROWS_MOST;
	size_t saved = (size_t)(fuzz_byte(&in) << 8 | fuzz_byte(&in));
	struct fuzz_bytes copy = fuzz_some(&in, saved);
	char *whole = must_calloc(in.left + rows, 1);

	if (in.left)
		memcpy(whole, in.at, in.left);
	free(fuzz_file("archive/E1.rrd", whole, in.left + rows));
	free(whole);
	if (copy.left) {
		free(fuzz_file("archive/E1.rrd.head", copy.at, copy.left));
	} else {
		char *beside = must_print("%s.head", path);

		unlink(beside);
		free(beside);
	}
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const struct conf *conf;
	static char *path;

	if (!conf) {
		char *text = must_print(text_of_conf, fuzz_folder());
		char *folder = state_path(fuzz_folder(), ARCHIVE_FOLDER);

		conf = fuzz_conf(text);
		fuzz_holds(mkdir(folder, 0700) == 0);
		path = archive_path(fuzz_folder(), "E1");
		free(folder);
		free(text);
	}
	write_files((struct fuzz_bytes){ data, size }, path);
	report(path);
	read_record(conf);
	archivist(path);
	return 0;
}
