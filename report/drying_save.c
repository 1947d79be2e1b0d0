/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside drying --save: a line an enclosure appended to dryings.jsonl.
 *
 * What is saved ends where something may still change: at the last misting while
 * its drying is under way, else a while before the newest row, in which the begin of
 * a rise may be that does not show as a misting yet.  The next line begins there.
 * All lines are written at once, under a lock on the file; what does not fit on
 * the disk is taken back.  So a line is there or is not, whenever it is ended.
 */
#include "report/drying_view.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <time.h>
#include <unistd.h>

#include "conf/memory.h"
#include "report/drying.h"
#include "report/law.h"

enum { DAY = 86400 };

static const double SPARE = DAY / 2.0;    /* s: rows about to go are not looked at any more */
static const double LAW_PAST = 14 * DAY; /* s */
static const double SETTLED = 3600;     /* s behind which no misting is found any more */
static const double LEAST = 3600;       /* s: a line is of no less */

/* ---- what it is like ------------------------------------------------------------ */

/* The mean temperature of each hour of the local day. */
static void take_hours(const struct bins *bins, struct drying_record *out)
{
	double known[HOURS_A_DAY] = { 0 };

	for (size_t i = 0; i < bins->count; i++) {
		const struct bin *bin = &bins->list[i];
		time_t second = (time_t)bin_time(bins, i);
		struct tm tm;

		if (bin->ok <= 0)
			continue;
		localtime_r(&second, &tm);
		known[tm.tm_hour] += bin->ok;
		out->celsius[tm.tm_hour] += bin->ok * bin->celsius;
	}
	for (int hour = 0; hour < HOURS_A_DAY; hour++) {
		out->has_hour[hour] = known[hour] > 0;
		if (out->has_hour[hour])
			out->celsius[hour] /= known[hour];
	}
}

static void take_law(struct drying_base *base, const struct enclosure *enclosure,
		     struct drying_record *out)
{
	struct window window = { base->window.to - LAW_PAST, base->window.to };
	const struct room_past *room;
	struct place_past past;
	struct record record;
	struct law_fit fit;

	record_read(base->conf, enclosure, window, &record);
	if (place_past_make(base->conf, enclosure, &record, out->place, base->bands, window,
			    DRYING_STEP, &past)) {
		room = drying_base_room(base, window.from);
		take_hours(&past.bins, out);
		out->has_law = law_find(&past.bins, room ? &room->bins : NULL, &past.mistings, &fit);
		if (out->has_law)
			out->law = fit.law;
		place_past_clear(&past);
	}
	record_clear(&record);
}

/* ---- what is to be saved ---------------------------------------------------------- */

/* From when on something is known; INFINITY when nothing is. */
static double first_known(const struct drying_find *find, enum place place)
{
	const struct series_rows *rows = record_series(&find->record, place, HUMIDITY);

	for (size_t i = 0; rows && i < rows->count; i++)
		if (rows->list[i].has_value && rows->list[i].to - rows->list[i].from <= ROW_TEN_MINUTES)
			return rows->list[i].from;
	return INFINITY;
}

/* Up to when nothing of it can change any more; `last` is the last misting before the piece. */
static double settled_until(const struct drying_find *find, double last, double newest)
{
	const struct mistings *mistings = &find->past.mistings;
	double until = newest - SETTLED;

	if (find->present && mistings->count)
		last = mistings->list[mistings->count - 1].at;
	return last > newest - DRYING_MOST ? fmin(last, until) : until;
}

/* What turned out not to be settled is taken out again. */
static void cut(double to, struct drying_record *out)
{
	out->to = to;
	while (out->count && out->list[out->count - 1].at >= to)
		out->count--;
	out->known = fmin(out->known, fmax(to - out->from, 0));
}

/* The part of what was found in a piece that is settled. */
static void take_settled(const struct drying_find *find, struct window piece,
			 struct drying_record *out)
{
	const struct series_rows *rows = record_series(&find->record, out->place, HUMIDITY);

