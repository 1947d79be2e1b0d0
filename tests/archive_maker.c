/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/archive_maker.h"

#include <ftw.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <rrd.h>

#include "conf/memory.h"
#include "tests/cm.h"

enum { BATCH = 200 };     /* minutes handed to librrd at once */

static struct rule rule_of(struct range day, struct range night, struct range limits)
{
	return (struct rule){ .has_band = true, .has_limits = true, .day = day, .night = night,
			      .limits = limits, .patience = 3600, .limits_patience = 7200,
			      .deadband = 0.5, .off_delay = 300 };
}

void tiny_begin(struct tiny *tiny)
{
	char template[] = "/tmp/warmside-report-XXXXXX";

	*tiny = (struct tiny){
		.bus = { .name = "rack", .every = 60 },
		.probes = { { .name = "t3w", .gives = { true, false } },
			    { .name = "t3c", .gives = { true, true } },
			    { .name = "room", .gives = { true, true } } },
		.species = { .name = "corn snake" },
		.enclosures = { { .name = "T3", .label = "Third tub", .has_build = true,
				  .build = TUB },
				{ .name = "room", .label = "room", .is_room = true } },
	};
	assert_non_null(mkdtemp(template));
	tiny->folder = must_copy(template);

	struct enclosure *t3 = &tiny->enclosures[0];

	t3->species = &tiny->species;
	t3->places[WARM_SIDE] = (struct place_conf){ .watched = true, .probe = 0 };
	t3->places[WARM_SIDE].rules[TEMPERATURE] =
		rule_of((struct range){ 27, 31 }, (struct range){ 23, 29 },
			(struct range){ 15, 36 });
	t3->places[COOL_SIDE] = (struct place_conf){ .watched = true, .probe = 1 };
	t3->places[COOL_SIDE].rules[HUMIDITY] =
		rule_of((struct range){ 45, 60 }, (struct range){ 45, 65 },
			(struct range){ 25, 85 });
	tiny->enclosures[1].places[ROOM_AIR] = (struct place_conf){ .watched = true, .probe = 2 };
	tiny->conf = (struct conf){
		.state = tiny->folder,
		.day = { .from = 8 * 3600, .to = 20 * 3600, .changeover = 5400 },
		.archive = { 6 * 3600, 2 * 86400, 10 * 86400 },
		.buses = &tiny->bus, .bus_count = 1,
		.probes = tiny->probes, .probe_count = 3,
		.species = &tiny->species, .species_count = 1,
		.enclosures = tiny->enclosures, .enclosure_count = 2,
	};
	char *archive = state_path(tiny->folder, ARCHIVE_FOLDER);

	assert_int_equal(mkdir(archive, 0700), 0);
	free(archive);
}

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *walk)
{
	(void)about;
	(void)kind;
	(void)walk;
	return remove(path);
}

void tiny_end(struct tiny *tiny)
{
	assert_int_equal(nftw(tiny->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS), 0);
	free(tiny->folder);
}

static void good(int result)
{
	if (result)
		fail_msg("librrd: %s", rrd_get_error());
}

static void create(const struct conf *conf, const char *path, const struct series *series,
		   size_t series_count, long begin)
{
	const char *definitions[MAX_SERIES * COLUMNS + 7];
	int count = 0;

	for (size_t i = 0; i < series_count; i++)
		for (int column = 0; column < COLUMNS; column++) {
			char name[DS_NAME];

			definitions[count++] = must_print("DS:%s:GAUGE:2000000000:U:U",
				ds_name(series[i], (enum column)column, name));
		}
	for (int size = 0; size < ROW_SIZES; size++) {
		int steps = row_sizes[size] / ARCHIVE_STEP;
		size_t rows = row_count(&conf->archive, row_sizes[size]);

		definitions[count++] = must_print("RRA:AVERAGE:0.99:%d:%zu", steps, rows);
		if (steps == 1)
			continue;
		definitions[count++] = must_print("RRA:MIN:0.99:%d:%zu", steps, rows);
		definitions[count++] = must_print("RRA:MAX:0.99:%d:%zu", steps, rows);
	}
	rrd_clear_error();
	good(rrd_create_r(path, ARCHIVE_STEP, begin, count, definitions));
	while (count-- > 0)
		free((void *)definitions[count]);
}

/* One minute as librrd wants it; malloc'ed. */
static char *update_text(long end, const struct minute *cells, size_t series_count)
{
	char text[2000];
	int length = snprintf(text, sizeof text, "%ld", end);

	for (size_t i = 0; i < series_count; i++) {
		const struct minute *m = &cells[i];
		char value[40] = "U";

		if (m->ok > 0)
			snprintf(value, sizeof value, "%.15g", m->value);
		length += snprintf(text + length, sizeof text - (size_t)length,
				   ":%s:%.15g:%.15g:%.15g:%.15g", value, m->low, m->high, m->ok,
				   m->out);
	}
	return must_copy(text);
}

void archive_go_on(const struct conf *conf, const char *enclosure, size_t series_count,
		   long begin, const struct minute *minutes, size_t count)
{
	char *path = archive_path(conf->state, enclosure);
	const char *updates[BATCH];
	int batch = 0;

	for (size_t i = 0; i < count; i++) {
		updates[batch++] = update_text(begin + 60 * (long)(i + 1),
					       minutes + i * series_count, series_count);
		if (batch < BATCH && i + 1 < count)
			continue;
		rrd_clear_error();
		good(rrd_update_r(path, NULL, batch, updates));
		while (batch > 0)
			free((void *)updates[--batch]);
	}
	free(path);
}

void archive_make(const struct conf *conf, const char *enclosure, const struct series *series,
		  size_t series_count, long begin, const struct minute *minutes, size_t count)
{
	char *path = archive_path(conf->state, enclosure);

	create(conf, path, series, series_count, begin);
	free(path);
	archive_go_on(conf, enclosure, series_count, begin, minutes, count);
}

void archive_widen(const struct conf *conf, const char *enclosure, struct series series)
{
	char *path = archive_path(conf->state, enclosure);

	for (int column = 0; column < COLUMNS; column++) {
		char name[DS_NAME];
		char *definition = must_print("DS:%s:GAUGE:2000000000:U:U",
					      ds_name(series, (enum column)column, name));
		char *arguments[] = { (char[]){ "tune" }, path, definition, NULL };

		rrd_clear_error();
		good(rrd_tune(3, arguments));
		free(definition);
	}
	free(path);
}
