/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * exact [SEED]: ten days of two probes read at different, irregular moments,
 * with outages and a band for day, night and changeover, through minutes and
 * archive; then the shares of every row of 60, 600 and 3600 s against sums
 * made another way: by clamping each piece of line to the edge, in long
 * double, with day and night from plain arithmetic.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "conf/layout.h"
#include "conf/memory.h"
#include "daemon/minutes.h"
#include "tests/archive_update.h"
#include "tests/rows.h"
#include "tests/small_conf.h"

enum {
	DAYS = 10,
	MINUTES = DAYS * 1440,
	SERIES = 3,
	PROBES = 2,
	AT_ONCE = 700, /* minutes written by one update */
};

static const double EVERY = 10;       /* s */
static const double TOLERANCE = 1e-6; /* s a row */

/* Begins amid an hour. */
static const int64_t midnight = 1767571200;
static const int64_t begin = 1767571200 + 37 * 60;

struct sums {
	long double low, high, known, out, area;
};

static struct sums truth[SERIES][MINUTES];
static unsigned long readings;

static double chance(void)
{
	return (double)rand() / RAND_MAX;
}

/* ---- the other way ------------------------------------------------------- */

/* Bands of small_conf: day 08:00-20:00, 90 min of changeover after each. */
static struct range band_at(unsigned series, double second_of_day)
{
	bool humid = series == 2;
	struct range day = humid ? (struct range){ 45, 60 } : (struct range){ 27, 31 };
	struct range night = humid ? (struct range){ 45, 65 } : (struct range){ 23, 29 };
	struct range both = humid ? (struct range){ 45, 65 } : (struct range){ 23, 31 };

	if ((second_of_day >= 28800 && second_of_day < 34200) ||
	    (second_of_day >= 72000 && second_of_day < 77400))
		return both;
	return second_of_day >= 34200 && second_of_day < 72000 ? day : night;
}

/* Time and integral above an edge of a piece of line of that length. */
static void above(long double a, long double b, long double edge, long double length,
		  long double *time, long double *out)
{
	long double top = fmaxl(a, b) - edge, slant = fabsl(b - a);

	if (top <= 0)
		return;
	if (top >= slant) { /* wholly above */
		*time += length;
		*out += length * (top - slant / 2);
		return;
	}
	long double part = length * (top / slant);

	*time += part;
	*out += part * top / 2;
}

/* Bands change on full minutes here, so a cut at each minute is enough. */
static void add_truth(unsigned series, double t0, double v0, double t1, double v1)
{
	for (double from = t0; from < t1;) {
		int64_t minute = (int64_t)floor((from - (double)midnight) / 60);
		double to = fmin(t1, (double)midnight + 60 * (double)(minute + 1));
		long double a = v0 + ((long double)v1 - v0) * (from - t0) / (t1 - t0);
		long double b = v0 + ((long double)v1 - v0) * (to - t0) / (t1 - t0);
		struct range band = band_at(series, (double)(minute % 1440) * 60);
		struct sums *sums = &truth[series][minute];
		long double length = (long double)to - from;

		above(a, b, band.high, length, &sums->high, &sums->out);
		above(-a, -b, -band.low, length, &sums->low, &sums->out);
		sums->known += length;
		sums->area += length * (a + b) / 2;
		from = to;
	}
}

/* ---- the chain ----------------------------------------------------------- */

static struct closed_minute waiting[AT_ONCE];
static size_t waiting_count;
static const char *path;

static void write_waiting(void)
{
	static const uint64_t rows[ROW_SIZES] = { MINUTES + 100, MINUTES / 10 + 10,
						  DAYS * 24 + 10 };
	const struct series all[SERIES] = { { WARM_SIDE, TEMPERATURE, false },
					    { COOL_SIDE, TEMPERATURE, false },
					    { COOL_SIDE, HUMIDITY, false } };
	uint32_t set = series_bit(all[0]) | series_bit(all[1]) | series_bit(all[2]);
	struct archive_minute minutes[AT_ONCE];
	char why[ARCHIVE_TEXT];

	for (size_t i = 0; i < waiting_count; i++)
		minutes[i] = (struct archive_minute){ waiting[i].end, set, waiting[i].cells };
	if (archive_update(path, rows, minutes, waiting_count, why) != ARCHIVE_WRITTEN) {
		fprintf(stderr, "%s\n", why);
		exit(1);
	}
	waiting_count = 0;
}

static void sink(void *context, const struct closed_minute *minute)
{
	(void)context;
	waiting[waiting_count++] = *minute;
	if (waiting_count == AT_ONCE)
		write_waiting();
}

/* ---- what is read -------------------------------------------------------- */

struct probe_now {
	double next; /* its next reading */
	double last; /* its last one, or 0 */
	double values[PROBES];
};

/* From a moment late to hours: some gaps are just known and some just not. */
static double step(void)
{
	double kind = chance();

	if (kind < 0.9)
		return 4 + 12 * chance();
	if (kind < 0.98)
		return 25 + 10 * chance();
	if (kind < 0.998)
		return 30 + 600 * chance();
	return 3600 * 5 * chance() + 0.001;
}

static void take(struct minutes *minutes, unsigned series, const struct probe_now *probe,
		 double old, double value)
{
	if (probe->last > 0 && probe->next - probe->last <= 3 * EVERY)
		add_truth(series, probe->last, old, probe->next, value);
	if (!minutes_take(minutes, series, probe->next, value)) {
		fprintf(stderr, "a reading was refused\n");
		exit(1);
	}
	readings++;
}

