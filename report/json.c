/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * JSON numbers; see json.h.
 */
#include "report/json.h"

#include <math.h>

#include "conf/words.h"

json_t *json_number(bool present, double value)
{
	if (!present || !isfinite(value))
		return json_null();
	return json_real(round(value * 1e6) / 1e6);
}

json_t *json_instant(double instant)
{
	if (instant == floor(instant))
		return json_integer((json_int_t)instant);
	return json_number(true, instant);
}

json_t *json_text(const char *text)
{
	json_t *value = text ? json_string(text) : NULL;

	return value ? value : json_null();
}

json_t *json_range(bool present, struct range range)
{
	if (!present)
		return json_null();
	return json_pack("[o,o]", json_number(true, range.low), json_number(true, range.high));
}

json_t *json_totals(struct series series, const struct totals *t)
{
	json_t *object = json_pack(
		"{s:s,s:s,s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}",
		"place", place_word(series.place),
		"quantity", quantity_word(series.quantity),
		"unit", unit_word(series.quantity),
		"low_seconds", json_number(t->has_band, t->low),
		"high_seconds", json_number(t->has_band, t->high),
		"inside_seconds", json_number(t->has_band, t->inside),
		"unknown_seconds", json_number(true, t->unknown),
		"degree_hours", json_number(t->has_band, t->degree_hours),
		"min", json_number(t->known, t->min),
		"mean", json_number(t->known, t->mean),
		"max", json_number(t->known, t->max));

	json_computed(object, series);
	return object;
}

void json_computed(json_t *object, struct series series)
{
	if (series.computed)
		json_object_set_new(object, "computed", json_true());
}

const char *unit_word(enum quantity quantity)
{
	return quantity == TEMPERATURE ? "°C" : "%";
}

void json_print(json_t *value, FILE *file)
{
	json_dumpf(value, file, JSON_INDENT(2) | JSON_REAL_PRECISION(15));
	fputc('\n', file);
	json_decref(value);
}
