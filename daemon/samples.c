/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Values of minutes under way; see samples.h.
 */
#include "daemon/samples.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/checksum.h"
#include "conf/memory.h"
#include "conf/readfile.h"

enum { CEILING = 134217728 }; /* bytes of a file */

/* What a file holds at least: a minute is full at the latest when the slowest
 * line is, and the one before may be needed for its beginning. */
static const double MINUTES = 2 * ARCHIVE_STEP;
static const double LONGEST = 1800; /* s: of slower probes a kill costs the minutes under way */

struct record {
	uint64_t sum; /* of all that follows it */
	char enclosure[ENCLOSURE_NAME];
	uint64_t series; /* a set of one */
	double time, value;
};

static char *older(const char *path)
{
	return must_print("%s.older", path);
}

static void begin_file(struct samples *samples)
{
	journal_close(&samples->journal);
	journal_open(&samples->journal, samples->path);
	samples->begun = false;
}

static void take_turns(struct samples *samples)
{
	char *other = older(samples->path);

	if (rename(samples->path, other) != 0 && errno != ENOENT)
		log_errno("%s cannot become %s", samples->path, other);
	free(other);
	begin_file(samples);
}

/* The record at `at`; false when none that is whole is there. */
static bool record_at(const char *bytes, size_t size, size_t at, struct record *record,
		      struct series *series)
{
	struct series set[MAX_SERIES];

	if (size - at < sizeof *record)
		return false;
	memcpy(record, bytes + at, sizeof *record);
	if (record->sum != checksum(&record->enclosure, sizeof *record - sizeof record->sum) ||
	    !memchr(record->enclosure, 0, sizeof record->enclosure) ||
	    series_in((uint32_t)record->series, set) != 1)
		return false;
	*series = set[0];
	return true;
}

/* Gives the flow what a file keeps.  Returns the bytes that are good; *first
 * is the time of the first value in them. */
static size_t resume_from(const char *path, struct flow *flow, double *first)
{
	size_t size = 0, at = 0;
	char *bytes = file_read(path, CEILING, &size);
	struct record record;
	struct series series;

	if (!bytes && errno != ENOENT)
		log_errno("%s cannot be read; the minute under way begins anew", path);
	for (; bytes && record_at(bytes, size, at, &record, &series); at += sizeof record) {
		if (at == 0)
			*first = record.time;
		flow_resume(flow, record.enclosure, series,
			    (struct sample){ record.time, record.value });
	}
	free(bytes);
	return at;
}

/* The files do not take turns here: what was kept would be lost with the next
 * sudden end, if that comes soon. */
void samples_open(struct samples *samples, const char *path, struct flow *flow)
{
	char *other = older(path);

	*samples = (struct samples){ .path = must_copy(path) };
	begin_file(samples);
	resume_from(other, flow, &samples->first);
	samples->journal.size = resume_from(path, flow, &samples->first);
	samples->begun = samples->journal.size > 0;
	free(other);
}

void samples_close(struct samples *samples)
{
	if (!samples->path)
		return;
	samples_write(samples);
	journal_close(&samples->journal);
	free(samples->path);
	*samples = (struct samples){ 0 };
}

static double kept_for(const struct conf *conf)
{
	double line = 0;

	for (size_t i = 0; i < conf->bus_count; i++)
		line = fmax(line, longest_line(conf->buses[i].every));
	return fmin(line + MINUTES, LONGEST);
}

void samples_note(struct samples *samples, const struct conf *conf, const char *enclosure,
		  struct series series, struct sample sample)
{
	struct record record = { .series = series_bit(series), .time = sample.time,
				 .value = sample.value };

	if (!samples->path || samples->held)
		return;
	if (samples->begun && fabs(sample.time - samples->first) > kept_for(conf)) {
		samples_write(samples);
		take_turns(samples);
	}
	if (!samples->begun)
		samples->first = sample.time;
	samples->begun = true;
	snprintf(record.enclosure, sizeof record.enclosure, "%s", enclosure);
	record.sum = checksum(&record.enclosure, sizeof record - sizeof record.sum);
	memcpy(journal_add(&samples->journal, sizeof record), &record, sizeof record);
}

/* What the disk does not take is lost with the next sudden end only. */
void samples_write(struct samples *samples)
{
	if (samples->path && !samples->held)
		journal_write(&samples->journal);
}

void samples_hold(struct samples *samples)
{
	if (samples->path)
		begin_file(samples);
	samples->held = true;
}

void samples_anew(struct samples *samples)
{
	if (samples->path)
		begin_file(samples);
	samples->held = false;
}

void samples_forget(struct samples *samples)
{
	if (!samples->path)
		return;
	char *other = older(samples->path);

	journal_close(&samples->journal);
	unlink(samples->path);
	unlink(other);
	free(other);
	free(samples->path);
	*samples = (struct samples){ 0 };
}