	piece.from = fmax(piece.from, out->from);
	piece.to = fmin(piece.to, out->to);
	if (rows && piece.to > piece.from)
		out->known += fmin(drying_known(rows, piece), piece.to - piece.from);
	out->list = must_resize(out->list, out->count + find->count + 1, sizeof *out->list);
	for (size_t i = 0; i < find->count; i++) {
		struct drying drying = find->list[i];

		if (drying.at >= out->to)
			break;
		drying.at = fmax(drying.at, out->from);
		out->list[out->count++] = drying;
	}
}

/* What lies before the minute rows, in which `find` was found.  False when it cannot be read. */
static bool take_before(struct drying_base *base, const struct enclosure *enclosure,
			struct drying_search search, const struct drying_find *find,
			bool first, struct drying_record *out)
{
	struct drying_find before;
	bool good;

	if (find->count)
		search.before = find->list[0].at;
	drying_find(base, enclosure, out->place, search, &before);
	if (first)
		out->from = fmin(fmax(out->from, first_known(&before, out->place)), search.piece.to);
	out->to = search.piece.to;
	take_settled(&before, search.piece, out);
	good = !before.record.trouble;
	drying_find_clear(&before);
	return good;
}

/* What is settled of an enclosure since the last record, if any.  False when it cannot be read:
 * nothing must be saved then, for the next record begins where this one ends. */
static bool take_since(struct drying_base *base, const struct enclosure *enclosure,
		       const struct drying_record *last, struct gathered *gathered,
		       struct drying_record *out)
{
	struct drying_search search = { { out->from, base->window.to }, -INFINITY, INFINITY,
					last ? ROW_TEN_MINUTES : 0 };
	double minutes = drying_minutes_from(base->conf, base->window.to), after;
	bool both = out->from < minutes && minutes < base->window.to;
	struct drying_search before = search;
	struct drying_find find;
	bool good;

	if (last && last->count)
		search.after = before.after = last->list[last->count - 1].at;
	before.piece.to = minutes;
	if (both)
		search = (struct drying_search){ { minutes, base->window.to }, search.after,
						 INFINITY, ROW_TEN_MINUTES };
	drying_find(base, enclosure, out->place, search, &find);
	gather_note(gathered, enclosure, &find.record);
	good = find.present && !find.record.trouble;
	if (both)
		good &= take_before(base, enclosure, before, &find, !last, out);
	if (!last && out->from >= search.piece.from)
		out->from = fmax(out->from, first_known(&find, out->place));
	after = out->count ? out->list[out->count - 1].at : search.after;
	cut(settled_until(&find, after, fmin(find.record.newest, base->window.to)), out);
	if (good)
		take_settled(&find, search.piece, out);
	drying_find_clear(&find);
	return good;
}

/* False, and nothing to be freed, when there is nothing new to say of it. */
static bool record_of(struct drying_base *base, const struct enclosure *enclosure,
		      struct drying_log *log, struct gathered *gathered,
		      struct drying_record *out)
{
	double newest = drying_newest(base->conf, enclosure);
	const struct drying_record *last;

	*out = (struct drying_record){ 0 };
	if (!humid_place(base->conf, enclosure, &out->place))
		return false;
	memcpy(out->enclosure, enclosure->name, strlen(enclosure->name) + 1);
	drying_log_drop_late(log, enclosure->name, newest);
	last = drying_log_last(log, enclosure->name, out->place, INFINITY);
	out->from = last ? last->to : base->window.from;
	if (!take_since(base, enclosure, last, gathered, out) || out->to - out->from < LEAST) {
		free(out->list);
		return false;
	}
	take_law(base, enclosure, out);
	return true;
}

/* ---- the file ----------------------------------------------------------------------- */

/* The file, locked; -1 after a sentence. */
static int open_locked(const char *path)
{
	int fd = open(path, O_RDWR | O_CREAT | O_APPEND | O_CLOEXEC, 0640);

	if (fd < 0) {
		fprintf(stderr, "warmside: %s cannot be written: %s\n", path, strerror(errno));
		return -1;
	}
	if (flock(fd, LOCK_EX | LOCK_NB) == 0)
		return fd;
	if (errno == EWOULDBLOCK)
		fputs("warmside: another warmside is saving dryings just now\n", stderr);
	else
		fprintf(stderr, "warmside: %s cannot be locked: %s\n", path, strerror(errno));
	close(fd);
	return -1;
}

