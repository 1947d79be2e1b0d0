/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers as the report's JSON and CSV write them: °C, %, seconds and UTC,
 * in every locale alike; null or empty where there is no answer.
 */
#ifndef WARMSIDE_REPORT_JSON_H
#define WARMSIDE_REPORT_JSON_H

#include <stdbool.h>
#include <stdio.h>

#include <jansson.h>

#include "conf/layout.h"
#include "report/totals.h"

/* A number to six decimals; null when it is not present or not a number. */
json_t *json_number(bool present, double value);

/* An instant: whole seconds as an integer. */
json_t *json_instant(double instant);

/* A string, or null for NULL. */
json_t *json_text(const char *text);

/* [low, high], or null. */
json_t *json_range(bool present, struct range range);

/* What totals and morning say of a series, as an object with at least "place", "quantity",
 * "unit", the times, "degree_hours", "min", "mean" and "max". */
json_t *json_totals(struct series series, const struct totals *totals);

/* "computed": true, where no probe measures it; nothing elsewhere. */
void json_computed(json_t *object, struct series series);

/* "°C" or "%": the unit in JSON and CSV. */
const char *unit_word(enum quantity quantity);

/* Prints and frees the value; the file's error flag tells when it failed. */
void json_print(json_t *value, FILE *file);

#endif
