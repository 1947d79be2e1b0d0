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

static void take_turns(struct samples *samples)
{
	char *other = older(samples->path);

	rename(samples->path, other); /* none there is fine */
	free(other);
	journal_close(&samples->journal);
	journal_open(&samples->journal, samples->path);
	samples->begun = false;
}

void samples_open(struct samples *samples, const char *path)
{
	*samples = (struct samples){ .path = must_copy(path) };
	take_turns(samples);
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

	if (!samples->path)
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
	if (samples->path)
		journal_write(&samples->journal);
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

static void resume_from(const char *path, struct flow *flow)
{
	size_t size = 0;
	char *bytes = file_read(path, CEILING, &size);
	struct record record;
	struct series series[MAX_SERIES];

	if (!bytes && errno != ENOENT)
		log_errno("%s cannot be read; the minute under way begins anew", path);
	for (size_t at = 0; bytes && size - at >= sizeof record; at += sizeof record) {
		memcpy(&record, bytes + at, sizeof record);
		if (record.sum !=
			    checksum(&record.enclosure, sizeof record - sizeof record.sum) ||
		    !memchr(record.enclosure, 0, sizeof record.enclosure) ||
		    series_in((uint32_t)record.series, series) != 1)
			break;
		flow_resume(flow, record.enclosure, series[0],
			    (struct sample){ record.time, record.value });
	}
	free(bytes);
}

void samples_resume(const char *path, struct flow *flow)
{
	char *other = older(path);

	resume_from(other, flow);
	resume_from(path, flow);
	free(other);
}