static bool read_log(int fd, const char *path, struct drying_log *out)
{
	int copy = dup(fd);
	FILE *file = copy < 0 ? NULL : fdopen(copy, "r");
	bool good = file != NULL;

	*out = (struct drying_log){ 0 };
	if (file) {
		drying_log_read(file, out);
		good = !ferror(file);
		fclose(file);
	} else if (copy >= 0) {
		close(copy);
	}
	if (!good)
		fprintf(stderr, "warmside: %s cannot be read: %s\n", path, strerror(errno));
	return good;
}

/* Whether the last line has no end: whoever wrote it was ended meanwhile. */
static bool is_torn(int fd)
{
	off_t end = lseek(fd, 0, SEEK_END);
	char last = '\n';

	return end > 0 && pread(fd, &last, 1, end - 1) == 1 && last != '\n';
}

/* One write, to the disk; the file is as before when that cannot be done. */
static bool append(int fd, const char *path, const char *text, size_t size)
{
	off_t end = lseek(fd, 0, SEEK_END);
	ssize_t done = write(fd, text, size);

	if (done == (ssize_t)size && fsync(fd) == 0)
		return true;
	int why = done < 0 || done == (ssize_t)size ? errno : ENOSPC;

	if (done > 0 && end >= 0 && ftruncate(fd, end) != 0)
		why = errno;
	fprintf(stderr, "warmside: %s cannot be written: %s\n", path, strerror(why));
	return false;
}

/* ---- all of it ------------------------------------------------------------------------ */

struct saved {
	size_t lines, dryings;
	struct gathered gathered;
};

/* Up to when anything is recorded: in a room whose daemon has been off the last days are
 * not these. */
static double newest_of(const struct conf *conf, double now)
{
	double newest = 0;

	for (size_t i = 0; i < conf->enclosure_count; i++)
		newest = fmax(newest, drying_newest(conf, &conf->enclosures[i]));
	return fmin(newest, now);
}

/* Writes the lines of all enclosures that have something new. */
static void write_lines(const struct request *request, struct drying_log *log, FILE *out,
			struct saved *saved)
{
	const struct conf *conf = request->conf;
	double newest = newest_of(conf, request->window.to);
	double kept = fmax(conf->archive.minutes, conf->archive.ten_minutes);
	struct window window = { newest - kept + fmin(SPARE, kept / 2), newest };
	struct drying_base base;
	struct band_list bands;
	struct drying_record record;

	bands_load(conf->state, &bands);
	drying_base_begin(&base, conf, window, &bands);
	for (size_t i = 0; i < conf->enclosure_count; i++) {
		if (!record_of(&base, &conf->enclosures[i], log, &saved->gathered, &record))
			continue;
		char *line = drying_to_line(&record);

		fprintf(out, "%s\n", line);
		saved->lines++;
		saved->dryings += record.count;
		free(line);
		free(record.list);
	}
	drying_base_end(&base);
	bands_clear(&bands);
}

static bool save(const struct request *request, int fd, const char *path, struct saved *saved)
{
	struct drying_log log;
	char *text = NULL;
	size_t size = 0;
	FILE *out = open_memstream(&text, &size);
	bool good = out && read_log(fd, path, &log);

	if (good) {
		if (is_torn(fd))
			fputc('\n', out);
		write_lines(request, &log, out, saved);
		drying_log_complain(&log);
		drying_log_clear(&log);
	}
	if (out)
		fclose(out);
	good = good && (!saved->lines || append(fd, path, text, size));
	free(text);
	return good;
}

int drying_save(const struct request *request)
{
	char *path = state_path(request->conf->state, DRYINGS_FILE);
	struct saved saved = { 0 };
	int fd = open_locked(path);
	bool good = fd >= 0 && save(request, fd, path, &saved);

	if (good && !saved.lines)
		terminal_say(request->terminal, 0, "Nothing new to save.");
	else if (good)
		terminal_print(request->terminal, 0, "Saved %zu drying%s of %zu enclosure%s.",
			       saved.dryings, saved.dryings == 1 ? "" : "s", saved.lines,
			       saved.lines == 1 ? "" : "s");
	if (fd >= 0)
		close(fd);
	free(path);
	return good ? gathered_result(&saved.gathered) : FAILED;
}
