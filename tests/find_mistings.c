/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * find_mistings CONF FROM TO: a line "ENCLOSURE PLACE" for each humidity that is
 * archived, and "ENCLOSURE PLACE TIME FROM TO" for each misting found in it (%).
 * For run-mistings.sh.
 */
#include <stdio.h>
#include <stdlib.h>

#include "conf/load.h"
#include "conf/words.h"
#include "report/mistings.h"

/* The temperature of the same place, or NULL. */
static const struct series_rows *beside(const struct record *record,
					const struct series_rows *humidity)
{
	for (size_t i = 0; i < record->count; i++)
		if (record->series[i].series.place == humidity->series.place &&
		    record->series[i].series.quantity == TEMPERATURE)
			return &record->series[i];
	return NULL;
}

static void print_mistings(const struct enclosure *enclosure, const struct record *record)
{
	for (size_t i = 0; i < record->count; i++) {
		const struct series_rows *rows = &record->series[i];
		const char *place = place_word(rows->series.place);
		struct mistings found;

		if (rows->series.quantity != HUMIDITY)
			continue;
		mistings_find(rows, beside(record, rows), &found);
		printf("%s %s\n", enclosure->name, place);
		for (size_t k = 0; k < found.count; k++)
			printf("%s %s %.0f %.2f %.2f\n", enclosure->name, place,
			       found.list[k].at, found.list[k].from, found.list[k].to);
		mistings_clear(&found);
	}
}

int main(int argc, char **argv)
{
	struct faults faults = { 0 };
	struct conf *conf = argc == 4 ? conf_load(argv[1], &faults) : NULL;

	if (!conf) {
		fputs("usage: find_mistings CONF FROM TO\n", stderr);
		return 2;
	}
	for (size_t i = 0; i < conf->enclosure_count; i++) {
		struct window window = { strtod(argv[2], NULL), strtod(argv[3], NULL) };
		struct record record;

		record_read(conf, &conf->enclosures[i], window, &record);
		if (record.trouble)
			fprintf(stderr, "%s\n", record.trouble);
		print_mistings(&conf->enclosures[i], &record);
		record_clear(&record);
	}
	faults_clear(&faults);
	conf_free(conf);
	return 0;
}