/* One reading: temperature, and from the second probe humidity. */
static void read_probe(struct minutes *minutes, unsigned number, struct probe_now *probe)
{
	double hour = fmod(probe->next - (double)midnight, 86400) / 3600;
	double values[] = { 27 - 5 * cos(hour * 3.14159265 / 12) + 3 * chance(),
			    55 + 10 * cos(hour * 3.14159265 / 12) + 15 * chance() };

	if (chance() < 0.05)
		values[0] = 27; /* exactly on an edge */
	for (unsigned i = 0; i <= number; i++) {
		take(minutes, number + i, probe, probe->values[i], values[i]);
		probe->values[i] = values[i];
	}
	probe->last = probe->next;
	minutes_close(minutes, probe->next, sink, NULL);
	probe->next += step();
}

static void read_all(struct minutes *minutes)
{
	struct probe_now probes[PROBES] = { { .next = (double)begin + 3.7 },
					    { .next = (double)begin + 8.1 } };
	double end = (double)midnight + DAYS * 86400.0 - 600;

	for (;;) {
		unsigned first = probes[1].next < probes[0].next;

		if (probes[first].next >= end)
			break;
		read_probe(minutes, first, &probes[first]);
	}
	minutes_finish(minutes, sink, NULL);
	if (waiting_count)
		write_waiting();
}

/* ---- side by side -------------------------------------------------------- */

static double worst;

static unsigned long compare(double is, long double should, double tolerance, const char *what,
			     int size, int64_t end)
{
	double error = fabs(is - (double)should);

	if (!(error <= worst))
		worst = error;
	if (error <= tolerance)
		return 0;
	fprintf(stderr, "%s of the row of %d s that ends at %lld: %.9f, not %.9Lf\n", what, size,
		(long long)end, is, should);
	return 1;
}

static unsigned long check_row(const struct rows *rows, unsigned series, int64_t end)
{
	static const struct series all[SERIES] = { { WARM_SIDE, TEMPERATURE, false },
						   { COOL_SIDE, TEMPERATURE, false },
						   { COOL_SIDE, HUMIDITY, false } };
	struct sums sums = { 0 };
	int size = (int)rows->step;
	char ds[DS_NAME];
	unsigned long wrong = 0;
	int64_t minute = (end - size - midnight) / 60;

	for (int i = 0; i < size / 60; i++, minute++) {
		sums.low += truth[series][minute].low;
		sums.high += truth[series][minute].high;
		sums.known += truth[series][minute].known;
		sums.out += truth[series][minute].out;
		sums.area += truth[series][minute].area;
	}
	const struct {
		enum column column;
		long double should;
	} columns[] = {
		{ COLUMN_LOW, sums.low },
		{ COLUMN_HIGH, sums.high },
		{ COLUMN_OK, sums.known },
		{ COLUMN_OUT, sums.out },
	};

	for (size_t i = 0; i < sizeof columns / sizeof *columns; i++)
		wrong += compare(
			size * rows_at(rows, ds_name(all[series], columns[i].column, ds), end),
			columns[i].should, TOLERANCE, ds, size, end);
	if (size == 60 && sums.known > 0)
		wrong += compare(rows_at(rows, ds_name(all[series], COLUMN_VALUE, ds), end),
				 sums.area / sums.known, TOLERANCE, ds, size, end);
	return wrong;
}

static unsigned long check_all(int64_t last)
{
	unsigned long wrong = 0;

	for (int i = 0; i < ROW_SIZES; i++) {
		int size = row_sizes[i];
		int64_t to = last - last % size;
		struct rows rows;

		if (!rows_fetch(path, "AVERAGE", size, midnight, to, &rows))
			return 1;
		worst = 0;
		for (unsigned series = 0; series < SERIES; series++)
			for (int64_t end = midnight + size; end <= to; end += size)
				wrong += check_row(&rows, series, end);
		printf("%d s: %zu rows, largest error %.3g s\n", size, rows.count, worst);
		rows_free(&rows);
	}
	return wrong;
}

int main(int argc, char **argv)
{
	unsigned seed = argc > 1 ? (unsigned)strtoul(argv[1], NULL, 10) : (unsigned)time(NULL);
	char folder[] = "/tmp/exact-XXXXXX", why[ARCHIVE_TEXT];
	struct archive_head head;

	setenv("TZ", "UTC0", 1);
	tzset();
	printf("seed %u\n", seed);
	srand(seed);
	if (!mkdtemp(folder))
		return 1;
	char *file = must_print("%s/E1.rrd", folder);
	struct conf *conf = small_conf(NULL, 1, EVERY);
	struct minutes *minutes = minutes_new(conf, &conf->enclosures[0]);

	path = file;
	read_all(minutes);
	minutes_free(minutes);
	small_conf_free(conf);
	if (archive_head_read(path, &head, why) != HEAD_GOOD) {
		fprintf(stderr, "%s\n", why);
		return 1;
	}
	int64_t last = head.last;

	archive_head_free(&head);
	unsigned long wrong = check_all(last);

	printf("%lu readings, %lu values wrong\n", readings, wrong);
	unlink(path);
	rmdir(folder);
	free(file);
	return wrong || readings < 10000;
}
