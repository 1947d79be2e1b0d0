/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files and archive layout; see layout.h.
 */
#include "conf/layout.h"

#include <stdio.h>

#include "conf/computed.h"
#include "conf/memory.h"
#include "conf/words.h"

const int row_sizes[ROW_SIZES] = { ROW_MINUTE, ROW_TEN_MINUTES, ROW_HOUR };

size_t enclosure_series(const struct conf *conf, const struct enclosure *enclosure,
			struct series out[MAX_SERIES])
{
	size_t count = 0;

	for (int p = 0; p < PLACES; p++)
		for (int q = 0; q < QUANTITIES; q++) {
			struct series one = { .place = (enum place)p,
					      .quantity = (enum quantity)q };

			one.computed = one.quantity == HUMIDITY &&
				       computed_is_wanted(conf, enclosure, one.place);
			if (one.computed || has_series(conf, enclosure, one.place, one.quantity))
				out[count++] = one;
		}
	return count;
}

_Static_assert(MAX_SERIES <= 32, "a set of series is 32 bits wide");

uint32_t series_bit(struct series series)
{
	return UINT32_C(1) << ((int)series.place * QUANTITIES + (int)series.quantity);
}

size_t series_in(uint32_t set, struct series out[MAX_SERIES])
{
	size_t count = 0;

	for (int place = 0; place < PLACES; place++)
		for (int quantity = 0; quantity < QUANTITIES; quantity++) {
			struct series one = { .place = (enum place)place,
					      .quantity = (enum quantity)quantity };

			if (set & series_bit(one))
				out[count++] = one;
		}
	return count;
}

char *ds_name(struct series series, enum column column, char buf[DS_NAME])
{
	static const char *const suffixes[COLUMNS] = {
		[COLUMN_VALUE] = "", [COLUMN_LOW] = "_lo", [COLUMN_HIGH] = "_hi",
		[COLUMN_OK] = "_ok", [COLUMN_OUT] = "_out",
	};

	snprintf(buf, DS_NAME, "%s_%c%s", place_short(series.place),
		 series.quantity == TEMPERATURE ? 't' : 'h', suffixes[column]);
	return buf;
}

size_t row_count(const struct archive_rows *rows, int row_size)
{
	double span = row_size == ROW_MINUTE	  ? rows->minutes
		      : row_size == ROW_TEN_MINUTES ? rows->ten_minutes
						    : rows->hours;

	return (size_t)(span / row_size + 0.5);
}

char *state_path(const char *state, const char *name)
{
	return must_print("%s/%s", state, name);
}

char *archive_path(const char *state, const char *enclosure)
{
	return must_print("%s/" ARCHIVE_FOLDER "/%s.rrd", state, enclosure);
}
