/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Round-robin files with a damaged head, as the report and the archivist meet them, and a damaged
 * undo file beside them.  What either takes for good is given to librrd, in
 * this very process: it must live.
 *
 * Input: a byte, what is done.  1: the file is whatever follows.  Else it is a good archive,
 * changed: two bytes cut it short (0: not at all); then for each change two bytes where
 * it is, and eight that are put there.  4: they go into the undo file, which holds
 * its head, instead; 8: whose sum is then put right.
 */
#include "tests/fuzz/fuzz.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/archive.h"
#include "daemon/batch.h"
#include "daemon/undo.h"
#include "report/fetch.h"
#include "report/rows.h"
#include "tests/archive_update.h"

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
static void archivist(const char *path, const char *folder)
{
	char why[ARCHIVE_TEXT] = "";
	struct archive_head head;
	enum head_state state;
	struct undo undo;

	fuzz_holds(undo_open(&undo, folder, why));
	for (const char *name; (name = undo_name(&undo, 0));)
		fuzz_holds(undo_put_back(&undo, name, why));
	state = archive_head_read(path, &head, why);
	fuzz_holds(state == HEAD_GOOD || (state == HEAD_DAMAGED && why[0]));
	if (state == HEAD_GOOD) {
		fuzz_holds(head.ds_count > 0 && head.last > 0);
		for (size_t i = 0; i < head.ds_count; i++)
			fuzz_holds(strlen(archive_head_ds(&head, i)) < DS_NAME);
		undo_add(&undo, "E1", &head);
		fuzz_holds(undo_put_back(&undo, "E1", why)); /* at once: nothing has changed */
		write_on(path, head.last);
		archive_head_free(&head);
	}
	undo_close(&undo);
}

/* ---- files ------------------------------------------------------------------- */

enum { ANYTHING = 1, BESIDE = 4, SUMMED = 8, CHANGE = 10, SUM_AT = 16, SAVED_HEAD = 24 };

struct good {
	char *archive, *saved;  /* whole files; saved is the undo file */
	size_t archive_size, saved_size;
};

/* An archive with some minutes in it, and the undo file with its head. */
static void make_good(const char *path, const char *folder, struct good *good)
{
	enum { MINUTES = 30 };
	static const uint64_t rows[ROW_SIZES] = { 60, 20, 10 };
	const struct minute_cell cell = { .value = 50, .low = 0.25, .ok = 1, .out = 0.5 };
	struct archive_minute minutes[MINUTES];
	char *beside = must_print("%s/.undo", folder), why[ARCHIVE_TEXT];
	struct archive_head head;
	struct undo undo;

	for (int i = 0; i < MINUTES; i++)
		minutes[i] = (struct archive_minute){
			.end = 1767225600 + ARCHIVE_STEP * (i + 1),
			.series = series_bit((struct series){ COOL_SIDE, HUMIDITY, false }),
			.cells = &cell,
		};
	fuzz_holds(archive_update(path, rows, minutes, MINUTES, why) == ARCHIVE_WRITTEN);
	fuzz_holds(archive_head_read(path, &head, why) == HEAD_GOOD);
	fuzz_holds(undo_open(&undo, folder, why));
	undo_add(&undo, "E1", &head);
	fuzz_holds(undo_write(&undo, false, why));
	undo_close(&undo);
	good->archive = file_read(path, 1 << 20, &good->archive_size);
	good->saved = file_read(beside, 1 << 20, &good->saved_size);
	fuzz_holds(good->archive && good->saved);
	archive_head_free(&head);
	free(beside);
}

static void change(char *bytes, size_t size, struct fuzz_bytes in)
{
	while (in.left >= CHANGE) {
		size_t at = (size_t)(fuzz_byte(&in) << 8 | fuzz_byte(&in));
		struct fuzz_bytes word = fuzz_some(&in, CHANGE - 2);

		if (at + word.left <= size)
			memcpy(bytes + at, word.at, word.left);
	}
}

/* FNV-1a over words of eight bytes, as conf/checksum.c has it. */
static void put_sum(char *saved, size_t size)
{
	uint64_t sum = 0xcbf29ce484222325u, word;

	for (size_t at = SAVED_HEAD; at + sizeof word <= size; at += sizeof word) {
		memcpy(&word, saved + at, sizeof word);
		sum = (sum ^ word) * 0x100000001b3u;
	}
	memcpy(saved + SUM_AT, &sum, sizeof sum);
}

static void write_files(struct fuzz_bytes in, const char *folder, const struct good *good)
{
	uint8_t what = fuzz_byte(&in);
	size_t cut = (size_t)(fuzz_byte(&in) << 8 | fuzz_byte(&in));
	char *archive = must_calloc(good->archive_size, 1), *saved = must_calloc(good->saved_size, 1);
	char *beside = must_print("%s/.undo", folder);

	memcpy(archive, good->archive, good->archive_size);
	memcpy(saved, good->saved, good->saved_size);
	change(what & BESIDE ? saved : archive,
	       what & BESIDE ? good->saved_size : good->archive_size, in);
	if (what & SUMMED)
		put_sum(saved, good->saved_size);
	unlink(beside);
	if (what & (BESIDE | SUMMED))
		free(fuzz_file("archive/.undo", saved, good->saved_size));
	if (what & ANYTHING)
		free(fuzz_file("archive/E1.rrd", in.at, in.left));
	else
		free(fuzz_file("archive/E1.rrd", archive,
			       cut && cut < good->archive_size ? cut : good->archive_size));
	free(beside);
	free(saved);
	free(archive);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const struct conf *conf;
	static char *path, *folder;
	static struct good good;

	if (!conf) {
		char *text = must_print(text_of_conf, fuzz_folder());

		folder = state_path(fuzz_folder(), ARCHIVE_FOLDER);
		conf = fuzz_conf(text);
		fuzz_holds(mkdir(folder, 0700) == 0);
		path = archive_path(fuzz_folder(), "E1");
		make_good(path, folder, &good);
		free(text);
	}
	write_files((struct fuzz_bytes){ data, size }, folder, &good);
	report(path);
	read_record(conf);
	archivist(path, folder);
	return 0;
}
